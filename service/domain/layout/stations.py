"""Where a terminating post stands: at a corner, beside a wall, a stair, a gate or an obstacle."""

import math
from dataclasses import replace
from enum import StrEnum

from service.domain.layout.deck import EdgeKind, OpeningKind, Point, Side
from service.domain.layout.edge_plan import LevelPlan, PlacedOpening, Terminal
from service.domain.layout.outline import corner_along, turn_deg, two_post_shift_nm, wall_along
from service.domain.layout.records import PostPosition
from service.domain.layout.system import CornerPosts
from service.domain.record import record

Key = tuple[str, int, int]

# Corners that turn less than this are square or straight for the choice of one post or two.
SQUARE_DEG = 1.0


# What a post is that a corner shares with an opening that begins there.
FLUSH_POSITIONS = {
    OpeningKind.GATE: PostPosition.GATE,
    OpeningKind.EXISTING_POST: PostPosition.EXISTING,
}


class StairEnd(StrEnum):
    """Which end of a stair rail a post carries."""

    TOP = "top"
    BOTTOM = "bottom"


@record(frozen=True, slots=True)
class StairRole:
    """A stair rail that ends at a post."""

    end: StairEnd
    stair: str
    side: Side


@record(frozen=True, slots=True)
class Station:
    """The place of a terminating post.

    Attributes:
        key: What makes it the same station for two stretches.
        at: Plan position of the post's centre. [nm]
        axis_deg: Direction square to one of its faces. [deg]
        turn_deg: Turn between the two stretches that meet there; 0 at an end. [deg]
        edge: 0-based edge it belongs to.
        roles: Stair rails that end there.
        width_nm: Its width, where it is not the system's own post; else 0. [nm]
        gap_nm: Clear gap to the wall or obstacle beside it, or to the other post of its corner;
            None if there is none. [nm]
    """

    key: Key
    position: PostPosition
    at: Point
    axis_deg: float
    turn_deg: float
    edge: int
    roles: tuple[StairRole, ...] = ()
    width_nm: int = 0
    gap_nm: int | None = None


Placed = tuple[Station, int]


def station_of(plan: LevelPlan, index: int, terminal: Terminal, *, start: bool) -> Placed:
    """Set the post at one end of guard on an edge: the station and its place along it. [nm]"""
    if terminal.beside is None:
        return _at_vertex(plan, index, start=start)
    return beside_opening(plan, index, terminal.beside, low=terminal.low)


def beside_opening(plan: LevelPlan, index: int, placed: PlacedOpening, *, low: bool) -> Placed:
    """Set the post at one side of an opening."""
    opening, line, half = placed.opening, plan.edges[index].line, plan.half_nm
    side_nm = placed.low_nm if low else placed.high_nm
    outward = -1 if low else 1
    position, gap_nm, width_nm = PostPosition.END, None, 0
    roles: tuple[StairRole, ...] = ()
    end = 0 if low else 1
    at_corner = _corner_taken(plan, index, placed)
    if at_corner is not None:
        return at_corner
    if opening.kind is OpeningKind.EXISTING_POST:
        position, width_nm, end = PostPosition.EXISTING, opening.width_nm, 0
        along = (placed.low_nm + placed.high_nm) // 2
    elif opening.kind is OpeningKind.OBSTACLE:
        gap_nm = plan.system.wall_clearance_nm
        along = side_nm + outward * (gap_nm + half)
    elif opening.kind is OpeningKind.GATE:
        position, along = PostPosition.GATE, side_nm + outward * half
    elif plan.open_side(placed, low=low):
        roles = (_role(placed, low=low),)
        position = _position(roles)
        along = side_nm - outward * plan.system.stair_inward_nm
    else:
        along = side_nm + outward * half
    station = Station(
        key=(opening.name, index, end),
        position=position,
        at=line.point(along, plan.inward_nm),
        axis_deg=line.heading_deg,
        turn_deg=0.0,
        edge=index,
        roles=roles,
        width_nm=width_nm,
        gap_nm=gap_nm,
    )
    return station, along


def _corner_taken(plan: LevelPlan, index: int, placed: PlacedOpening) -> Placed | None:
    """Let a post that stands at a corner be the corner's post, where guard goes on round it."""
    if placed.opening.kind is not OpeningKind.EXISTING_POST:
        return None
    for start in (True, False):
        round_it = plan.neighbour(index, start=start)
        theirs = round_it.flush(start=not start)
        goes_on = round_it.guard_reaches(start=not start) or _stands(theirs)
        if plan.edges[index].flush(start=start) is not placed or not goes_on:
            continue
        corner, along = _corner(plan, index, start=start)
        if start and theirs is not None and _stands(theirs):  # both edges name the one post
            return _flush_station(plan, corner, theirs, round_it.index, low=False), along
        return _flush_station(plan, corner, placed, index, low=start), along
    return None


def _stands(placed: PlacedOpening | None) -> bool:
    return placed is not None and placed.opening.kind is OpeningKind.EXISTING_POST


def shared_newel(plan: LevelPlan, after: int) -> Station | None:
    """Give the one post where two stair openings meet at the start vertex of an edge."""
    before = plan.neighbour(after, start=True)
    one, other = before.flush(start=False), plan.edges[after].flush(start=True)
    if one is None or other is None:
        return None
    roles = _stair_roles(plan, one, low=False) + _stair_roles(plan, other, low=True)
    if len(roles) < 2:
        return None
    _, along = corner_along(before.line, plan.edges[after].line, plan.inward_nm)
    line = plan.edges[after].line
    at = line.point(along, plan.inward_nm)
    turn = turn_deg(before.line, line)
    axis = before.line.heading_deg + math.remainder(turn, 90.0) / 2
    key: Key = ("vertex", after, 0)
    return Station(key, _position(roles), at, axis, 0.0, after, roles)


