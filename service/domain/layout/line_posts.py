"""Which grid places of a section its line posts take.

Even placements are enumerated round the ideal, so that the best mirrored and the best lopsided
ones are among them; the placement nearest to wished places is found exactly by dynamic
programming over the grid.
"""

from collections.abc import Callable, Iterator, Sequence
from itertools import accumulate, pairwise

from service.domain.layout.evenly import spread
from service.domain.record import record

# Places either side of the ideal that are tried for the first and the last line post of a section.
REACH = 3


@record(frozen=True, slots=True)
class Placement:
    """Line posts of a section on its picket grid.

    Attributes:
        places: Grid indexes, ascending.
        symmetric: Whether the bays mirror about the middle.
        squares: Sum of the squares of the bays, least where they are most even. [nm2]
    """

    places: tuple[int, ...]
    symmetric: bool
    squares: int


@record(frozen=True, slots=True)
class Bays:
    """What a bay may be, centre to centre. [nm]

    Attributes:
        span_nm: Longest.
        least_nm: Shortest at the section's start, between line posts and at its end: posts
            beside each other do not overlap.
    """

    span_nm: int
    least_nm: tuple[int, int, int] = (0, 0, 0)

    def allow(self, spans_nm: Sequence[int]) -> bool:
        """Tell whether bays, in order and more than one, may be as long as these."""
        first, between, last = self.least_nm
        return (
            max(spans_nm) <= self.span_nm
            and spans_nm[0] >= first
            and spans_nm[-1] >= last
            and min(spans_nm[1:-1], default=between) >= between
        )


def even_placements(
    centres_nm: Sequence[int], length_nm: int, bays: int, pitch_nm: int, limits: Bays
) -> list[Placement]:
    """Give even placements that keep every bay within the span, mirrored ones first.

    Args:
        centres_nm: Grid places from the centre of the section's start post, ascending. [nm]
        length_nm: Centre to centre of the section's end posts. [nm]
        bays: How many bays to make.
        pitch_nm: Picket pitch. [nm]
        limits: What a bay may be.
    """
    if bays == 1:
        whole = Placement((), True, length_nm * length_nm)
        return [whole] if length_nm <= limits.span_nm else []
    found = []
    for gaps in _candidates(centres_nm, length_nm, bays, pitch_nm):
        places = tuple(accumulate(gaps[:-1]))
        if places[0] < 0 or places[-1] > len(centres_nm) - 1:
            continue
        spans = _spans(centres_nm, length_nm, places)
        if limits.allow(spans):
            squares = sum(span * span for span in spans)
            found.append((gaps != gaps[::-1], squares, -gaps[0], places))
    return [Placement(places, not lopsided, sq) for lopsided, sq, _, places in sorted(found)]


def nearest_placement(
    centres_nm: Sequence[int],
    length_nm: int,
    bays: int,
    limits: Bays,
    cost: Callable[[int], int],
) -> Placement | None:
    """Give the placement of least total cost, then the most even one; exact.

    Args:
        centres_nm, length_nm, bays, limits: As for ``even_placements``.
        cost: Price of a post at a place, such as its distance from a joist. [nm] -> any unit
    """
    if bays == 1:
        return next(iter(even_placements(centres_nm, length_nm, 1, 1, limits)), None)
    first, between, last = limits.least_nm
    best: dict[int, tuple[int, int, tuple[int, ...]]] = {
        i: (cost(x), x * x, (i,)) for i, x in enumerate(centres_nm) if first <= x <= limits.span_nm
    }
    for _ in range(bays - 2):
        following: dict[int, tuple[int, int, tuple[int, ...]]] = {}
        for i, (price, squares, places) in best.items():
            for j in range(i + 1, len(centres_nm)):
                bay = centres_nm[j] - centres_nm[i]
                if bay > limits.span_nm:
                    break
                if bay < between:
                    continue
                step = (price + cost(centres_nm[j]), squares + bay * bay, (*places, j))
                if j not in following or step < following[j]:
                    following[j] = step
        best = following
    ends = [
        (price, squares + (length_nm - centres_nm[i]) ** 2, places)
        for i, (price, squares, places) in best.items()
        if last <= length_nm - centres_nm[i] <= limits.span_nm
    ]
    if not ends:
        return None
    _, squares, places = min(ends)
    spans = _spans(centres_nm, length_nm, places)
    return Placement(places, spans == spans[::-1], squares)


def _spans(centres_nm: Sequence[int], length_nm: int, places: Sequence[int]) -> list[int]:
    points = (0, *(centres_nm[i] for i in places), length_nm)
    return [b - a for a, b in pairwise(points)]


def _candidates(
    centres_nm: Sequence[int], length_nm: int, bays: int, pitch_nm: int
) -> Iterator[tuple[int, ...]]:
    """Give pitches in each bay: first picket to first post, post to post, last post to last."""
    last = len(centres_nm) - 1
    ideal = length_nm / bays
    first = round((ideal - centres_nm[0]) / pitch_nm)
    final = round((ideal - (length_nm - centres_nm[-1])) / pitch_nm)
    for head in range(max(0, first - REACH), first + REACH + 1):
        if bays == 2:
            if last - head >= 0:
                yield head, last - head
            continue
        for tail in range(max(0, final - REACH), final + REACH + 1):
            between = last - head - tail
            if between >= bays - 2:
                yield head, *spread(between, bays - 2), tail
