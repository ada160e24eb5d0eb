"""What lies along each edge of a level: openings in their places, and guard between them."""

from dataclasses import dataclass, replace

from service.domain.errors import UnbuildableLayout
from service.domain.layout.deck import EdgeKind, Level, Opening, OpeningKind, Side, Stair
from service.domain.layout.outline import EdgeLine, corner_along, edge_lines
from service.domain.layout.system import Mount, RailingSystem
from service.domain.lengths import INCH, MILLIMETRE, mm_of
from service.domain.record import record

# An opening that begins this near a corner begins at the corner: no post fits between.
AT_CORNER_NM = INCH
# Corners of an odd angle lie on whole nanometres, so an edge may be this much off its length.
ROUNDING_NM = MILLIMETRE // 1000


@record(frozen=True, slots=True)
class PlacedOpening:
    """An opening at its place along an edge. [nm]"""

    opening: Opening
    low_nm: int
    high_nm: int

    def side(self, *, low: bool) -> Side:
        """Name the stair's side that lies at its low or high end.

        Walking down from the edge (facing out, deck behind) the low end is on the right; walking
        down onto the edge (facing in) it is on the left.
        """
        if self.opening.kind is OpeningKind.ARRIVAL:
            return Side.LEFT if low else Side.RIGHT
        return Side.RIGHT if low else Side.LEFT


@record(frozen=True, slots=True)
class Terminal:
    """One end of guard on an edge: at the edge's vertex, or beside an opening. [nm]"""

    along_nm: int
    beside: PlacedOpening | None = None
    low: bool = False


@record(frozen=True, slots=True)
class EdgePlan:
    """One edge with its openings and the intervals of guard between them."""

    index: int
    line: EdgeLine
    openings: tuple[PlacedOpening, ...]
    guard: tuple[tuple[Terminal, Terminal], ...]

    def guard_reaches(self, *, start: bool) -> bool:
        """Tell whether guard reaches the edge's start (or end) vertex."""
        if not self.guard:
            return False
        terminal = self.guard[0][0] if start else self.guard[-1][1]
        return terminal.beside is None

    def flush(self, *, start: bool) -> PlacedOpening | None:
        """Give the opening that begins at the start (or ends at the end) vertex, if any."""
        if not self.openings:
            return None
        placed = self.openings[0] if start else self.openings[-1]
        free_nm = placed.low_nm if start else self.line.length_nm - placed.high_nm
        return placed if free_nm <= AT_CORNER_NM else None


@dataclass(frozen=True)
class LevelPlan:
    """A level with every edge planned, and what the placing of posts needs to know.

    Attributes:
        inward_nm: Signed distance of the post line inside the edges. [nm]
        half_nm: Half the width of a post. [nm]
    """

    level: Level
    system: RailingSystem
    stairs: dict[str, Stair]
    edges: tuple[EdgePlan, ...]

    @property
    def inward_nm(self) -> int:
        """Signed distance of the post line inside the edges; a landing's is its stair's. [nm]"""
        if self.level.landing_of is not None:
            return self.system.stair_inward_nm
        sign = 1 if self.system.mount is Mount.SURFACE else -1
        return sign * self.system.set_back_nm

    @property
    def half_nm(self) -> int:
        """Half the width of a post. [nm]"""
        return self.system.post_width_nm // 2

    @property
    def least_clear_nm(self) -> int:
        """What two base plates and a picket need between posts: common practice, no source. [nm]"""
        return max(self.system.pickets.width_nm, self.system.post_width_nm)

    def neighbour(self, index: int, *, start: bool) -> EdgePlan:
        """Give the edge that meets this one at its start (or end) vertex."""
        return self.edges[(index + (-1 if start else 1)) % len(self.edges)]

    def stands_clear(self, edge: EdgePlan, placed: PlacedOpening, *, start: bool) -> bool:
        """Tell whether a corner's post would stand off the stair that begins at the corner.

        Where edges meet at an inside corner, or turn little, it would stand outside the stair or
        half off its side; the stair's rail then has a post of its own.
        """
        other = self.neighbour(edge.index, start=start)
        stair = placed.opening.kind in (OpeningKind.STAIR, OpeningKind.ARRIVAL)
        if not (stair and self.open_side(placed, low=start)):
            return False
        if self.system.mount is not Mount.SURFACE or not other.guard_reaches(start=not start):
            return False
        before, after = (other, edge) if start else (edge, other)
        on_before, on_after = corner_along(before.line, after.line, self.inward_nm)
        inside_nm = on_after - placed.low_nm if start else placed.high_nm - on_before
        own_nm = self.system.stair_set_back_nm
        room = own_nm - inside_nm - 2 * self.half_nm >= self.least_clear_nm
        return inside_nm < 0 or (inside_nm < min(self.half_nm, own_nm) and room)

    def open_side(self, placed: PlacedOpening, *, low: bool) -> bool:
        """Tell whether a stair has a rail on the side at this end of its opening."""
        return placed.side(low=low) in self.stairs[placed.opening.name].open_sides

    def named(self, index: int) -> str:
        """Name an edge as messages print it."""
        return f"level {self.level.name}, edge {self.level.edges[index].number}"


