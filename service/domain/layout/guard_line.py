"""Where guard stands round a level: its stretches, the posts that end them, and their chains.

A stretch is the part of one edge that takes guard. A station is the place of a terminating post.
Stretches that meet at a corner share a station and form a chain; a chain ends at a wall, an
existing post, a stair, a gate or an edge without guard, or closes on itself.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from service.domain.errors import UnbuildableLayout, Where
from service.domain.layout.deck import EdgeKind, Level, Opening, OpeningKind, Point, Side, Stair
from service.domain.layout.outline import EdgeLine, corner_along, edge_lines, turn_deg, wall_along
from service.domain.layout.records import PostPosition
from service.domain.layout.system import Mount, RailingSystem
from service.domain.lengths import INCH, mm_of

Key = tuple[str, int, int]

# An opening that begins this near a corner begins at the corner: no post fits between.
AT_CORNER_NM = INCH


@dataclass(frozen=True, slots=True)
class Station:
    """The place of a terminating post.

    Attributes:
        key: What makes it the same station for two stretches.
        at: Plan position of the post's centre. [nm]
        axis_deg: Direction square to one of its faces. [deg]
        turn_deg: Turn between the two stretches that meet there; 0 at an end. [deg]
        edge: 0-based edge it belongs to.
        stair, side: The stair rail that starts there, if any.
    """

    key: Key
    position: PostPosition
    at: Point
    axis_deg: float
    turn_deg: float
    edge: int
    stair: str = ""
    side: Side | None = None


@dataclass(frozen=True, slots=True)
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


@dataclass(frozen=True, slots=True)
class Chain:
    """Stretches that follow each other round corners; closed when the last meets the first."""

    stretches: tuple[Stretch, ...]
    closed: bool

    @property
    def stations(self) -> tuple[Station, ...]:
        """Its stations in order; a closed chain names its first one once."""
        ends = tuple(stretch.end for stretch in self.stretches)
        return ends if self.closed else (self.stretches[0].start, *ends)


@dataclass(frozen=True, slots=True)
class GuardLine:
    """All guard of one level.

    Attributes:
        openings: (0-based edge, offset along it, opening) of every stair and gate. [nm]
        lone: Stair posts that no guard of the level reaches.
        gaps: (station, clear gap) between a lone post and the wall beside it. [nm]
    """

    lines: tuple[EdgeLine, ...]
    chains: tuple[Chain, ...]
    openings: tuple[tuple[int, int, Opening], ...]
    lone: tuple[Station, ...]
    gaps: tuple[tuple[Station, int], ...]


@dataclass(frozen=True, slots=True)
class _End:
    """One end of an interval of guard: at a vertex, or beside an opening."""

    along_nm: int
    opening: Opening | None = None
    side: Side | None = None
    vertex: bool = False


@dataclass
class _Tracer:
    """Works one level through; holds what every step needs."""

    level: Level
    stairs: dict[str, Stair]
    system: RailingSystem
    lines: tuple[EdgeLine, ...] = field(init=False)
    inward_nm: int = field(init=False)
    half_nm: int = field(init=False)
    placed: list[tuple[list[_End], list[tuple[int, Opening]]]] = field(init=False)

    def __post_init__(self) -> None:
        self.lines = edge_lines(self.level)
        sign = 1 if self.system.mount is Mount.SURFACE else -1
        self.inward_nm = sign * self.system.set_back_nm
        self.half_nm = self.system.post_width_nm // 2
        self.placed = [self._place(index) for index in range(len(self.lines))]

    def where(self, index: int) -> Where:
        return ("deck", "levels", self.level.index, "edges", self.level.edges[index].number - 1)

    def named(self, index: int) -> str:
        return f"level {self.level.name}, edge {self.level.edges[index].number}"

    def _place(self, index: int) -> tuple[list[_End], list[tuple[int, Opening]]]:
        """Lay the openings along an edge; give the ends of guard in pairs, and the openings."""
        edge, line = self.level.edges[index], self.lines[index]
        placed: list[tuple[int, Opening]] = []
        reached = 0
        for opening in edge.openings:
            offset = (
                (line.length_nm - opening.width_nm) // 2
                if opening.offset_nm is None
                else opening.offset_nm
            )
            if offset < reached or offset + opening.width_nm > line.length_nm:
                raise UnbuildableLayout(
                    f"{opening.kind} {opening.name} does not fit: it takes "
                    f"{mm_of(opening.width_nm):.1f} mm from {mm_of(offset):.1f} mm on an edge of "
                    f"{mm_of(line.length_nm):.1f} mm",
                    element=self.named(index),
                    where=self.where(index),
                    advice="Make it narrower, move it along the edge, or keep openings apart.",
                )
            placed.append((offset, opening))
            reached = offset + opening.width_nm
        if edge.kind is not EdgeKind.OPEN or not edge.guarded:
            return [], placed
        ends = [_End(0, vertex=True)]
        for offset, opening in placed:
            ends.append(_End(offset, opening, Side.RIGHT))
            ends.append(_End(offset + opening.width_nm, opening, Side.LEFT))
        ends.append(_End(line.length_nm, vertex=True))
        pairs = [
            (a, b)
            for a, b in zip(ends[::2], ends[1::2], strict=True)
            if b.along_nm - a.along_nm > AT_CORNER_NM
        ]
        return [end for pair in pairs for end in pair], placed

    def guard_at(self, index: int, *, start: bool) -> bool:
        """Tell whether guard reaches the start (or the end) vertex of an edge."""
        ends = self.placed[index][0]
        return bool(ends) and (ends[0].vertex if start else ends[-1].vertex)

    def opening_at(self, index: int, *, start: bool) -> Opening | None:
        """Give the opening that begins at the start (or ends at the end) vertex, if any."""
        edge, (_, placed) = self.level.edges[index], self.placed[index]
        if edge.kind is not EdgeKind.OPEN or not placed:
            return None
        offset, opening = placed[0] if start else placed[-1]
        free = offset if start else self.lines[index].length_nm - offset - opening.width_nm
        return opening if free <= AT_CORNER_NM else None

    def station(self, index: int, end: _End, *, start: bool) -> tuple[Station, int]:
        """Set the post at one end of a stretch: the station and its place along the edge. [nm]"""
        if end.opening is None or end.side is None:
            return self._at_vertex(index, start=start)
        return self.beside_opening(index, end.along_nm, end.opening, end.side)

    def _at_vertex(self, index: int, *, start: bool) -> tuple[Station, int]:
        count, line = len(self.lines), self.lines[index]
        before, after = ((index - 1) % count, index) if start else (index, (index + 1) % count)
        other = before if start else after
        turn = turn_deg(self.lines[before], self.lines[after])
        on_before, on_after = corner_along(self.lines[before], self.lines[after], self.inward_nm)
        along = on_after if start else on_before
        key: Key = ("vertex", after, 0)
        at_corner = line.point(along, self.inward_nm)
        if self.guard_at(other, start=not start):
            lean = math.remainder(turn, 90.0) / 2
            axis = self.lines[before].heading_deg + lean
            return Station(key, PostPosition.CORNER, at_corner, axis, turn, after), along
        opening = self.opening_at(other, start=not start)
        if opening is not None:
            # Walking down from edge `other`, its start vertex is on the right hand.
            side = Side.LEFT if start else Side.RIGHT
            axis = self.lines[other].heading_deg
            return self._opening_station(key, opening, side, at_corner, axis, other), along
        kind = self.level.edges[other].kind
        if kind is EdgeKind.EXISTING:
            axis = line.heading_deg
            return Station(key, PostPosition.EXISTING, at_corner, axis, 0.0, index), along
        if kind is EdgeKind.WALL:
            gap = self.system.wall_clearance_nm
            off = wall_along(line, turn, self.inward_nm, self.half_nm, gap)
        else:
            off = max(self.system.set_back_nm, self.half_nm)
        along = off if start else line.length_nm - off
        at = line.point(along, self.inward_nm)
        end_key: Key = ("end", index, 0 if start else 1)
        return Station(end_key, PostPosition.END, at, line.heading_deg, 0.0, index), along

    def beside_opening(
        self, index: int, edge_nm: int, opening: Opening, side: Side
    ) -> tuple[Station, int]:
        """Set the post at one side of a stair or gate, whose side lies at edge_nm."""
        away = 1 if side is Side.LEFT else -1
        if opening.kind is OpeningKind.STAIR and self.open_side(opening, side):
            along = edge_nm - away * self.system.stair_set_back_nm
        else:
            along = edge_nm + away * self.half_nm
        line = self.lines[index]
        key: Key = (opening.name, index, 0 if side is Side.RIGHT else 1)
        at = line.point(along, self.inward_nm)
        return self._opening_station(key, opening, side, at, line.heading_deg, index), along

    def open_side(self, opening: Opening, side: Side) -> bool:
        return side in self.stairs[opening.name].open_sides

    def _opening_station(
        self, key: Key, opening: Opening, side: Side, at: Point, axis: float, edge: int
    ) -> Station:
        if opening.kind is OpeningKind.GATE:
            return Station(key, PostPosition.GATE, at, axis, 0.0, edge)
        if not self.open_side(opening, side):
            return Station(key, PostPosition.END, at, axis, 0.0, edge)
        return Station(key, PostPosition.STAIR_TOP, at, axis, 0.0, edge, opening.name, side)

    def stretches(self) -> Iterator[Stretch | tuple[Station, int]]:
        """Give every stretch in order; a gap too small for guard gives its one post instead."""
        for index in range(len(self.lines)):
            ends = self.placed[index][0]
            for a, b in zip(ends[::2], ends[1::2], strict=True):
                start, start_nm = self.station(index, a, start=True)
                end, end_nm = self.station(index, b, start=False)
                stretch = Stretch(index, start, end, start_nm, end_nm)
                yield self._one_post_for(stretch, a, b) or stretch

    def _one_post_for(self, stretch: Stretch, a: _End, b: _End) -> tuple[Station, int] | None:
        """Give the single post and its gap to the wall, where a run has no room for a picket."""
        pickets = self.system.pickets
        # Two base plates and a picket need this much between the posts: common practice, no source.
        least_nm = max(pickets.width_nm, self.system.post_width_nm)
        if stretch.length_nm - 2 * self.half_nm >= least_nm:
            return None
        allowed = pickets.max_gap_nm
        for mine, far, far_end, along in (
            (stretch.end, stretch.start, a, stretch.end_nm),
            (stretch.start, stretch.end, b, stretch.start_nm),
        ):
            gap = abs(along - far_end.along_nm) - self.half_nm
            beside_wall = far.position is PostPosition.END and far_end.vertex
            if mine.position is not PostPosition.CORNER and beside_wall and 0 <= gap < allowed:
                return mine, gap
        raise UnbuildableLayout(
            f"the guard on edge {self.level.edges[stretch.edge].number} of level "
            f"{self.level.name} is too short for a bay: its posts would stand "
            f"{mm_of(stretch.length_nm):.1f} mm apart, centre to centre",
            element=self.named(stretch.edge),
            where=self.where(stretch.edge),
            advice="Move the stair or gate so that it meets the corner or wall, or stands at least "
            f"{mm_of(2 * self.half_nm + least_nm - stretch.length_nm):.0f} mm further "
            "from it.",
        )


def trace_guard(level: Level, stairs: dict[str, Stair], system: RailingSystem) -> GuardLine:
    """Find the stretches of guard round a level and the posts that end them.

    Raises:
        UnbuildableLayout: An opening does not fit its edge, or a stretch has no room for a bay.
    """
    tracer = _Tracer(level, stairs, system)
    found, gaps = [], []
    for item in tracer.stretches():
        if isinstance(item, Stretch):
            found.append(item)
        else:
            gaps.append(item)
    chains = tuple(_chains(found))
    standing = {station.key for chain in chains for station in chain.stations}
    sides = {(s.stair, s.side) for chain in chains for s in chain.stations if s.stair}
    lone = [station for station, _ in gaps if station.key not in standing]
    sides |= {(s.stair, s.side) for s in lone if s.stair}
    lone.extend(_stair_posts_alone(tracer, sides))
    openings = tuple(
        (index, offset, opening)
        for index, (_, placed) in enumerate(tracer.placed)
        for offset, opening in placed
    )
    return GuardLine(tracer.lines, chains, openings, tuple(lone), tuple(gaps))


def _chains(stretches: list[Stretch]) -> Iterator[Chain]:
    if not stretches:
        return
    starts = [i for i, s in enumerate(stretches) if s.start.key != stretches[i - 1].end.key]
    if not starts:
        yield Chain(tuple(stretches), closed=True)
        return
    turned = stretches[starts[0] :] + stretches[: starts[0]]
    chain: list[Stretch] = []
    for stretch in turned:
        if chain and chain[-1].end.key != stretch.start.key:
            yield Chain(tuple(chain), closed=False)
            chain = []
        chain.append(stretch)
    yield Chain(tuple(chain), closed=False)


def _stair_posts_alone(tracer: _Tracer, sides: set[tuple[str, Side | None]]) -> Iterator[Station]:
    """Give the top posts of open stair sides that no stretch of guard ends at."""
    for index, (_, placed) in enumerate(tracer.placed):
        for offset, opening in placed:
            if opening.kind is not OpeningKind.STAIR:
                continue
            for side, along in ((Side.RIGHT, offset), (Side.LEFT, offset + opening.width_nm)):
                if tracer.open_side(opening, side) and (opening.name, side) not in sides:
                    yield tracer.beside_opening(index, along, opening, side)[0]
