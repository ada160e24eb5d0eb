"""Measures of what a hand goes round: the cross-section of each handrail.

It is the section described beside the system. Where none is, the top rail that serves as handrail
is known by depth and width alone, so that perimeter and cross dimension lie between those of the
slimmest and the fullest section that fill this box.
"""

from collections.abc import Iterator

from service.domain.compliance.exact import Measured, Span, Surd
from service.domain.compliance.flights import Flight
from service.domain.compliance.inspection import Attribute, Inspection
from service.domain.compliance.measurement import Measurement
from service.domain.compliance.measures_handrail import AS_HANDRAIL, ON_BRACKETS, about
from service.domain.compliance.site import Grip, GripShape

GRIP_ATTRIBUTES = frozenset({"risers", "width", "total_rise", "perimeter", "shape"})
NOT_DESCRIBED = "The handrail's section is not described."


def grip_diameters(seen: Inspection) -> Iterator[Measurement]:
    """Give the outside diameter of a round handrail."""
    grip = seen.site.grip
    yield from _grips(seen, grip.diameter_nm if grip else None)


def grip_perimeters(seen: Inspection) -> Iterator[Measurement]:
    """Measure the perimeter of the rail a hand goes round, between its possible bounds."""
    yield from _grips(seen, _perimeter(seen))


def grip_cross_dimensions(seen: Inspection) -> Iterator[Measurement]:
    """Measure the greatest dimension across the rail, between its possible bounds."""
    rail, grip = seen.layout.system.top_rail, seen.site.grip
    across: Measured | None = grip.cross_nm if grip else None
    if across is None and not _bracketed_somewhere(seen):
        box = Surd(0, 1, rail.depth_nm**2 + rail.width_nm**2)
        across = Span(max(rail.depth_nm, rail.width_nm), box)
    yield from _grips(seen, across)


def grip_widths(seen: Inspection) -> Iterator[Measurement]:
    """Measure the width of the rail above any finger recess."""
    grip = seen.site.grip
    if grip and grip.recess:
        yield from _grips(seen, grip.recess.width_nm)
    else:
        whole = None if _bracketed_somewhere(seen) else seen.layout.system.top_rail.width_nm
        yield from _grips(seen, whole)


def grip_edges(seen: Inspection) -> Iterator[Measurement]:
    """Give the least rounding of the handrail's edges."""
    grip = seen.site.grip
    yield from _grips(seen, grip.edge_radius_nm if grip else None)


def recess_starts(seen: Inspection) -> Iterator[Measurement]:
    """Give how far below the top of the handrail its finger recess begins."""
    grip = seen.site.grip
    yield from _grips(seen, grip.recess.start_nm if grip and grip.recess else None)


def recess_depths(seen: Inspection) -> Iterator[Measurement]:
    """Give the depth of the finger recess: nothing where a described section has none."""
    grip = seen.site.grip
    if grip and not grip.recess:
        yield from _grips(seen, 0)
    else:
        yield from _grips(seen, grip.recess.depth_nm if grip and grip.recess else None)


def undescribed_grips(seen: Inspection) -> Iterator[Measurement]:
    """Name each handrail, for what its section does not tell."""
    yield from _grips(seen, None)


def _perimeter(seen: Inspection) -> Measured | None:
    """Give the perimeter, or bound that of any section that fills the rail's box.

    The slimmest section that touches all four sides of the box is a diamond, the fullest is the
    box itself.
    """
    grip = seen.site.grip
    if grip:
        return grip.perimeter_nm
    if _bracketed_somewhere(seen):
        return None
    depth, width = seen.layout.system.top_rail.depth_nm, seen.layout.system.top_rail.width_nm
    return Span(Surd(0, 1, 4 * (depth**2 + width**2)), 2 * (depth + width))


def _bracketed_somewhere(seen: Inspection) -> bool:
    return any(flight.bracketed for flight in seen.flights.values())


def _shape(seen: Inspection, grip: Grip | None) -> str | None:
    if grip:
        return "round" if grip.shape is GripShape.ROUND else "not round"
    rail = seen.layout.system.top_rail
    if _bracketed_somewhere(seen) or rail.depth_nm == rail.width_nm:
        return None
    return "not round"


def _grips(seen: Inspection, value: Measured | None) -> Iterator[Measurement]:
    shared: dict[str, Attribute] = {
        "perimeter": _perimeter(seen),
        "shape": _shape(seen, seen.site.grip),
    }
    for element, flight, note in _elements(seen):
        said = note if value is not None else f"{note} {NOT_DESCRIBED}"
        yield Measurement(element, value, {**about(flight), **shared}, said)


def _elements(seen: Inspection) -> Iterator[tuple[str, Flight, str]]:
    for flight in seen.flights.values():
        for handrail in flight.bracketed:
            yield handrail.name, flight, ON_BRACKETS
    for section, _run, flight in seen.stair_sections:
        if not flight.bracketed:
            yield section.name, flight, AS_HANDRAIL
