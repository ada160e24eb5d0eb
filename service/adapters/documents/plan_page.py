"""What the drawing of one plan works with: its view, its edges, and what paper is taken."""

import math
import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from service.adapters.documents.extents import Box, bounds
from service.adapters.documents.labels import Taken, lettering
from service.adapters.documents.plan_geometry import (
    EdgeLine,
    Vector,
    by_edge,
    edge_lines,
    run_outward,
)
from service.adapters.documents.plan_groups import level_keys, stair_keys
from service.adapters.documents.primitives import (
    Dimension,
    PaperPoint,
)
from service.adapters.documents.scales import Printed, Scale, View
from service.domain.layout.deck import Level
from service.domain.layout.records import Layout, Post, Run, StairPlan
from service.domain.layout.system import Mount

_SAMPLE = 4.0  # lines on paper are kept clear of each other as boxes of this size


@dataclass(slots=True)
class PlanPage:
    """One plan on paper while it is being drawn.

    Attributes:
        levels: The levels in it: one of the deck with the landings below, or several.
        lines: The edges of all of them.
        taken: Where lettering stands.
        crossed: Where dimension lines and stairs lie, for choosing the side of a dimension.
        level_keys, stair_keys: What stands in the ids of their groups, by name.
        runs_at: Runs that meet each post, by the post's name.
    """

    layout: Layout
    levels: tuple[Level, ...]
    view: View
    printed: Printed
    lines: tuple[EdgeLine, ...]
    posts: dict[str, Post]
    runs: tuple[Run, ...]
    runs_at: dict[str, list[Run]]
    outward: dict[str, Vector]
    level_keys: dict[str, str]
    stair_keys: dict[str, str]
    taken: Taken = field(default_factory=Taken)
    crossed: Taken = field(default_factory=Taken)

    @property
    def flights(self) -> list[StairPlan]:
        """The flights that leave from its levels."""
        names = {level.name for level in self.levels}
        return [stair for stair in self.layout.stairs if stair.level in names]

    def fascia_reach(self) -> float:
        """Paper distance by which posts stand outside the deck's edge, 0 if they stand on it."""
        system = self.layout.system
        return self.view.scale.paper(system.set_back_nm) if system.mount is Mount.FASCIA else 0.0

    def inboard_reach(self) -> float:
        """Paper distance from the deck's edge in to the post line, 0 if it is outside."""
        system = self.layout.system
        return 0.0 if system.mount is Mount.FASCIA else self.view.scale.paper(system.set_back_nm)

    def cross(self, start: PaperPoint, end: PaperPoint) -> None:
        """Remember that a line lies here."""
        for box in sampled(start, end):
            self.crossed.add(box)

    def take(self, dimensions: Sequence[Dimension]) -> None:
        """Remember where dimensions lie and where their text stands."""
        self.taken.add_shapes(dimensions)
        for dimension in dimensions:
            self.cross(*dimension_line(dimension))

    def conflicts(self, dimensions: Sequence[Dimension]) -> tuple[int, int]:
        """Count which texts and how many stretches of line would meet what is drawn already."""
        texts = lines = 0
        for dimension in dimensions:
            texts += sum(not self.clear(bounds([text])) for text in lettering([dimension]))
            boxes = sampled(*dimension_line(dimension))
            lines += sum(not self.clear(box) for box in boxes)
        return texts, lines

    def clear(self, box: Box) -> bool:
        """Tell whether neither lettering nor a line lies in a box."""
        return self.taken.free(box) and self.crossed.free(box)

    def clearest(self, choices: Iterable[tuple[Dimension, ...]]) -> tuple[Dimension, ...]:
        """Take the choice of dimensions that meets least, the first among equals.

        Nothing is taken where every choice would be lettered over something and its text is
        longer than what it measures, or where a single dimension would stand on other lettering:
        such a plan is too crowded, and elevations give the length.
        """
        best: tuple[Dimension, ...] = ()
        least = (math.inf, math.inf)
        for choice in choices:
            count = self.conflicts(choice)
            if 4 * count[0] + count[1] < 4 * least[0] + least[1]:
                best, least = choice, count
            if not any(count):
                break
        if least[0] and (any(dimension.crowded for dimension in best) or self._unreadable(best)):
            return ()
        self.take(best)
        return best

    def _unreadable(self, choice: Sequence[Dimension]) -> bool:
        texts = lettering(choice)
        return len(choice) == 1 and not all(self.taken.free(bounds([text])) for text in texts)


def open_page(layout: Layout, levels: Sequence[Level], scale: Scale, printed: Printed) -> PlanPage:
    """Prepare the drawing of some levels at a scale."""
    lines = tuple(line for level in levels for line in edge_lines(level))
    names = {level.name for level in levels}
    runs = tuple(run for run in layout.runs if run.level in names)
    runs_at: dict[str, list[Run]] = defaultdict(list)
    for run in runs:
        for name in dict.fromkeys([run.start, *(bay.end for bay in run.bays), run.end]):
            runs_at[name].append(run)
    posts = {post.name: post for post in layout.posts}
    sorted_lines = by_edge(lines)
    outward = {run.name: run_outward(layout, sorted_lines, run) for run in runs}
    page = PlanPage(
        layout, tuple(levels), View(scale), printed, lines, posts, runs, runs_at, outward,
        level_keys(layout), stair_keys(layout),
    )  # fmt: skip
    for line in lines:
        page.cross(page.view.at(line.start), page.view.at(line.end))
    return page


def on_paper(direction: Vector) -> Vector:
    """Turn a plan direction into a paper direction."""
    return (direction[0], -direction[1])


def paper_unit(start: PaperPoint, end: PaperPoint) -> Vector:
    """Give the unit vector between two places on paper."""
    length = math.dist(start, end) or 1.0
    return ((end[0] - start[0]) / length, (end[1] - start[1]) / length)


def dimension_line(dimension: Dimension) -> tuple[PaperPoint, PaperPoint]:
    """Give the ends of the line that a dimension is written on."""
    along = paper_unit(dimension.start, dimension.end)
    dx, dy = -along[1] * dimension.offset, along[0] * dimension.offset
    (x1, y1), (x2, y2) = dimension.start, dimension.end
    return (x1 + dx, y1 + dy), (x2 + dx, y2 + dy)


def sampled(start: PaperPoint, end: PaperPoint) -> list[Box]:
    """Cover a line with small boxes, its very ends left out."""
    length = math.dist(start, end)
    count = max(1, min(200, int(length / _SAMPLE)))
    boxes = []
    for i in range(count):
        part = (i + 0.5) / count
        x, y = start[0] + (end[0] - start[0]) * part, start[1] + (end[1] - start[1]) * part
        boxes.append(Box(x - 0.8, y - 0.8, x + 0.8, y + 0.8))
    return boxes


def element_id(name: str) -> str:
    """Make a name of the layout fit for an XML id."""
    return re.sub(r"[^A-Za-z0-9_.-]", "-", name)


def shortened(name: str, longest: int = 28) -> str:
    """Cut a caller's name to what a label can hold; the group's title keeps all of it."""
    return name if len(name) <= longest else name[: longest - 1] + "…"
