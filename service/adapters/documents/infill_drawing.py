"""Cables, panels and rails between the rails of a section, level or raked."""

from collections.abc import Callable, Iterator

from service.adapters.documents.primitives import Layer, Line, PaperPoint, Polyline, Shape
from service.adapters.documents.scales import Printed
from service.domain.layout.infill_records import CableRow, PanelRow
from service.domain.layout.records import RailRow, Section

Over = Callable[[float, float], PaperPoint]


def infill_shapes(
    section: Section,
    faces: tuple[float, float],
    between: tuple[float, float],
    over: Over,
    upright: float,
) -> Iterator[Shape]:
    """Draw what fills a section in place of pickets.

    Args:
        section: The section.
        faces: Where the faces of its end posts stand, from the start post's centre. [nm]
        between: Heights of the bottom rail's top and the top rail's underside. [nm]
        over: Gives the place on paper of a distance along the section and a height over the
            walking surface, on a stair over the nosing line. [nm]
        upright: Plumb size of a part that is 1 thick square to the slope.
    """
    infill = section.infill
    if isinstance(infill, CableRow):
        for height in infill.heights_nm:
            yield Line(over(faces[0], height), over(faces[1], height), Layer.INFILL)
        for at in infill.spreaders_nm:
            yield Line(over(at, between[0]), over(at, between[1]), Layer.SUPPORT)
    elif isinstance(infill, PanelRow):
        for panel in infill.panels:
            left, right = panel.start_nm, panel.start_nm + panel.width_nm
            low, high = infill.low_nm, infill.low_nm + panel.height_nm
            corners = (over(left, low), over(right, low), over(right, high), over(left, high))
            yield Polyline(corners, Layer.INFILL, closed=True)
    elif isinstance(infill, RailRow):
        half = infill.depth_nm * upright / 2
        for height in infill.heights_nm:
            under, over_it = height - half, height + half
            ends = [(faces[0], under), (faces[1], under), (faces[1], over_it), (faces[0], over_it)]
            yield Polyline(tuple(over(x, z) for x, z in ends), Layer.INFILL, closed=True)


def infill_fact(section: Section, printed: Printed) -> str:
    """Say in a sentence what fills a section in place of pickets, "" for pickets."""
    infill = section.infill
    if isinstance(infill, CableRow):
        count = len(infill.spreaders_nm)
        held = f", {count} spreader{'s' if count > 1 else ''}" if count else ""
        return f"{len(infill.heights_nm)} cables of {printed(infill.diameter_nm)}{held}."
    if isinstance(infill, PanelRow):
        sizes = [
            f"{printed(panel.width_nm)} wide, {printed(panel.height_nm)} high"
            for panel in infill.panels
        ]
        panels = "1 panel" if len(sizes) == 1 else f"{len(sizes)} panels"
        return f"{panels}: {'; '.join(dict.fromkeys(sizes))}."
    if isinstance(infill, RailRow):
        return f"{len(infill.heights_nm)} rails between top and bottom rail."
    return ""
