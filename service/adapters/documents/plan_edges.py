"""Edges of a plan: walls hatched, stretches without a guard dotted, what stands on them named."""

import math
from collections.abc import Iterable, Iterator

from service.adapters.documents.labels import SMALL, label
from service.adapters.documents.plan_dimensions import edge_dimension
from service.adapters.documents.plan_geometry import (
    EdgeLine,
    Vector,
    by_edge,
    moved_point,
    opening_span,
)
from service.adapters.documents.plan_page import PlanPage, on_paper, paper_unit, shortened
from service.adapters.documents.primitives import Group, Layer, Line, PaperPoint, Polyline, Shape
from service.domain.layout.deck import EdgeKind, Opening, OpeningKind
from service.domain.layout.records import Post

_HATCH = 2.6
_DOTS = 1.3  # from the deck's edge to the dots that mark it unguarded, on paper
_OBSTACLE = 2.0  # least half depth of an obstacle on paper: its true depth is not taped


def draw_edges(page: PlanPage, *, chords_too: bool = True) -> Iterator[Group]:
    """Draw every edge and its whole length; those of an arc's chords may be left out."""
    for chords in by_edge(page.lines).values():
        for i, line in enumerate(chords, start=1):
            told = chords_too or len(chords) == 1
            yield _edge(page, line, f"-{i}" if len(chords) > 1 else "", told=told)


def _edge(page: PlanPage, line: EdgeLine, chord: str, *, told: bool) -> Group:
    shapes: list[Shape] = []
    open_edge = line.edge.kind is EdgeKind.OPEN
    if not open_edge:
        layer = Layer.WALL if line.edge.kind is EdgeKind.WALL else Layer.EXISTING
        ends = page.view.at(line.start), page.view.at(line.end)
        shapes += _hatched(*ends, on_paper(line.outward), layer)
    elif not line.edge.guarded:
        shapes += _unguarded(page, line)
    said = f"{line.edge.kind}" + (" without a guard" if open_edge and not line.edge.guarded else "")
    return Group(
        f"edge-{page.level_keys[line.level.name]}-{line.edge.number}{chord}",
        f"Edge {line.edge.number} of level {line.level.name}: {said}, "
        f"{page.printed(line.length_nm)}",
        (*shapes, *(edge_dimension(page, line) if told else ())),
    )


def free_stretches(line: EdgeLine) -> Iterator[tuple[int, int]]:
    """Give the stretches of an edge that no opening takes. [nm]"""
    reached = 0
    for low, high in sorted(opening_span(line, opening) for opening in line.edge.openings):
        if low > reached:
            yield reached, low
        reached = max(reached, high)
    if reached < line.length_nm:
        yield reached, line.length_nm


def _unguarded(page: PlanPage, line: EdgeLine) -> Iterator[Shape]:
    off = _DOTS * page.view.scale.ratio * 1e6
    for stretch in free_stretches(line):
        ends = [moved_point(line.start, (line.along, at), (line.outward, off)) for at in stretch]
        yield Line(page.view.at(ends[0]), page.view.at(ends[1]), Layer.UNGUARDED)


def _hatched(start: PaperPoint, end: PaperPoint, away: Vector, layer: Layer) -> Iterator[Shape]:
    """Hatch the far side of an edge; an existing one gets a second line in place of hatching."""
    far = [(x + away[0] * _HATCH, y + away[1] * _HATCH) for x, y in (start, end)]
    yield Line(start, end, layer)
    yield Line(far[0], far[1], layer)
    if layer is Layer.EXISTING:
        return
    length = math.dist(start, end)
    strokes = max(1, min(400, int(length / _HATCH)))
    along = paper_unit(start, end)
    for i in range(strokes):
        foot = (i + 0.15) * length / strokes
        head = min(length, foot + _HATCH * 0.8)
        yield Line(
            (start[0] + along[0] * foot, start[1] + along[1] * foot),
            (far[0][0] + along[0] * head, far[0][1] + along[1] * head),
            layer,
        )


def draw_openings(page: PlanPage) -> Iterator[Group]:
    """Draw and name obstacles, and stairs that arrive from another plan."""
    drawn = {stair.name for stair in page.flights}
    for line in page.lines:
        for i, opening in enumerate(line.edge.openings, start=1):
            identity = f"opening-{page.level_keys[line.level.name]}-{line.edge.number}-{i}"
            width = page.printed(opening.width_nm)
            if opening.kind is OpeningKind.OBSTACLE:
                title = f"Obstacle {opening.name}: {width} wide"
                yield Group(identity, title, (*_obstacle(page, line, opening),))
            elif opening.kind is OpeningKind.ARRIVAL and opening.name not in drawn:
                title = f"Stair {opening.name} arrives from above"
                yield Group(identity, title, (*_arrival(page, line, opening),))


def existing_name(page: PlanPage, post: Post) -> str:
    """Give the caller's name of a post that stands already, "" for the end of an old guard."""
    reach = 2 * abs(page.layout.system.set_back_nm)
    for line in page.lines:
        if (line.level.name, line.edge.number) != (post.level, post.edge):
            continue
        x, y = post.at[0] - line.start[0], post.at[1] - line.start[1]
        along = x * line.along[0] + y * line.along[1]
        for opening in line.edge.openings:
            low, high = opening_span(line, opening)
            near = low - reach <= along <= high + reach
            if opening.kind is OpeningKind.EXISTING_POST and near:
                return shortened(opening.name)
    return ""


def _name(
    page: PlanPage, line: EdgeLine, opening: Opening, clear: float, words: str = ""
) -> Iterable[Shape]:
    low, high = opening_span(line, opening)
    at = page.view.at(moved_point(line.start, (line.along, (low + high) / 2)))
    text = words or shortened(opening.name)
    return label(page.taken, at, on_paper(line.outward), text, SMALL, clear=clear)


def _obstacle(page: PlanPage, line: EdgeLine, opening: Opening) -> Iterator[Shape]:
    """Draw an obstacle astride the edge as wide as it was taped, crossed out."""
    half = max(2 * page.layout.system.set_back_nm, _OBSTACLE * page.view.scale.ratio * 1e6)
    low, high = opening_span(line, opening)
    places = ((low, -half), (high, -half), (high, half), (low, half))
    corners = tuple(
        page.view.at(moved_point(line.start, (line.along, at), (line.outward, out)))
        for at, out in places
    )
    yield Polyline(corners, Layer.EXISTING, closed=True, blank=True)
    yield Line(corners[0], corners[2], Layer.WALL)
    yield Line(corners[1], corners[3], Layer.WALL)
    yield from _name(page, line, opening, page.view.scale.paper(half))


def _arrival(page: PlanPage, line: EdgeLine, opening: Opening) -> Iterator[Shape]:
    low, high = opening_span(line, opening)
    for at in (low, high):
        foot = moved_point(line.start, (line.along, at))
        ends = foot, moved_point(foot, (line.outward, opening.width_nm / 4))
        yield Line(page.view.at(ends[0]), page.view.at(ends[1]), Layer.STAIR)
    words = f"{shortened(opening.name)} from above"
    yield from _name(page, line, opening, 0.0, words)