def middle_newel(one: Station, other: Station) -> Station:
    """Give one post half-way for two stair posts that stand too near each other."""
    at = (one.at[0] + other.at[0]) // 2, (one.at[1] + other.at[1]) // 2
    roles = one.roles + other.roles
    return replace(one, at=at, roles=roles, position=_position(roles))


def _stair_roles(plan: LevelPlan, placed: PlacedOpening, *, low: bool) -> tuple[StairRole, ...]:
    stair = placed.opening.kind in (OpeningKind.STAIR, OpeningKind.ARRIVAL)
    return (_role(placed, low=low),) if stair and plan.open_side(placed, low=low) else ()


def _role(placed: PlacedOpening, *, low: bool) -> StairRole:
    arrival = placed.opening.kind is OpeningKind.ARRIVAL
    end = StairEnd.BOTTOM if arrival else StairEnd.TOP
    return StairRole(end, placed.opening.name, placed.side(low=low))


def _position(roles: tuple[StairRole, ...]) -> PostPosition:
    top = any(role.end is StairEnd.TOP for role in roles)
    return PostPosition.STAIR_TOP if top else PostPosition.STAIR_BOTTOM


def _corner(plan: LevelPlan, index: int, *, start: bool) -> Placed:
    """Give the one post of a corner, where both post lines meet."""
    line = plan.edges[index].line
    other = plan.neighbour(index, start=start)
    before, after = (other, plan.edges[index]) if start else (plan.edges[index], other)
    turn = turn_deg(before.line, after.line)
    on_before, on_after = corner_along(before.line, after.line, plan.inward_nm)
    along = on_after if start else on_before
    axis = before.line.heading_deg + math.remainder(turn, 90.0) / 2
    key: Key = ("vertex", after.index, 0)
    at = line.point(along, plan.inward_nm)
    return Station(key, PostPosition.CORNER, at, axis, turn, after.index), along


def _at_vertex(plan: LevelPlan, index: int, *, start: bool) -> Placed:
    line = plan.edges[index].line
    other = plan.neighbour(index, start=start)
    corner, along = _corner(plan, index, start=start)
    turn = corner.turn_deg
    if other.guard_reaches(start=not start):
        if _two_posts(plan, turn):
            return _own_corner_post(plan, index, along, turn, start=start)
        return corner, along
    flush = other.flush(start=not start)
    if flush is not None and plan.stands_clear(other, flush, start=not start):
        return _end_post(plan, index, turn, walled=False, start=start)
    if flush is not None and flush.opening.kind is not OpeningKind.OBSTACLE:
        return _flush_station(plan, corner, flush, other.index, low=not start), along
    kind = plan.level.edges[other.index].kind
    if kind is EdgeKind.EXISTING:
        station = replace(
            corner, position=PostPosition.EXISTING, axis_deg=line.heading_deg, turn_deg=0.0
        )
        return replace(station, edge=index), along
    walled = kind is EdgeKind.WALL or flush is not None
    return _end_post(plan, index, turn, walled=walled, start=start)


def _two_posts(plan: LevelPlan, turn: float) -> bool:
    square = abs(math.remainder(turn, 90.0)) <= SQUARE_DEG
    corners = plan.system.square_corners if square else plan.system.angled_corners
    return corners is CornerPosts.TWO and abs(turn) > SQUARE_DEG


def _own_corner_post(
    plan: LevelPlan, index: int, corner_nm: int, turn: float, *, start: bool
) -> Placed:
    """Set this edge's own post at a corner that takes two, the system's gap from the other."""
    line = plan.edges[index].line
    shift = two_post_shift_nm(turn, plan.half_nm, plan.system.corner_gap_nm)
    along = corner_nm + shift if start else corner_nm - shift
    station = Station(
        key=("corner", index, 0 if start else 1),
        position=PostPosition.CORNER,
        at=line.point(along, plan.inward_nm),
        axis_deg=line.heading_deg,
        turn_deg=0.0,
        edge=index,
        gap_nm=plan.system.corner_gap_nm,
    )
    return station, along


def _flush_station(
    plan: LevelPlan, corner: Station, flush: PlacedOpening, edge: int, *, low: bool
) -> Station:
    """Let a stair or gate that begins at the corner share the corner's post."""
    axis = plan.edges[edge].line.heading_deg
    roles = _stair_roles(plan, flush, low=low)
    width_nm = flush.opening.width_nm if _stands(flush) else 0
    if roles:
        position = _position(roles)
    else:
        position = FLUSH_POSITIONS.get(flush.opening.kind, PostPosition.END)
    return replace(
        corner,
        position=position,
        axis_deg=axis,
        turn_deg=0.0,
        edge=edge,
        roles=roles,
        width_nm=width_nm,
    )


def _end_post(plan: LevelPlan, index: int, turn: float, *, walled: bool, start: bool) -> Placed:
    line, gap_nm = plan.edges[index].line, plan.system.wall_clearance_nm
    if walled:
        off = wall_along(line, turn, plan.inward_nm, plan.half_nm, gap_nm)
    else:
        off = max(plan.system.set_back_nm, plan.half_nm)
    along = off if start else line.length_nm - off
    station = Station(
        key=("end", index, 0 if start else 1),
        position=PostPosition.END,
        at=line.point(along, plan.inward_nm),
        axis_deg=line.heading_deg,
        turn_deg=0.0,
        edge=index,
        gap_nm=gap_nm if walled else None,
    )
    return station, along
