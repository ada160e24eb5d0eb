"""Where the two posts of each gate stand, and which posts they are."""

from collections.abc import Iterator, Mapping

from service.domain.layout.deck import OpeningKind
from service.domain.layout.edge_plan import AT_CORNER_NM, LevelPlan, PlacedOpening, Terminal
from service.domain.layout.stations import Key, StairRole, Station, beside_opening, station_of


def gate_stations(plan: LevelPlan) -> Iterator[Station]:
    """Give the station at either side of each gate of a level, in order round it."""
    for edge in plan.edges:
        for number, placed in enumerate(edge.openings):
            if placed.opening.kind is OpeningKind.GATE:
                for low in (True, False):
                    yield gate_station(plan, edge.index, number, low=low)


def gate_station(plan: LevelPlan, index: int, number: int, *, low: bool) -> Station:
    """Give the post a gate hangs on or latches to: at a corner, beside a neighbour, or its own.

    Args:
        plan: The level.
        index: 0-based edge.
        number: 0-based opening of that edge.
        low: True for the post nearer to the edge's first vertex.
    """
    edge = plan.edges[index]
    placed = edge.openings[number]
    if low:
        neighbour = edge.openings[number - 1] if number else None
        free_nm = placed.low_nm - (neighbour.high_nm if neighbour else 0)
    else:
        neighbour = edge.openings[number + 1] if number + 1 < len(edge.openings) else None
        free_nm = (neighbour.low_nm if neighbour else edge.line.length_nm) - placed.high_nm
    if free_nm > AT_CORNER_NM:
        return beside_opening(plan, index, placed, low=low)[0]
    if neighbour is None:
        # Guard that reaches the corner round it decides about the corner's post.
        round_it = plan.neighbour(index, start=low)
        if round_it.guard_reaches(start=not low):
            return station_of(plan, round_it.index, Terminal(0), start=not low)[0]
        return station_of(plan, index, Terminal(0), start=low)[0]
    return _shared(plan, index, placed, neighbour, low=low)


def _shared(
    plan: LevelPlan, index: int, placed: PlacedOpening, neighbour: PlacedOpening, *, low: bool
) -> Station:
    """Give the one post between a gate and the opening next to it.

    It stands where the neighbour wants it; of two gates, where the first one does.
    """
    if neighbour.opening.kind is OpeningKind.GATE and not low:
        return beside_opening(plan, index, placed, low=False)[0]
    return beside_opening(plan, index, neighbour, low=not low)[0]


def post_of(
    station: Station,
    level: str,
    stood: Mapping[tuple[str, Key], str],
    stair_posts: Mapping[StairRole, str],
) -> str:
    """Name the post that stands at a station, a stair's post by the rail that ends there."""
    name = stood.get((level, station.key))
    if name is None:
        name = next(stair_posts[role] for role in station.roles if role in stair_posts)
    return name
