"""A specification in common sizes and the loads of one code; the sizes are invented."""

from dataclasses import replace

from service.adapters.structure_library import open_structure_library
from service.domain.lengths import inches
from service.domain.structure.checks import Check, Unit
from service.domain.structure.loads import Load, LoadPlace
from service.domain.structure.sections import tube_section
from service.domain.structure.specification import (
    Fastener,
    FastenerKind,
    Member,
    Plate,
    SideMount,
    StructureSpec,
    Timber,
)

LIBRARY = open_structure_library()
ALLOY = LIBRARY.alloys["6063-T6"]
IN = 25.4
POUND = 4.4482216152605
TOP = Load(LoadPlace.TOP, Unit.FORCE, 200 * POUND, "200 lb", ("XYZ 1 load.guard.top",))
INFILL = Load(LoadPlace.INFILL, Unit.FORCE, 50 * POUND, "50 lb", ("XYZ 1 load.guard.infill",))
HANDRAIL = Load(LoadPlace.HANDRAIL, Unit.FORCE, 200 * POUND, "200 lb", ("XYZ 1 load.handrail",))
PLF = POUND / 304.8  # N/mm
LINE = Load(LoadPlace.TOP, Unit.LINE_LOAD, 50 * PLF, "50 plf", ("XYZ 1 load.guard.top.line",))
LOADS = (TOP, INFILL)

SQUARE = tuple(
    (x * inches(1, 3, 4), y * inches(1, 3, 4)) for x, y in ((-1, -1), (1, -1), (-1, 1), (1, 1))
)


def member(outward: float, other: float, wall: float, **changes: object) -> Member:
    """Give a tube by inches."""
    section = tube_section("tube", outward * IN, other * IN, wall * IN)
    return replace(Member(section, ALLOY), **changes)


LAG = Fastener(
    FastenerKind.LAG,
    inches(0, 3, 8),
    inches(6),
    LIBRARY.lag_threads[inches(0, 3, 8)],
    edge_nm=inches(0, 3, 4),
    end_nm=inches(2),
)
BOLT = Fastener(FastenerKind.BOLT, inches(0, 1, 2), inches(5), washer_nm=inches(2))
RATED = Fastener(FastenerKind.RATED, inches(0, 3, 8), tension_n=9_000.0, rating="A maker's report")
PINE = Timber(LIBRARY.species["Southern Pine"], decking_nm=inches(1))
SPEC = StructureSpec(
    post=member(2.5, 2.5, 0.125),
    top_rail=member(2, 1.5, 0.08),
    picket=member(0.75, 0.75, 0.055),
    base=Plate(inches(0, 3, 8), inches(5), inches(5), SQUARE),
    fastener=LAG,
    slab_anchor=RATED,
    timber=PINE,
)
SIDE = SideMount(inches(3), inches(5), BOLT, rim_held=True)


def named(checks: tuple[Check, ...], name: str, element: str = "") -> list[Check]:
    """Give the checks of one name, of one element if asked."""
    return [c for c in checks if c.name == name and (not element or element in c.elements)]


def the(checks: tuple[Check, ...], name: str, element: str = "") -> Check:
    """Give the one check of a name."""
    (found,) = named(checks, name, element)
    return found
