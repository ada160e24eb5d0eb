"""What a railing is made of and fixed with, as far as a screening asks for it.

Every part may be missing; what depends on it is then not assessed, and says so. Lengths are whole
nanometres, as on every record.
"""

from dataclasses import dataclass
from enum import StrEnum

from service.domain.structure.materials import Alloy, LagThread, Species
from service.domain.structure.sections import Section

Hole = tuple[int, int]


class Direction(StrEnum):
    """Which way the load on the top of a guard acts; editions differ, so it is a setting."""

    ANY = "any"
    DOWN_AND_OUT = "down_and_out"


class PicketLoad(StrEnum):
    """How much of the load on infill one picket takes in the check that decides."""

    WHOLE = "whole"
    SHARE = "share"  # of its pitch, the load being on the gross area


class FastenerKind(StrEnum):
    """What holds a plate or a post."""

    LAG = "lag"
    BOLT = "bolt"
    RATED = "rated"  # by its maker's allowable tension


@dataclass(frozen=True, slots=True)
class Member:
    """A post, rail or picket.

    Attributes:
        welded: Whether its most bent section lies within 1 in of a weld.
    """

    section: Section
    alloy: Alloy
    welded: bool = False


@dataclass(frozen=True, slots=True)
class Plate:
    """A plate under a post; what is None is taken from the railing system's own base plate.

    Attributes:
        thickness_nm: [nm]
        width_nm: Along the guard. [nm]
        depth_nm: Square to the guard. [nm]
        holes: (n, 2) from the post's centre: along the guard, and inward. [nm]
    """

    thickness_nm: int
    width_nm: int | None = None
    depth_nm: int | None = None
    holes: tuple[Hole, ...] | None = None


@dataclass(frozen=True, slots=True)
class Fastener:
    """A lag screw, a through bolt, or a fastener rated by its maker.

    Attributes:
        diameter_nm: Nominal, of the shank. [nm]
        length_nm: Under the head. [nm]
        thread: Root and tip, from the library or the request; None if neither holds them.
        thread_nm: Length of its thread with the tip; None takes the least of the standard. [nm]
        washer_nm: Diameter of a bolt's washer on timber; None if not given. [nm]
        tension_n: Allowable tension of a rated fastener. [N]
        lateral_n: Allowable lateral load; None leaves the shear out. [N]
        rating: Where the rated values come from.
        edge_nm, end_nm: From the fastener to edge and end of its timber as built; None takes them
            from the blocking of the layout. [nm]
    """

    kind: FastenerKind
    diameter_nm: int
    length_nm: int = 0
    thread: LagThread | None = None
    thread_nm: int | None = None
    washer_nm: int | None = None
    tension_n: float | None = None
    lateral_n: float | None = None
    rating: str = ""
    edge_nm: int | None = None
    end_nm: int | None = None


@dataclass(frozen=True, slots=True)
class Timber:
    """The timber that holds.

    Attributes:
        wet: Over 19 % moisture in service, as uncovered outdoors.
        duration: Load duration factor C_D.
        decking_nm: Between plate and holding timber, it holds nothing; None takes the framing's
            of the post's level. [nm]
    """

    species: Species
    wet: bool = True
    duration: float = 1.0
    decking_nm: int | None = None


@dataclass(frozen=True, slots=True)
class SideMount:
    """Two rows of fasteners through a rim.

    Attributes:
        drop_nm: Walking surface down to the upper row. [nm]
        spacing_nm: Between the rows. [nm]
        per_row: Fasteners in each row.
        bracket_nm: Between a lag's head and the rim. [nm]
        rim_held: Whether the rim is held against rotation; None if not said.
    """

    drop_nm: int
    spacing_nm: int
    fastener: Fastener
    per_row: int = 1
    bracket_nm: int = 0
    rim_held: bool | None = None


@dataclass(frozen=True, slots=True)
class Wind:
    """Wind on the face of the guard.

    Attributes:
        speed_m_s: Basic speed. [m/s]
        exposure, topography, direction, gust: K_z, K_zt, K_d and G.
        coefficient: C_f; None takes the table by the solid share of the face.
    """

    speed_m_s: float
    exposure: float = 0.85
    topography: float = 1.0
    direction: float = 0.85
    gust: float = 0.85
    coefficient: float | None = None


@dataclass(frozen=True, slots=True)
class StructureSpec:
    """Everything a screening may ask for."""

    post: Member | None = None
    top_rail: Member | None = None
    picket: Member | None = None
    infill_rail: Member | None = None
    base: Plate | None = None
    fastener: Fastener | None = None
    slab_anchor: Fastener | None = None
    timber: Timber | None = None
    side_mount: SideMount | None = None
    wind: Wind | None = None
    load_direction: Direction = Direction.ANY
    picket_load: PicketLoad = PicketLoad.WHOLE
