"""Stairs of a plan."""

from collections.abc import Iterator

from service.adapters.documents.extents import bounds
from service.adapters.documents.labels import SMALL, beside, place
from service.adapters.documents.plan_geometry import Vector, moved_point, stair_depth_nm
from service.adapters.documents.plan_page import PlanPage, on_paper, paper_unit, shortened
from service.adapters.documents.primitives import (
    Anchor,
    Circle,
    Group,
    Layer,
    Line,
    PaperPoint,
    Polyline,
    Shape,
    Text,
)
from service.domain.layout.deck import Level, OpeningKind
from service.domain.layout.records import StairPlan

_BESIDE = (0.5, 0.3, 0.7, 0.12, 0.88)  # parts of the way down where a name may stand beside

_NEAR = 9.0  # a name farther off is led to [mm]
_ON = 1.6  # a leader begins so far within the flight [mm]


def cover_stair(page: PlanPage, stair: StairPlan) -> None:
    """Remember where a stair lies, so that dimensions of other elements keep off it."""
    left, right = stair.top
    depth = stair_depth_nm(page.layout, stair)
    for i in range(1, 8):
        part = 0.2 + 0.6 * (i - 1) / 6
        foot = (left[0] + (right[0] - left[0]) * part, left[1] + (right[1] - left[1]) * part)
        page.cross(page.view.at(foot), page.view.at(moved_point(foot, (stair.down, depth))))


def draw_stair(page: PlanPage, stair: StairPlan) -> Group:
    """Draw a stair's nosings and sides, the way down, and its name beyond or beside it."""
    record = next((s for s in page.layout.deck.stairs if s.name == stair.name), None)
    risers = record.risers if record else 1
    left, right = stair.top
    depth = stair_depth_nm(page.layout, stair)
    shapes: list[Shape] = []
    for i in range(risers):
        going = depth * i / max(1, risers - 1)
        ends = [page.view.at(moved_point(end, (stair.down, going))) for end in (left, right)]
        shapes.append(Line(ends[0], ends[1], Layer.STAIR))
    for corner in stair.top:
        foot = page.view.at(moved_point(corner, (stair.down, depth)))
        shapes.append(Line(page.view.at(corner), foot, Layer.STAIR))
    shapes += _arrow(page, stair, depth)
    words = f"{shortened(stair.name)}, {risers} risers down"
    shapes += _name(page, stair, depth, words)
    title = f"Stair {stair.name}: {risers} risers, down from level {stair.level}"
    return Group(f"stair-{page.stair_keys[stair.name]}", title, tuple(shapes))


def _name(page: PlanPage, stair: StairPlan, depth_nm: int, words: str) -> tuple[Shape, ...]:
    """Letter a stair beyond its foot, or beside it where the foot meets a level of the plan."""
    if not any(_arrives(level, stair) for level in page.levels):
        foot = page.view.at(moved_point(_middle(stair), (stair.down, depth_nm)))
        toward = on_paper(stair.down)
        gaps = (2.6, 6.0, 9.5, 13.0, 17.0)
        texts = [beside(foot, toward, gap, words, SMALL) for gap in gaps]
        clear = [text for text in texts if page.clear(bounds([text]))]
        below = place(page.taken, [*clear, *texts])
        if below:
            return below
    pairs = list(_beside(page, stair, depth_nm, words))
    for free in (page.clear, page.taken.free):
        for pair, leader in pairs:
            if all(free(bounds([text])) for text in pair):
                page.taken.add_shapes(pair)
                return (*leader, *pair)
    return ()


def _arrives(level: Level, stair: StairPlan) -> bool:
    return any(
        (opening.kind, opening.name) == (OpeningKind.ARRIVAL, stair.name)
        for edge in level.edges
        for opening in edge.openings
    )


def _beside(
    page: PlanPage, stair: StairPlan, depth_nm: int, words: str
) -> Iterator[tuple[tuple[Text, ...], tuple[Shape, ...]]]:
    """Give places for the name in two lines on either side, and what leads to far ones."""
    name, _, down = words.rpartition(", ")
    widest = max((name, down), key=len)
    left, right = stair.top
    for gap in (3.0, 9.0, 15.0, 22.0, 30.0):
        for part in _BESIDE:
            for corner, other in ((left, right), (right, left)):
                at = page.view.at(moved_point(corner, (stair.down, depth_nm * part)))
                away = paper_unit(page.view.at(other), page.view.at(corner))
                x, y = beside(at, away, gap + 2.0 * abs(away[1]), widest, SMALL).at
                pair = tuple(
                    Text((x, y + lift), line, SMALL, Anchor.MIDDLE, boxed=True)
                    for line, lift in ((name, -2.0), (down, 2.0))
                )
                yield pair, _leader(at, away, gap) if gap > _NEAR else ()


def _leader(at: PaperPoint, away: PaperPoint, gap: float) -> tuple[Shape, ...]:
    """Lead from a dot on a flight to the name that stands off its side."""
    dot = (at[0] - away[0] * _ON, at[1] - away[1] * _ON)
    end = (at[0] + away[0] * (gap - 0.6), at[1] + away[1] * (gap - 0.6))
    return (Line(dot, end, Layer.DIMENSION), Circle(dot, 0.55, Layer.DIMENSION, solid=True))


def _middle(stair: StairPlan) -> Vector:
    (x1, y1), (x2, y2) = stair.top
    return ((x1 + x2) / 2, (y1 + y2) / 2)


def _arrow(page: PlanPage, stair: StairPlan, depth_nm: int) -> Iterator[Shape]:
    """An arrow along the middle of a flight; it points down the stair."""
    reach = max(float(depth_nm), stair.rake.run_nm / 2)
    tail = page.view.at(moved_point(_middle(stair), (stair.down, reach * 0.08)))
    head = page.view.at(moved_point(_middle(stair), (stair.down, reach * 0.94)))
    along = paper_unit(tail, head)
    yield Line(tail, head, Layer.MARK)
    size = 2.6
    neck = (head[0] - along[0] * size, head[1] - along[1] * size)
    barbs = [
        (neck[0] + side * along[1] * size * 0.36, neck[1] - side * along[0] * size * 0.36)
        for side in (1, -1)
    ]
    yield Polyline((head, *barbs), Layer.MARK, closed=True, solid=True)
