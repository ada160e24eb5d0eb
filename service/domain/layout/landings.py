"""Stairs with landings, broken into single flights and landings that are levels of their own.

A landing is a level: its posts, corners and guard are laid out like any other's. The flight from
above arrives at one of its edges and the next one leaves from another, so that the posts at a
landing are shared by guard and stair rails.

Walking down a flight along d with its left hand towards l, a landing is a rectangle over l and d:
edge 1 is its right side, 2 its far side, 3 its left side and 4 its near side, anticlockwise.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from service.domain.errors import InvalidGeometry, UnbuildableLayout
from service.domain.layout.advised import at_least
from service.domain.layout.deck import (
    Deck,
    Edge,
    EdgeKind,
    Footing,
    Landing,
    Level,
    Opening,
    OpeningKind,
    Point,
    Side,
    Stair,
    Turn,
)
from service.domain.layout.outline import edge_lines
from service.domain.lengths import mm_of, snap_mm


@dataclass(frozen=True, slots=True)
class _Flight:
    """Where a flight starts: the right end of its top nosing and its walking direction."""

    right: Point
    down: tuple[float, float]

    def at(self, left_nm: int, down_nm: int) -> Point:
        """Give the plan point so far to the left and so far down from the start. [nm]"""
        left, down = mm_of(left_nm), mm_of(down_nm)
        (x, y), (dx, dy) = self.right, self.down
        return snap_mm(mm_of(x) - left * dy + down * dx), snap_mm(mm_of(y) + left * dx + down * dy)


def break_into_flights(deck: Deck) -> Deck:
    """Replace each stair with landings by its flights and its landings.

    Raises:
        InvalidGeometry: Flights, landings and risers of a stair do not agree.
        UnbuildableLayout: A landing is too short for the flight that leaves from its side.
    """
    levels, stairs = list(deck.levels), list[Stair]()
    for stair in deck.stairs:
        if not stair.landings:
            stairs.append(stair)
            continue
        _refuse_disagreement(stair)
        flights = list(_flights(stair))
        stairs.extend(flights)
        levels = [_renamed(level, stair.name, flights) for level in levels]
        start = next(_starts(levels, flights[0].name), None)
        if start is not None:
            levels.extend(_landing_levels(stair, flights, start))
    return replace(deck, levels=tuple(levels), stairs=tuple(stairs))


def _refuse_disagreement(stair: Stair) -> None:
    good = len(stair.flights) == len(stair.landings) + 1 and min(stair.flights, default=0) > 0
    if not good or sum(stair.flights) != stair.risers:
        raise InvalidGeometry(
            f"stair {stair.name} has {stair.risers} risers, flights of "
            f"{', '.join(map(str, stair.flights)) or 'none'} and {len(stair.landings)} landings",
            element=f"stair {stair.name}",
            where=("deck", "stairs", stair.index, "flights"),
            advice="Give one flight more than landings; their risers add up to the stair's.",
        )


def _flights(stair: Stair) -> Iterator[Stair]:
    """Share the total rise by risers, to the nanometre."""
    done = 0
    for number, risers in enumerate(stair.flights, 1):
        above = stair.total_rise_nm * done // stair.risers
        done += risers
        below = stair.total_rise_nm * done // stair.risers
        yield replace(
            stair,
            name=f"{stair.name} flight {number}",
            total_rise_nm=below - above,
            risers=risers,
            bottom=stair.bottom if number == len(stair.flights) else Footing.LANDING,
            flights=(),
            landings=(),
        )


def _renamed(level: Level, stair: str, flights: list[Stair]) -> Level:
    """Let the openings of a stair name its flights: the first one leaves, the last arrives."""
    names = {OpeningKind.STAIR: flights[0].name, OpeningKind.ARRIVAL: flights[-1].name}
    edges = tuple(
        replace(
            edge,
            openings=tuple(
                replace(o, name=names[o.kind]) if o.name == stair and o.kind in names else o
                for o in edge.openings
            ),
        )
        for edge in level.edges
    )
    return replace(level, edges=edges)


def _starts(levels: list[Level], flight: str) -> Iterator[_Flight]:
    for level in levels:
        for edge, line in zip(level.edges, edge_lines(level), strict=True):
            for opening in edge.openings:
                if (opening.kind, opening.name) == (OpeningKind.STAIR, flight):
                    low = opening.offset_nm
                    if low is None:
                        low = (line.length_nm - opening.width_nm) // 2
                    yield _Flight(line.point(low, 0), (line.uy, -line.ux))


def _landing_levels(stair: Stair, flights: list[Stair], start: _Flight) -> Iterator[Level]:
    remaining_nm = stair.total_rise_nm
    for number, landing in enumerate(stair.landings):
        upper, lower = flights[number], flights[number + 1]
        remaining_nm -= upper.total_rise_nm
        _refuse_short(stair, landing, number)
        near_nm = (upper.risers - 1) * stair.unit_run_nm - stair.nosing_nm
        start = replace(start, right=start.at(0, near_nm))
        level = _landing_level(stair, landing, start, (upper.name, lower.name), remaining_nm)
        level = replace(level, name=f"{stair.name} landing {number + 1}")
        yield level
        start = next(_starts([level], lower.name))


def _refuse_short(stair: Stair, landing: Landing, number: int) -> None:
    sideways = landing.turn in (Turn.LEFT, Turn.RIGHT)
    if landing.length_nm <= 0 or (sideways and landing.length_nm < stair.width_nm):
        raise UnbuildableLayout(
            f"landing {number + 1} of stair {stair.name} is {mm_of(landing.length_nm):.1f} mm "
            f"long; a flight {mm_of(stair.width_nm):.1f} mm wide leaves from its side",
            element=f"stair {stair.name}",
            where=("deck", "stairs", stair.index, "landings", number, "length"),
            advice=f"Make it at least {at_least(stair.width_nm)} long.",
        )


def _landing_level(
    stair: Stair, landing: Landing, start: _Flight, names: tuple[str, str], fall_nm: int
) -> Level:
    width, length = stair.width_nm, landing.length_nm
    low, high = 0, width  # how far the landing reaches to the right and to the left
    if landing.turn is Turn.BACK_LEFT:
        high = 2 * width + landing.gap_nm
    elif landing.turn is Turn.BACK_RIGHT:
        low = -width - landing.gap_nm
    outline = tuple(start.at(a, b) for a, b in ((low, 0), (low, length), (high, length), (high, 0)))
    arrival = Opening(OpeningKind.ARRIVAL, names[0], width, high - width)
    edge_number, offset = _exit(landing, width, high - low)
    leaving = Opening(OpeningKind.STAIR, names[1], width, offset)
    edges = []
    for number in (1, 2, 3, 4):
        openings = [arrival] if number == 4 else []
        if number == edge_number:
            openings.append(leaving)
        openings.sort(key=lambda opening: opening.offset_nm or 0)
        opened = _outer_side(landing.turn, number) in stair.open_sides
        kind = EdgeKind.OPEN if opened or openings else EdgeKind.WALL
        edges.append(Edge(kind, number, fall_nm, guarded=opened, openings=tuple(openings)))
    return Level("", outline, tuple(edges), index=stair.index, landing_of=stair.index)


def _exit(landing: Landing, width: int, near_nm: int) -> tuple[int, int]:
    """Say from which edge the lower flight leaves and how far along it begins. [nm]"""
    return {
        Turn.STRAIGHT: (2, 0),
        Turn.LEFT: (3, landing.length_nm - width),
        Turn.RIGHT: (1, 0),
        Turn.BACK_LEFT: (4, 0),
        Turn.BACK_RIGHT: (4, near_nm - width),
    }[landing.turn]


def _outer_side(turn: Turn, edge: int) -> Side:
    """Name the stair's side that an edge of the landing continues.

    The outside of a turn to the left continues the right side, and the other way round; a
    switchback's near edge lies between the flights, on the inside of the turn.
    """
    outside = {Turn.LEFT: Side.RIGHT, Turn.BACK_LEFT: Side.RIGHT}.get(turn, Side.LEFT)
    if turn is Turn.STRAIGHT:
        return Side.LEFT if edge == 3 else Side.RIGHT
    if edge == 4:
        return Side.LEFT if outside is Side.RIGHT else Side.RIGHT
    return outside
