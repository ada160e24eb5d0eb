"""Wind on a layout's guards as a load on their faces."""

from collections.abc import Iterator

from service.domain.layout.infill_records import CableRow, PanelRow
from service.domain.layout.records import Layout, RailRow, Section
from service.domain.structure.checks import Unit
from service.domain.structure.loads import Load, LoadPlace
from service.domain.structure.specification import Wind
from service.domain.structure.wind import (
    face_pressure_pa,
    force_coefficient,
    velocity_pressure_pa,
)

NO_COEFFICIENT = "structure.wind.coefficient: none is held for a face that is more than 0.7 solid"


def solidity(section: Section) -> float:
    """Give the solid share of the face between the rails, at most one.

    Example:
        >>> from types import SimpleNamespace as Drawn
        >>> row = Drawn(centres_nm=(60, 120, 180), width_nm=20)
        >>> solidity(Drawn(infill=None, pickets=row, clear_nm=240))
        0.25
    """
    infill, row = section.infill, section.pickets
    if isinstance(infill, PanelRow):
        part = sum(panel.width_nm for panel in infill.panels) / section.clear_nm
    elif isinstance(infill, CableRow):
        filled = len(infill.heights_nm) * infill.diameter_nm
        part = filled / (filled + sum(infill.gaps_nm))
    elif isinstance(infill, RailRow):
        filled = len(infill.heights_nm) * infill.depth_nm
        part = filled / (filled + sum(infill.gaps_nm))
    else:
        part = len(row.centres_nm) * row.width_nm / section.clear_nm
    return min(1.0, part)


def wind_load(layout: Layout, wind: Wind) -> Load | None:
    """Give the greatest service pressure on the whole face; None where no coefficient is held."""
    speed = velocity_pressure_pa(wind.speed_m_s, wind.exposure, wind.topography, wind.direction)
    pressures = list(_pressures(layout, wind, speed))
    if None in pressures or not pressures:
        return None
    worst = max(one for one in pressures if one is not None)
    text = f"wind of {worst:.0f} Pa on the whole face (0.6 of design)"
    return Load(LoadPlace.TOP, Unit.PRESSURE, worst, text)


def _pressures(layout: Layout, wind: Wind, speed: float) -> Iterator[float | None]:
    for section in layout.sections:
        part = solidity(section)
        coefficient = wind.coefficient or force_coefficient(part)
        if coefficient is None:
            yield None
        else:
            yield face_pressure_pa(speed, coefficient, part, wind.gust)