def plan_level(level: Level, stairs: dict[str, Stair], system: RailingSystem) -> LevelPlan:
    """Place every opening of a level and find the intervals of guard between them.

    Raises:
        UnbuildableLayout: An opening does not fit its edge or meets another one.
    """
    lines = edge_lines(level)
    edges = tuple(_plan_edge(level, index, line) for index, line in enumerate(lines))
    plan = LevelPlan(level, system, stairs, edges)
    return replace(plan, edges=tuple(_beside_stairs(plan, edge) for edge in edges))


def _beside_stairs(plan: LevelPlan, edge: EdgePlan) -> EdgePlan:
    """Keep the guard between a corner's post and a stair that begins there but lies clear of it."""
    guard = list(edge.guard)
    for start in (True, False):
        placed = edge.flush(start=start)
        guarded = plan.level.edges[edge.index].guarded
        if placed is not None and guarded and plan.stands_clear(edge, placed, start=start):
            ends = Terminal(0), Terminal(placed.low_nm, placed, low=True)
            if not start:
                ends = Terminal(placed.high_nm, placed), Terminal(edge.line.length_nm)
            guard.insert(0 if start else len(guard), ends)
    return replace(edge, guard=tuple(guard))


def _plan_edge(level: Level, index: int, line: EdgeLine) -> EdgePlan:
    placed = _placed(level, index, line)
    edge = level.edges[index]
    if edge.kind is not EdgeKind.OPEN or not edge.guarded:
        return EdgePlan(index, line, placed, ())
    terminals = [Terminal(0)]
    for one in placed:
        terminals.append(Terminal(one.low_nm, one, low=True))
        terminals.append(Terminal(one.high_nm, one, low=False))
    terminals.append(Terminal(line.length_nm))
    pairs = zip(terminals[::2], terminals[1::2], strict=True)
    guard = tuple((a, b) for a, b in pairs if b.along_nm - a.along_nm > AT_CORNER_NM)
    return EdgePlan(index, line, placed, guard)


def _placed(level: Level, index: int, line: EdgeLine) -> tuple[PlacedOpening, ...]:
    edge = level.edges[index]
    placed: list[PlacedOpening] = []
    reached = 0
    for opening in edge.openings:
        low = opening.offset_nm
        if low is None:
            low = (line.length_nm - opening.width_nm) // 2
        high = low + opening.width_nm
        if low < reached - ROUNDING_NM or high > line.length_nm + ROUNDING_NM:
            raise UnbuildableLayout(
                f"{opening.kind.value.replace('_', ' ')} {opening.name} does not fit: it takes "
                f"{mm_of(opening.width_nm):.1f} mm from {mm_of(low):.1f} mm on an edge of "
                f"{mm_of(line.length_nm):.1f} mm",
                element=f"level {level.name}, edge {edge.number}",
                where=level.where(edge),
                advice="Make it narrower, move it along the edge, or keep openings apart.",
            )
        low, reached = max(low, reached), min(high, line.length_nm)
        placed.append(PlacedOpening(opening, low, reached))
    return tuple(placed)
