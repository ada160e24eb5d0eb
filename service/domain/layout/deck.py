"""The deck as it was taped: levels, their edges and what each edge meets, and stairs.

Plan coordinates are nanometres, x to the right and y up. An edge runs from its own vertex to the
next one; with the outline anticlockwise the deck lies on its left and the fall on its right.
"""

from dataclasses import dataclass
from enum import StrEnum

from service.domain.layout.framing import Framing
from service.domain.layout.survey_records import SurveyReport
from service.domain.record import record

Point = tuple[int, int]


class EdgeKind(StrEnum):
    """What stands along an edge."""

    OPEN = "open"
    WALL = "wall"
    EXISTING = "existing"  # a guard or structure that already stands and can be tied into


class OpeningKind(StrEnum):
    """A stretch of an open edge where the guard is interrupted."""

    STAIR = "stair"  # a flight goes down from here
    ARRIVAL = "arrival"  # a flight from above ends here
    GATE = "gate"
    OBSTACLE = "obstacle"  # a chimney or column that closes the edge by itself
    EXISTING_POST = "existing_post"  # a post that stands and is tied into from both sides


class Side(StrEnum):
    """A side of a stair, seen by a person walking down from the level."""

    LEFT = "left"
    RIGHT = "right"


class Swing(StrEnum):
    """Which way a gate opens."""

    IN = "in"  # over the deck
    OUT = "out"  # away from it


class Footing(StrEnum):
    """What a bottom stair post stands on."""

    TREAD = "tread"
    LANDING = "landing"
    SLAB = "slab"
    GRADE = "grade"


class Turn(StrEnum):
    """Which way a stair goes on from a landing, walking down."""

    STRAIGHT = "straight"
    LEFT = "left"
    RIGHT = "right"
    BACK_LEFT = "back_left"  # switchback, the lower flight on the left of the upper one
    BACK_RIGHT = "back_right"


@record(frozen=True, slots=True)
class Opening:
    """What interrupts the guard of an edge.

    Attributes:
        kind: Stair, arrival, gate, obstacle or existing post.
        name: Name of the stair (of the flight, for an arrival), gate or other thing.
        width_nm: Width along the edge. [nm]
        offset_nm: From the edge's first vertex to the near side; None centres it. [nm]
        swing: Of a gate: which way it opens.
        hinge: Of a gate: the side it hangs on, seen by a person walking out through it.
    """

    kind: OpeningKind
    name: str
    width_nm: int
    offset_nm: int | None = None
    swing: Swing = Swing.IN
    hinge: Side = Side.LEFT


@dataclass(frozen=True, slots=True, order=True)
class Fall:
    """The fall from the walking surface to the ground at one point beside an edge. [nm]

    Attributes:
        out_nm: Horizontally outward from the edge.
        fall_nm: Down from the walking surface.
    """

    out_nm: int
    fall_nm: int


@record(frozen=True, slots=True)
class Edge:
    """One straight side of a level.

    Attributes:
        kind: Open, wall or existing.
        number: 1-based, in the order the caller gave the edges.
        fall_height_nm: Drop to the surface below; None if not taped. [nm]
        guarded: False leaves an open edge without a guard.
        openings: What interrupts its guard, in order along the edge.
        sagitta_nm: Rise of an arc over the chord between its vertices, positive where it bulges
            away from the deck; 0 for a straight edge. [nm]
        falls: Falls taped point by point outward from it, for codes that look for the greatest
            within a reach.
    """

    kind: EdgeKind
    number: int
    fall_height_nm: int | None = None
    guarded: bool = True
    openings: tuple[Opening, ...] = ()
    sagitta_nm: int = 0
    falls: tuple[Fall, ...] = ()


@record(frozen=True, slots=True)
class Level:
    """One flat walking surface.

    Attributes:
        name: Unique within the deck.
        outline: (n, 2) vertices, not closed. [nm]
        edges: (n,) edge i runs from vertex i to vertex i + 1.
        index: 0-based place in the request, for error pointers.
        landing_of: Index of the stair whose landing this is; None for a level of the deck.
        framing: Joists and rim below; None if they were not taped.
        survey: How well its tape readings agreed; None where its corners were given.
    """

    name: str
    outline: tuple[Point, ...]
    edges: tuple[Edge, ...]
    index: int = 0
    landing_of: int | None = None
    framing: Framing | None = None
    survey: SurveyReport | None = None

    def where(self, edge: Edge | None = None) -> tuple[str | int, ...]:
        """Give the place in the request that this level, or one of its edges, comes from."""
        if self.landing_of is not None:
            return ("deck", "stairs", self.landing_of, "landings")
        if edge is None:
            return ("deck", "levels", self.index)
        return ("deck", "levels", self.index, "edges", edge.number - 1)


@record(frozen=True, slots=True)
class Landing:
    """Between two flights of one stair.

    Attributes:
        turn: Which way the lower flight goes on.
        length_nm: In the walking direction of the upper flight. [nm]
        gap_nm: Between the flights of a switchback. [nm]
    """

    turn: Turn
    length_nm: int
    gap_nm: int = 0


@record(frozen=True, slots=True)
class Stair:
    """A stair that goes down and outwards from an edge of a level.

    It is one straight flight, or several with landings between; ``landings.break_into_flights``
    turns the latter into single flights and landings of their own.

    Attributes:
        name: Unique within the deck; an opening of an edge names it.
        total_rise_nm: From the lower surface to the level's walking surface. [nm]
        risers: Count of risers, one more than the treads between.
        unit_run_nm: Horizontal distance from nosing to nosing. [nm]
        width_nm: Overall width, outer face to outer face. [nm]
        nosing_nm: Projection of a nosing past the riser below. [nm]
        open_sides: Sides that fall away and take a stair rail.
        bottom: What the bottom posts stand on.
        index: 0-based place in the request.
        flights: Risers of each flight, from the top; empty for one flight.
        landings: One between each two flights.
        handrails: Sides that take a handrail on brackets; None for its walled sides.
    """

    name: str
    total_rise_nm: int
    risers: int
    unit_run_nm: int
    width_nm: int
    nosing_nm: int = 0
    open_sides: frozenset[Side] = frozenset({Side.LEFT, Side.RIGHT})
    bottom: Footing = Footing.GRADE
    index: int = 0
    flights: tuple[int, ...] = ()
    landings: tuple[Landing, ...] = ()
    handrails: frozenset[Side] | None = None

    @property
    def unit_rise_nm(self) -> int:
        """Greatest riser, rounded up to the next nanometre so that a limit is judged exactly."""
        return -(-self.total_rise_nm // self.risers)


@record(frozen=True, slots=True)
class Conditions:
    """Temperatures of the metal. [K]"""

    installed_k: float
    lowest_k: float
    highest_k: float


@record(frozen=True, slots=True)
class Deck:
    """Everything taped on site.

    Attributes:
        conditions: When the railing goes in, and between what it then moves; None leaves the
            gaps at rail ends to the railing system.
    """

    levels: tuple[Level, ...]
    stairs: tuple[Stair, ...] = ()
    conditions: Conditions | None = None
