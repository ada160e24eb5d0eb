"""The plan of a level as primitives: outline, edges, stairs, posts, runs and their dimensions."""

import itertools
import math
from collections.abc import Iterator

from service.adapters.documents.extents import Box
from service.adapters.documents.labels import LARGE, MEDIUM, label
from service.adapters.documents.plan_dimensions import edge_dimension, run_dimensions
from service.adapters.documents.plan_gates import draw_gates
from service.adapters.documents.plan_geometry import EdgeLine, Vector, roomiest_point
from service.adapters.documents.plan_page import (
    PlanPage,
    element_id,
    on_paper,
    open_page,
    paper_unit,
    shortened,
)
from service.adapters.documents.plan_stairs import cover_stair, draw_stair
from service.adapters.documents.primitives import (
    Group,
    Layer,
    Line,
    PaperPoint,
    Polyline,
    Shape,
)
from service.adapters.documents.scales import Printed, Scale
from service.domain.layout.deck import EdgeKind, Level
from service.domain.layout.records import Layout, Post, PostPosition, Run, Section

_HATCH = 2.6
_SMALLEST_POST = 1.1  # drawn no smaller, so that it prints
_MOST_LABELS = 400  # of posts and of sections each; titles name every one


def draw_plan(layout: Layout, level: Level, scale: Scale, printed: Printed) -> tuple[Group, ...]:
    """Draw a level at a scale, with the plan's origin at the paper's origin.

    Lettering is placed in order of rank: the level's name, dimensions of runs, numbers of
    posts, names of stairs, dimensions of edges, names of gates and sections; each keeps clear of
    those before it.
    """
    page = open_page(layout, level, scale, printed)
    posts = [post for post in layout.posts if post.level == level.name]
    runs = {run.name: run for run in page.runs}
    sections = [section for section in layout.sections if section.run in runs]
    flights = [stair for stair in layout.stairs if stair.level == level.name]
    for post in posts:
        x, y = page.view.at(post.at)
        page.taken.add(Box(x - 0.7, y - 0.7, x + 0.7, y + 0.7))
    for stair in flights:
        cover_stair(page, stair)
    deck = _deck(page)
    dimensions = {run.name: run_dimensions(page, run) for run in page.runs}
    every = -(-len(posts) // _MOST_LABELS)
    post_groups = [_post(page, post, labelled=i % every == 0) for i, post in enumerate(posts)]
    stairs = [draw_stair(page, stair) for stair in flights]
    edges = [_edge(page, line) for line in page.lines]
    gates = list(draw_gates(page))
    every = -(-len(sections) // _MOST_LABELS)
    section_groups = [
        _section(page, section, runs[section.run], labelled=i % every == 0)
        for i, section in enumerate(sections)
    ]
    return (
        deck,
        *stairs,
        *edges,
        *gates,
        *(_run(page, run, dimensions[run.name]) for run in page.runs),
        *section_groups,
        *post_groups,
    )


def _deck(page: PlanPage) -> Group:
    outline = tuple(page.view.at(vertex) for vertex in page.level.outline)
    at = page.view.at(roomiest_point(page.level.outline))
    name = shortened(page.level.name)
    text = label(page.taken, at, (0.0, 1.0), name, LARGE, bold=True)
    shape = Polyline(outline, Layer.DECK, closed=True)
    return Group(f"level-{page.level.index + 1}", f"Level {page.level.name}", (shape, *text))


def _edge(page: PlanPage, line: EdgeLine) -> Group:
    shapes: list[Shape] = []
    if line.edge.kind is not EdgeKind.OPEN:
        layer = Layer.WALL if line.edge.kind is EdgeKind.WALL else Layer.EXISTING
        ends = page.view.at(line.start), page.view.at(line.end)
        shapes += _hatched(*ends, on_paper(line.outward), layer)
    length = page.printed(line.length_nm)
    chords = [one for one in page.lines if one.edge.number == line.edge.number]
    chord = f"-{chords.index(line) + 1}" if len(chords) > 1 else ""
    return Group(
        f"edge-{page.level.index + 1}-{line.edge.number}{chord}",
        f"Edge {line.edge.number} of level {page.level.name}: {line.edge.kind}, {length}",
        (*shapes, *edge_dimension(page, line)),
    )


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


def _run(page: PlanPage, run: Run, dimensions: tuple[Shape, ...]) -> Group:
    where = f"stair {run.stair}, {run.side} side" if run.stair else f"edge {run.edge}"
    title = (
        f"Run {run.name} on {where} of level {run.level}, {run.start} to {run.end}, "
        f"{page.printed(run.length_nm)} centre to centre"
    )
    return Group(element_id(run.name), title, dimensions)


def _section(page: PlanPage, section: Section, run: Run, *, labelled: bool) -> Group:
    names = [section.start.post, *section.line_posts, section.end.post]
    points = [page.view.at(page.posts[name].at) for name in names]
    shapes: list[Shape] = [Polyline(tuple(points), Layer.RAIL)]
    if labelled:
        bays = list(itertools.pairwise(points))
        (x1, y1), (x2, y2) = max(bays, key=lambda bay: round(math.dist(*bay), 2))
        part = 0.62 if run.stair else 0.5
        middle = (x1 + (x2 - x1) * part, y1 + (y2 - y1) * part)
        dx, dy = on_paper(page.outward[run.name])
        toward, clear = ((-dx, -dy), page.fascia_reach())
        if run.stair:
            rail = page.view.scale.paper(page.layout.system.stair_set_back_nm)
            toward, clear = (dx, dy), rail
        shapes += label(page.taken, middle, toward, section.name, MEDIUM, True, clear)
    title = f"Section {section.name} of run {run.name}, {section.start.post} to {section.end.post}"
    return Group(f"section-{element_id(section.name)}", title, tuple(shapes))


def _label_side(page: PlanPage, post: Post) -> Vector:
    """Give the paper direction from a post into the deck, or off a stair."""
    stair = next((s for s in page.layout.stairs if s.name == post.stair), None)
    if stair is not None and post.position is PostPosition.STAIR_BOTTOM:
        return on_paper(stair.down)
    x = y = 0.0
    for run in page.runs_at.get(post.name, ()):
        if run.stair and post.position is not PostPosition.STAIR_LINE:
            continue
        dx, dy = page.outward[run.name]
        sign = 1.0 if run.stair else -1.0
        x, y = x + sign * dx, y + sign * dy
    length = math.hypot(x, y)
    if length > 0.1:
        return on_paper((x / length, y / length))
    return on_paper((-stair.down[0], -stair.down[1])) if stair else (0.0, -1.0)


def _post(page: PlanPage, post: Post, *, labelled: bool) -> Group:
    half = max(page.view.scale.paper(page.layout.system.post_width_nm), _SMALLEST_POST) / 2
    x, y = page.view.at(post.at)
    turn = math.radians(-post.axis_deg)
    across = (half * math.cos(turn), half * math.sin(turn))
    up = (-across[1], across[0])
    square = tuple(
        (x + i * across[0] + j * up[0], y + i * across[1] + j * up[1])
        for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    )
    existing = post.position is PostPosition.EXISTING
    layer = Layer.STANDING_POST if existing else Layer.POST
    shapes: list[Shape] = [Polyline(square, layer, closed=True, solid=not existing, blank=existing)]
    if labelled:
        clear = half - 0.5 + (0.0 if post.stair else page.fascia_reach())
        side = _label_side(page, post)
        shapes += label(page.taken, (x, y), side, post.name, clear=clear)
    title = f"Post {post.name}: {str(post.position).replace('_', ' ')} post on {post.surface}"
    height = "" if existing else f", {page.printed(post.height_nm)} high"
    return Group(element_id(post.name), title + height, tuple(shapes))
