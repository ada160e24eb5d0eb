"""Dimensions of a plan: bays and runs beside the guard, whole edges beyond them."""

import math
from collections.abc import Sequence

from service.adapters.documents.extents import bounds
from service.adapters.documents.labels import SMALL, chain, label, lettering
from service.adapters.documents.plan_geometry import EdgeLine, Vector, depth_beyond
from service.adapters.documents.plan_page import PlanPage, on_paper, paper_unit
from service.adapters.documents.primitives import Dimension, PaperPoint, Text, text_width
from service.domain.layout.records import Run

ROW = 7.5  # distance of dimension rows on paper
_INSIDE = 10.5  # inboard rows stay clear of post and section names
_WIDE_STAIR = 20.0  # on paper: dimensions fit between its sides, clear of the arrow


def run_dimensions(page: PlanPage, run: Run) -> tuple[Dimension | Text, ...]:
    """Dimension a run's bays centre to centre and the run whole, where it meets least."""
    names = [run.bays[0].start, *(bay.end for bay in run.bays)] if run.bays else []
    points = [page.view.at(page.posts[name].at) for name in names]
    if len(points) < 2:
        return ()
    outward = on_paper(page.outward[run.name])
    along = paper_unit(points[0], points[-1])
    out = 1.0 if along[0] * outward[1] - along[1] * outward[0] > 0 else -1.0

    def rows(side: float, first: float) -> tuple[Dimension, ...]:
        whole = f"{run.name}: {page.printed(run.length_nm)}"
        if len(run.bays) == 1:
            return chain(points, [whole], side * first)
        bays = chain(points, [page.printed(bay.span_nm) for bay in run.bays], side * first)
        lifted = max(dimension.lift for dimension in bays) * SMALL * 1.35
        return bays + chain([points[0], points[-1]], [whole], side * (first + ROW + lifted))

    if not run.stair:
        return page.clearest((rows(out, ROW + page.inboard_reach()), rows(-out, _INSIDE)))
    words = f"{run.name}: {page.printed(run.length_nm)}"
    short = text_width(words, SMALL) > math.dist(points[0], points[-1])
    if short or _stair_width(page, run) < _WIDE_STAIR:
        return _beside_stair(page, points, outward, words)
    inside = rows(-out, 3.6)
    if not all(page.taken.free(bounds([text])) for text in lettering(inside)):
        return _beside_stair(page, points, outward, words)
    page.take(inside)
    return inside


def _beside_stair(
    page: PlanPage, points: Sequence[PaperPoint], outward: Vector, words: str
) -> tuple[Text, ...]:
    """Letter the length of a stair's run near its foot, where a dimension has no room."""
    (x1, y1), (x2, y2) = points[0], points[-1]
    foot = (x1 + (x2 - x1) * 0.8, y1 + (y2 - y1) * 0.8)
    rail = page.view.scale.paper(page.layout.system.stair_set_back_nm)
    return label(page.taken, foot, outward, words, clear=rail)


def _stair_width(page: PlanPage, run: Run) -> float:
    stair = next((stair for stair in page.layout.stairs if stair.name == run.stair), None)
    return page.view.scale.paper(math.dist(*stair.top)) if stair else 0.0


def edge_dimension(page: PlanPage, line: EdgeLine) -> tuple[Dimension, ...]:
    """Dimension a whole edge, beyond the rows of its runs, its stairs and their landings."""
    if line.level.landing_of is not None and not _tells_a_landing(line):
        return ()
    runs = [
        run for run in page.runs
        if (run.level, run.edge) == (line.level.name, line.edge.number) and not run.stair
    ]  # fmt: skip
    rows = max((2 if len(run.bays) > 1 else 1 for run in runs), default=0)
    reach = page.view.scale.paper(depth_beyond(page.layout, line))
    ends = [page.view.at(line.start), page.view.at(line.end)]
    text = [page.printed(line.length_nm)]
    turned = line.along[1] * line.outward[0] - line.along[0] * line.outward[1]
    out = 1.0 if turned > 0 else -1.0
    nearest = rows * ROW + 8.0 + page.fascia_reach()
    beyond = [reach + 12.0, reach + 17.0, reach + 22.0] if reach else []
    farthest = _farthest(page, line)
    if farthest > reach:
        beyond += [farthest + 12.0, farthest + 20.0, farthest + 28.0]
    inside = -_INSIDE - page.inboard_reach()
    offsets = [*beyond, nearest, nearest + ROW, inside, inside - ROW]
    return page.clearest(chain(ends, text, out * offset) for offset in offsets)


def _tells_a_landing(line: EdgeLine) -> bool:
    """Tell whether an edge is the first free one of its length: a landing is a rectangle."""
    free = [edge.number for edge in line.level.edges if not edge.openings]
    number = line.edge.number
    return number in free and not any(n < number and (number - n) % 2 == 0 for n in free)


def _farthest(page: PlanPage, line: EdgeLine) -> float:
    """Give how far other levels of the plan lie beyond a deck's edge, 0 without any. [mm]"""
    if line.level.landing_of is not None:
        return 0.0
    x, y = line.start
    off = [
        (at[0] - x) * line.outward[0] + (at[1] - y) * line.outward[1]
        for level in page.levels if level is not line.level for at in level.outline
    ]  # fmt: skip
    return page.view.scale.paper(max(off, default=0))
