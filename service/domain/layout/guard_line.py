"""Where guard stands round a level: its stretches, the posts that end them, and their chains.

A stretch is the part of one edge that takes guard. A station is the place of a terminating post.
Stretches that meet at a corner share a station and form a chain; a chain ends at a wall, an
existing post, a stair, a gate, an obstacle, a corner of two posts or an edge without guard, or
closes on itself.
"""

from collections.abc import Iterator

from service.domain.errors import UnbuildableLayout
from service.domain.layout.advised import at_least
from service.domain.layout.deck import OpeningKind
from service.domain.layout.edge_plan import LevelPlan, Terminal
from service.domain.layout.gate_posts import gate_stations
from service.domain.layout.records import PostPosition
from service.domain.layout.stations import (
    Station,
    beside_opening,
    middle_newel,
    shared_newel,
    station_of,
)
from service.domain.lengths import mm_of
from service.domain.record import record


@record(frozen=True, slots=True)
class Stretch:
    """Guard along one edge between two stations; positions are along the edge. [nm]"""

    edge: int
    start: Station
    end: Station
    start_nm: int
    end_nm: int

    @property
    def length_nm(self) -> int:
        """Centre to centre of its terminating posts. [nm]"""
        return self.end_nm - self.start_nm


@record(frozen=True, slots=True)
class Chain:
    """Stretches that follow each other round corners; closed when the last meets the first."""

    stretches: tuple[Stretch, ...]
    closed: bool

    @property
    def stations(self) -> tuple[Station, ...]:
        """Its stations in order; a closed chain names its first one once."""
        ends = tuple(stretch.end for stretch in self.stretches)
        return ends if self.closed else (self.stretches[0].start, *ends)


@record(frozen=True, slots=True)
class GuardLine:
    """All guard of one level.

    Attributes:
        lone: Posts that no guard of the level reaches.
        gaps: (station, place, clear gap): openings between a lone post and what is beside it. [nm]
    """

    plan: LevelPlan
    chains: tuple[Chain, ...]
    lone: tuple[Station, ...]
    gaps: tuple[tuple[Station, str, int], ...]


@record(frozen=True, slots=True)
class _NoRoom:
    """Posts that close an interval without a bay between them."""

    posts: tuple[Station, ...]
    place: str
    gap_nm: int | None


def trace_guard(plan: LevelPlan) -> GuardLine:
    """Find the stretches of guard round a level and the posts that end them.

    Raises:
        UnbuildableLayout: A stretch has no room for a bay and no single post closes it.
    """
    found: list[Stretch] = []
    closed: list[_NoRoom] = []
    for item in _intervals(plan):
        if isinstance(item, Stretch):
            found.append(item)
        else:
            closed.append(item)
    chains = tuple(_chains(found))
    standing = {station.key for chain in chains for station in chain.stations}
    lone = {s.key: s for room in closed for s in room.posts if s.key not in standing}
    roles = {role for chain in chains for s in chain.stations for role in s.roles}
    roles |= {role for station in lone.values() for role in station.roles}
    for station in _stair_posts(plan):
        if not roles.issuperset(station.roles):
            lone[station.key] = station
            roles.update(station.roles)
    for station in gate_stations(plan):
        stands = station.key in standing or station.key in lone
        if not stands and not (station.roles and roles.issuperset(station.roles)):
            lone[station.key] = station
            roles.update(station.roles)
    gaps = tuple(
        (room.posts[0], room.place, room.gap_nm) for room in closed if room.gap_nm is not None
    )
    return GuardLine(plan, chains, tuple(lone.values()), gaps)


def _intervals(plan: LevelPlan) -> Iterator[Stretch | _NoRoom]:
    for edge in plan.edges:
        for a, b in edge.guard:
            start, start_nm = station_of(plan, edge.index, a, start=True)
            end, end_nm = station_of(plan, edge.index, b, start=False)
            stretch = Stretch(edge.index, start, end, start_nm, end_nm)
            yield _no_room(plan, stretch, a, b) or stretch


def _no_room(plan: LevelPlan, stretch: Stretch, a: Terminal, b: Terminal) -> _NoRoom | None:
    """Close an interval that has no room for a bay with the posts beside it, if that closes it."""
    system = plan.system
    least_nm = plan.least_clear_nm
    halves_nm = [(s.width_nm or 2 * plan.half_nm) // 2 for s in (stretch.start, stretch.end)]
    clear_nm = stretch.length_nm - sum(halves_nm)
    limit_nm = system.pickets.max_gap_nm
    ends = (stretch.start, stretch.end)
    if all(station.roles for station in ends) and clear_nm < limit_nm:
        if clear_nm < least_nm:
            return _NoRoom((middle_newel(*ends),), "", None)
        return _NoRoom(ends, "post to post", clear_nm)
    if clear_nm >= least_nm:
        return None
    for mine, far, far_terminal, along in (
        (stretch.end, stretch.start, a, stretch.end_nm),
        (stretch.start, stretch.end, b, stretch.start_nm),
    ):
        gap_nm = abs(along - far_terminal.along_nm) - plan.half_nm
        closes = far.position is PostPosition.END and 0 <= gap_nm < limit_nm
        if closes and mine.position is not PostPosition.CORNER:
            return _NoRoom((mine,), "post to structure", gap_nm)
    edge = plan.level.edges[stretch.edge]
    raise UnbuildableLayout(
        f"the guard on edge {edge.number} of level {plan.level.name} is too short for a bay: its "
        f"posts would stand {mm_of(stretch.length_nm):.1f} mm apart, centre to centre",
        element=plan.named(stretch.edge),
        where=plan.level.where(edge),
        advice="Move the stair or gate so that it meets the corner or wall, or stands at least "
        f"{at_least(least_nm - clear_nm)} further from it.",
    )


def _chains(stretches: list[Stretch]) -> Iterator[Chain]:
    if not stretches:
        return
    starts = [i for i, s in enumerate(stretches) if s.start.key != stretches[i - 1].end.key]
    if not starts:
        yield Chain(tuple(stretches), closed=True)
        return
    chain: list[Stretch] = []
    for stretch in stretches[starts[0] :] + stretches[: starts[0]]:
        if chain and chain[-1].end.key != stretch.start.key:
            yield Chain(tuple(chain), closed=False)
            chain = []
        chain.append(stretch)
    yield Chain(tuple(chain), closed=False)


def _stair_posts(plan: LevelPlan) -> Iterator[Station]:
    """Give a post for every open stair side, shared where two stairs meet at a corner."""
    for edge in plan.edges:
        newel = shared_newel(plan, edge.index)
        if newel is not None:
            yield newel
    for edge in plan.edges:
        for placed in edge.openings:
            if placed.opening.kind not in (OpeningKind.STAIR, OpeningKind.ARRIVAL):
                continue
            for low in (True, False):
                if plan.open_side(placed, low=low):
                    yield beside_opening(plan, edge.index, placed, low=low)[0]
