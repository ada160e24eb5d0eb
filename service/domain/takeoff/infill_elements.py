"""Cables, glass and infill rails of a layout as things that part rules count."""

from collections.abc import Iterator
from math import hypot

from service.domain.layout.infill_records import CableRow, Panel, PanelRow
from service.domain.layout.records import Layout, RailRow, Section
from service.domain.lengths import mm_of, snap_mm
from service.domain.takeoff.kinds import Element, yes


def infill_elements(section: Section) -> Iterator[Element]:
    """List the infill of a section but pickets, and what holds it; cables run past sections."""
    raked, name, row = {"raked": yes(section.rake is not None)}, section.name, section.infill
    if isinstance(row, RailRow):
        for rail in row.rails:
            yield Element("infill_rail", rail.name, raked, 1, rail.length_nm, name, rail)
    elif isinstance(row, PanelRow):
        for panel in row.panels:
            yield _panel(panel, raked, name)
        clamps = sum(panel.clamps for panel in row.panels)
        if clamps:
            yield Element("clamp", f"{name} clamps", raked, clamps, section=name)
    elif isinstance(row, CableRow) and row.spreaders_nm:
        count, length_nm = len(row.spreaders_nm), row.spreader_length_nm
        yield Element("spreader", f"{name} spreaders", raked, count, length_nm, name)


def _panel(panel: Panel, raked: dict[str, str], section: str) -> Element:
    edge_mm = hypot(mm_of(panel.width_nm), mm_of(panel.drop_nm))
    perimeter_nm = 2 * (panel.height_nm + snap_mm(edge_mm))
    return Element(
        "panel",
        panel.name,
        {"stock": panel.stock, **raked},
        length_nm=panel.width_nm,
        section=section,
        area_nm2=panel.width_nm * panel.height_nm,
        others={"height": panel.height_nm, "perimeter": perimeter_nm},
    )


def cable_elements(layout: Layout) -> Iterator[Element]:
    """List the cables of a layout, their ends, and the posts they pass."""
    for run in layout.cables:
        raked = {"raked": yes(run.raked)}
        yield Element("cable", f"{run.name} cables", raked, run.count, run.length_nm)
        yield Element("cable_end", f"{run.name} ends", raked, 2 * run.count)
        for at, posts in (("corner", run.corners), ("line", len(run.passes) - run.corners)):
            if posts:
                attributes = {"at": at, **raked}
                yield Element("cable_pass", f"{run.name} past {at}", attributes, posts * run.count)


def posts_of_cables(layout: Layout) -> dict[str, str]:
    """Tell the posts that take the pull of cables ("end") from those that they pass ("pass")."""
    passed = {post: "pass" for run in layout.cables for post in run.passes}
    return passed | {post: "end" for run in layout.cables for post in (run.start, run.end)}
