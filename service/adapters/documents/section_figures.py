"""Elevations for pages: each section and handrail at the largest standard scale that fits."""

from collections.abc import Iterator
from dataclasses import dataclass

from service.adapters.documents.elevation_drawing import draw_elevation
from service.adapters.documents.elevation_page import Elevation
from service.adapters.documents.handrail_drawing import draw_handrail, walled_handrails
from service.adapters.documents.picture import Picture
from service.adapters.documents.plan_figures import shrunk
from service.adapters.documents.plan_geometry import by_edge, edge_lines, run_outward
from service.adapters.documents.scales import Printed, Scale, View, standard_scales
from service.adapters.documents.stair_elevation import draw_stair_elevation
from service.domain.layout.records import Layout

_LARGEST = 16


@dataclass(frozen=True, slots=True)
class SectionFigure:
    """An elevation to be put on a page; ``said`` is what the picture cannot show."""

    name: str
    picture: Picture
    scale: str
    magnified: float
    said: str
    title: str


def section_figures(
    layout: Layout, units: str, printed: Printed, room: tuple[float, float], magnified: float
) -> Iterator[SectionFigure]:
    """Draw every section in order.

    Args:
        layout: What to draw.
        units: "imperial" or "metric".
        printed: Prints a length for people.
        room: Width and height that a picture may take. [mm]
        magnified: How much larger lettering is printed than it is drawn.
    """
    runs = {run.name: run for run in layout.runs}
    posts = {post.name: post for post in layout.posts}
    lines = by_edge(line for level in layout.deck.levels for line in edge_lines(level))
    sides = {run.name: run_outward(layout, lines, run) for run in layout.runs}
    for section in layout.sections:
        run = runs[section.run]
        draw = draw_elevation if section.rake is None else draw_stair_elevation
        for scale in _scales(units):
            view = View(shrunk(scale, magnified))
            if view.scale.paper(section.length_nm) * magnified > room[0]:
                continue
            side = sides[section.run]
            page = Elevation(layout, section, run, view, printed, posts, side, lettered=False)
            picture = draw(page)
            if _fits(picture, room, magnified):
                break
        yield _figure(section.name, picture, scale, magnified)


def handrail_figures(
    layout: Layout, units: str, printed: Printed, room: tuple[float, float], magnified: float
) -> Iterator[SectionFigure]:
    """Draw every handrail that no section shows."""
    for rail in walled_handrails(layout):
        for scale in _scales(units):
            picture = draw_handrail(layout, rail, View(shrunk(scale, magnified)), printed)
            if picture is None or _fits(picture, room, magnified):
                break
        if picture is not None:
            yield _figure(rail.name, picture, scale, magnified)


def _scales(units: str) -> list[Scale]:
    return [scale for scale in standard_scales(units) if scale.ratio >= _LARGEST]


def _fits(picture: Picture, room: tuple[float, float], magnified: float) -> bool:
    return picture.box.width * magnified <= room[0] and picture.box.height * magnified <= room[1]


def _figure(name: str, picture: Picture, scale: Scale, magnified: float) -> SectionFigure:
    group = picture.groups[0]
    return SectionFigure(name, picture, scale.text, magnified, group.description, group.title)
