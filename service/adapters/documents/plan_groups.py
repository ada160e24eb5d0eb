"""Which levels share a plan: a landing lies in the plan of the level its stair leaves from.

All levels are taped in one set of plan coordinates. Levels of the deck that a stair connects share
a plan as well, unless they lie over each other.
"""

from collections.abc import Iterator, Sequence
from itertools import product

from service.adapters.documents.plan_geometry import Vector, roomiest_point
from service.domain.layout.deck import Level, OpeningKind, Point
from service.domain.layout.records import Layout


def plans_of(layout: Layout) -> tuple[tuple[Level, ...], ...]:
    """Give the levels of each plan, in the order of the deck."""
    levels = layout.deck.levels
    plans = {level.name: [level] for level in levels}
    links = sorted(_links(layout), key=lambda link: link[1].landing_of is None)
    for upper, lower in links:
        one, other = plans[upper], plans[lower.name]
        joined = lower.landing_of is not None or not _overlap(one, other)
        if one is not other and joined:
            one += other
            plans |= {level.name: one for level in other}
    order = {level.name: place for place, level in enumerate(levels)}
    distinct = {id(plan): plan for plan in plans.values()}
    return tuple(
        tuple(sorted(plan, key=lambda level: order[level.name])) for plan in distinct.values()
    )


def _links(layout: Layout) -> Iterator[tuple[str, Level]]:
    """Give the level each stair leaves from, and the landing or level it arrives at."""
    left = {stair.name: stair.level for stair in layout.stairs}
    for level in layout.deck.levels:
        for edge in level.edges:
            for opening in edge.openings:
                if opening.kind is OpeningKind.ARRIVAL and opening.name in left:
                    yield left[opening.name], level


def level_keys(layout: Layout) -> dict[str, str]:
    """Give each level's part of an id: its place in the request, or its stair's and its own."""
    keys: dict[str, str] = {}
    landings: dict[int, int] = {}
    for level in layout.deck.levels:
        if level.landing_of is None:
            keys[level.name] = str(level.index + 1)
        else:
            landings[level.landing_of] = landings.get(level.landing_of, 0) + 1
            keys[level.name] = f"landing-{level.landing_of + 1}-{landings[level.landing_of]}"
    return keys


def stair_keys(layout: Layout) -> dict[str, str]:
    """Give each flight's part of an id: its stair's place, and its own where there are several."""
    of_stair: dict[int, list[str]] = {}
    for stair in layout.deck.stairs:
        of_stair.setdefault(stair.index, []).append(stair.name)
    return {
        name: f"{index + 1}-{number}" if len(names) > 1 else str(index + 1)
        for index, names in of_stair.items()
        for number, name in enumerate(names, 1)
    }


def _overlap(one: Sequence[Level], other: Sequence[Level]) -> bool:
    return any(_lie_over(a.outline, b.outline) for a, b in product(one, other))


def _lie_over(one: Sequence[Point], other: Sequence[Point]) -> bool:
    """Tell whether two outlines share more than a border."""
    if _apart(one, other) or _apart(other, one):
        return False
    if any(_cross(*a, *b) for a, b in product(_sides(one), _sides(other))):
        return True
    return _inside(roomiest_point(one), other) or _inside(roomiest_point(other), one)


def _apart(one: Sequence[Point], other: Sequence[Point]) -> bool:
    return any(max(p[i] for p in one) <= min(p[i] for p in other) for i in (0, 1))


def _sides(outline: Sequence[Point]) -> list[tuple[Point, Point]]:
    return list(zip(outline, [*outline[1:], outline[0]], strict=True))


def _hand(a: Point, b: Point, c: Point) -> int:
    """Say on which side of a line a point lies: 1 left, -1 right, 0 on it."""
    turn = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    return (turn > 0) - (turn < 0)


def _cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    return _hand(a, b, c) * _hand(a, b, d) < 0 and _hand(c, d, a) * _hand(c, d, b) < 0


def _inside(point: Vector, outline: Sequence[Point]) -> bool:
    inside = False
    for a, b in _sides(outline):
        if (a[1] > point[1]) != (b[1] > point[1]):
            inside ^= point[0] < a[0] + (point[1] - a[1]) * (b[0] - a[0]) / (b[1] - a[1])
    return inside
