"""Cables, glass and infill rails as plain dicts."""

from service.api.presenters.values import Json, angle, decimal, length, lengths
from service.domain.layout.infill_records import CableRow, CableRun, Panel, PanelRow
from service.domain.layout.records import Infill, Rail, RailRow
from service.usecases.orders import Units


def present_infill(infill: Infill | None, units: Units) -> Json | None:
    """Give what fills a section instead of pickets, None if pickets do."""
    if isinstance(infill, CableRow):
        return _cables(infill, units)
    if isinstance(infill, PanelRow):
        return _panels(infill, units)
    if isinstance(infill, RailRow):
        return _rails(infill, units)
    return None


def present_cable_run(run: CableRun, units: Units) -> Json:
    """Give equal cables from one end post to the next."""
    return {
        "name": run.name,
        "start": run.start,
        "end": run.end,
        "passes": list(run.passes),
        "corners": run.corners,
        "sections": list(run.sections),
        "count": run.count,
        "length": length(run.length_nm, units),
        "raked": run.raked,
    }


def _rail(rail: Rail, units: Units) -> Json:
    return {
        "name": rail.name,
        "from_start": length(rail.start_nm, units),
        "length": length(rail.length_nm, units),
        "saw_deg": angle(rail.saw_deg),
    }


def _cables(row: CableRow, units: Units) -> Json:
    return {
        "kind": "cables",
        "diameter": length(row.diameter_nm, units),
        "heights": lengths(row.heights_nm, units),
        "gaps": lengths(row.gaps_nm, units),
        "spreaders": lengths(row.spreaders_nm, units),
        "spreader_length": length(row.spreader_length_nm, units),
    }


def _panels(row: PanelRow, units: Units) -> Json:
    return {
        "kind": "glass",
        "panels": [_panel(panel, units) for panel in row.panels],
        "gaps": lengths(row.gaps_nm, units),
        "thickness": length(row.thickness_nm, units),
        "low": length(row.low_nm, units),
    }


def _panel(panel: Panel, units: Units) -> Json:
    names = ("start_bottom", "start_top", "end_bottom", "end_top")
    corners = zip(names, panel.corners_nm, strict=True)
    return {
        "name": panel.name,
        "stock": panel.stock,
        "from_start": length(panel.start_nm, units),
        "width": length(panel.width_nm, units),
        "height": length(panel.height_nm, units),
        "corners": {name: length(height_nm, units) for name, height_nm in corners},
        "mass_kg": decimal(panel.mass_kg),
        "clamps": panel.clamps,
    }


def _rails(row: RailRow, units: Units) -> Json:
    return {
        "kind": "rails",
        "depth": length(row.depth_nm, units),
        "heights": lengths(row.heights_nm, units),
        "gaps": lengths(row.gaps_nm, units),
        "rails": [_rail(rail, units) for rail in row.rails],
    }
