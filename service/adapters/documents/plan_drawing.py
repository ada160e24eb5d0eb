"""The plan of levels as primitives: outline, edges, stairs, posts, runs and their dimensions."""

import itertools
import math
from collections.abc import Sequence

from service.adapters.documents.extents import Box
from service.adapters.documents.labels import MEDIUM, label
from service.adapters.documents.plan_dimensions import run_dimensions
from service.adapters.documents.plan_edges import draw_edges, draw_openings, existing_name
from service.adapters.documents.plan_gates import draw_gates
from service.adapters.documents.plan_geometry import Vector
from service.adapters.documents.plan_handrails import draw_handrails
from service.adapters.documents.plan_page import (
    PlanPage,
    element_id,
    on_paper,
    open_page,
)
from service.adapters.documents.plan_stairs import cover_stair, draw_stair
from service.adapters.documents.plan_surfaces import draw_surface
from service.adapters.documents.primitives import (
    Group,
    Layer,
    Polyline,
    Shape,
)
from service.adapters.documents.scales import Printed, Scale
from service.domain.layout.deck import Level
from service.domain.layout.records import Layout, Post, PostPosition, Run, Section

_SMALLEST_POST = 1.1  # drawn no smaller, so that it prints
_MOST_LABELS = 400  # of posts and of sections each; titles name every one


def draw_plan(
    layout: Layout,
    levels: Sequence[Level],
    scale: Scale,
    printed: Printed,
    *,
    numbered: bool = True,
) -> tuple[Group, ...]:
    """Draw levels that share a plan at a scale, with the plan's origin at the paper's origin.

    A plan that is only to give a view of the whole is drawn without numbers of posts and sections
    and without the dimensions of runs and of an arc's chords.

    Lettering is placed in order of rank: the levels' names, dimensions of runs, numbers of
    posts, names of stairs, dimensions of edges, names of gates and sections; each keeps clear of
    those before it.
    """
    page = open_page(layout, levels, scale, printed)
    names = {level.name for level in levels}
    posts = [post for post in layout.posts if post.level in names]
    runs = {run.name: run for run in page.runs}
    sections = [section for section in layout.sections if section.run in runs]
    for post in posts:
        x, y = page.view.at(post.at)
        page.taken.add(Box(x - 0.7, y - 0.7, x + 0.7, y + 0.7))
    for stair in page.flights:
        cover_stair(page, stair)
    surfaces = [draw_surface(page, level) for level in levels]
    dimensions = {run.name: run_dimensions(page, run) if numbered else () for run in page.runs}
    every = -(-len(posts) // _MOST_LABELS)
    post_groups = [
        _post(page, post, labelled=numbered and i % every == 0) for i, post in enumerate(posts)
    ]
    handrails = list(draw_handrails(page))
    stairs = [draw_stair(page, stair) for stair in page.flights]
    openings = list(draw_openings(page))
    edges = list(draw_edges(page, chords_too=numbered))
    gates = list(draw_gates(page))
    every = -(-len(sections) // _MOST_LABELS)
    section_groups = [
        _section(page, section, runs[section.run], labelled=numbered and i % every == 0)
        for i, section in enumerate(sections)
    ]
    return (
        *surfaces,
        *stairs,
        *handrails,
        *edges,
        *openings,
        *gates,
        *(_run(page, run, dimensions[run.name]) for run in page.runs),
        *section_groups,
        *post_groups,
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


def _of_a_pair(page: PlanPage, post: Post) -> bool:
    """Tell whether a corner has two posts: inside it their names would stand on each other."""
    alone = len(page.runs_at.get(post.name, ())) == 1
    return post.position is PostPosition.CORNER and alone


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
    known = existing_name(page, post) if existing else ""
    layer = Layer.STANDING_POST if existing else Layer.POST
    shapes: list[Shape] = [Polyline(square, layer, closed=True, solid=not existing, blank=existing)]
    if labelled:
        side = _label_side(page, post)
        clear = half - 0.5 + (0.0 if post.stair else page.fascia_reach())
        if _of_a_pair(page, post):
            side = (-side[0], -side[1])
            clear += page.inboard_reach() - page.fascia_reach()
        text = f"{post.name} {known}" if known else post.name
        shapes += label(page.taken, (x, y), side, text, clear=clear)
    who = f"{post.name}, {known}" if known else post.name
    title = f"Post {who}: {str(post.position).replace('_', ' ')} post on {post.surface}"
    height = "" if existing else f", {page.printed(post.height_nm)} high"
    return Group(element_id(post.name), title + height, tuple(shapes))
