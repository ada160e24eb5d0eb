"""Whether an outline crosses or touches itself, exactly and in n log n.

Source: the sweep of Shamos and Hoey (1976): a line passes over the plan from left to right, the
edges under it stay in order, and two edges that meet are neighbours in that order before they do.
"""

from collections.abc import Sequence

from service.domain.layout.deck import Point

Segment = tuple[Point, Point]


def find_crossing(outline: Sequence[Point]) -> tuple[int, int] | None:
    """Give two edges that share a point though they do not follow each other, None without.

    Args:
        outline: (n, 2) vertices, not closed; no edge folds back onto the one before. [nm]

    Example:
        >>> find_crossing([(0, 0), (9, 9), (9, 0), (0, 9)])
        (0, 2)
    """
    return _Sweep(outline).find()


class _Sweep:
    """The edges under the sweep line, the lowest first; each as (left end, right end)."""

    def __init__(self, outline: Sequence[Point]) -> None:
        ends = zip(outline, (*outline[1:], outline[0]), strict=True)
        self.edges: list[Segment] = [(a, b) if a < b else (b, a) for a, b in ends]
        self.under: list[int] = []

    def find(self) -> tuple[int, int] | None:
        # At one point edges come in before others go out, so that a touch is a crossing.
        events = [(left, 0, edge) for edge, (left, _) in enumerate(self.edges)]
        events += [(right, 1, edge) for edge, (_, right) in enumerate(self.edges)]
        events.sort()
        for _, leaves, edge in events:
            found = self.leave(edge) if leaves else self.enter(edge)
            if found is not None:
                return min(found), max(found)
        return None

    def enter(self, edge: int) -> tuple[int, int] | None:
        place = self.place(edge)
        self.under.insert(place, edge)
        for near in (place - 1, place + 1):
            if 0 <= near < len(self.under) and self.meet(edge, self.under[near]):
                return edge, self.under[near]
        return None

    def leave(self, edge: int) -> tuple[int, int] | None:
        place = self.under.index(edge)
        del self.under[place]
        if 0 < place < len(self.under):
            below, above = self.under[place - 1], self.under[place]
            if self.meet(below, above):
                return below, above
        return None

    def place(self, edge: int) -> int:
        """Find where an edge comes in by halving: above which edges its left end lies."""
        left, right = self.edges[edge]
        low, high = 0, len(self.under)
        while low < high:
            middle = (low + high) // 2
            other = self.edges[self.under[middle]]
            side = _turn(*other, left) or _turn(*other, right)
            if side > 0:
                low = middle + 1
            else:
                high = middle
        return low

    def meet(self, one: int, other: int) -> bool:
        if abs(one - other) in (1, len(self.edges) - 1):
            return False
        return _touch(self.edges[one], self.edges[other])


def _touch(one: Segment, other: Segment) -> bool:
    """Tell whether two segments share a point, exactly (integer orientation test)."""
    (a, b), (c, d) = one, other
    turns = (_turn(c, d, a), _turn(c, d, b), _turn(a, b, c), _turn(a, b, d))
    if turns[0] * turns[1] < 0 and turns[2] * turns[3] < 0:
        return True
    return any(
        turn == 0 and _within(segment, point)
        for turn, segment, point in zip(turns, (other, other, one, one), (a, b, c, d), strict=True)
    )


def _turn(a: Point, b: Point, c: Point) -> int:
    cross = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    return (cross > 0) - (cross < 0)


def _within(segment: Segment, point: Point) -> bool:
    (ax, ay), (bx, by) = segment
    return min(ax, bx) <= point[0] <= max(ax, bx) and min(ay, by) <= point[1] <= max(ay, by)
