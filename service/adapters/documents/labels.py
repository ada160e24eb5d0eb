"""Lettering that keeps clear of other lettering, and chains of dimensions."""

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from service.adapters.documents.extents import Box, bounds
from service.adapters.documents.primitives import (
    Anchor,
    Dimension,
    PaperPoint,
    Shape,
    Text,
    dimension_text,
    text_width,
)

SMALL = 3.0  # letter heights on paper: read at arm's length on a full-size sheet
MEDIUM = 3.6
LARGE = 5.0
_CELL = 12.0


@dataclass(slots=True)
class Taken:
    """Boxes on paper that lettering must keep clear of, looked up by cell."""

    cells: dict[tuple[int, int], list[Box]] = field(default_factory=lambda: defaultdict(list))

    @staticmethod
    def _reach(box: Box) -> tuple[range, range]:
        """Give the columns and rows of the cells that a box meets."""
        return (
            range(math.floor(box.left / _CELL), math.floor(box.right / _CELL) + 1),
            range(math.floor(box.top / _CELL), math.floor(box.bottom / _CELL) + 1),
        )

    def add(self, box: Box) -> None:
        """Remember a box."""
        columns, rows = self._reach(box)
        for column in columns:
            for row in rows:
                self.cells[column, row].append(box)

    def add_shapes(self, shapes: Iterable[Shape]) -> None:
        """Remember where the lettering of these shapes stands."""
        for text in lettering(shapes):
            self.add(bounds([text]))

    def free(self, box: Box) -> bool:
        """Tell whether a box overlaps none that is remembered."""
        columns, rows = self._reach(box)
        for column in columns:
            for row in rows:
                for other in self.cells.get((column, row), ()):
                    if (
                        box.left < other.right
                        and other.left < box.right
                        and box.top < other.bottom
                        and other.top < box.bottom
                    ):
                        return False
        return True


def lettering(shapes: Iterable[Shape]) -> Iterator[Text]:
    """Give the texts among shapes, those of dimensions included."""
    for shape in shapes:
        if isinstance(shape, Text):
            yield shape
        elif isinstance(shape, Dimension):
            yield from dimension_text(shape)


def beside(
    at: PaperPoint, toward: PaperPoint, gap: float, content: str, size: float, bold: bool = False
) -> Text:
    """Give upright text whose box stands off a point by a gap in a direction. [mm]"""
    width = text_width(content, size, bold)
    reach = gap + abs(toward[0]) * width / 2 + abs(toward[1]) * size / 2
    at = (at[0] + toward[0] * reach, at[1] + toward[1] * reach + 0.28 * size)
    return Text(at, content, size, Anchor.MIDDLE, bold=bold, boxed=True)


def place(taken: Taken, candidates: Iterable[Text]) -> tuple[Text, ...]:
    """Take the first candidate that is free and remember its box; nothing if none is."""
    for text in candidates:
        box = bounds([text])
        if taken.free(box):
            taken.add(box)
            return (text,)
    return ()


def label(
    taken: Taken,
    at: PaperPoint,
    toward: PaperPoint,
    content: str,
    size: float = SMALL,
    bold: bool = False,
    clear: float = 0.0,
) -> tuple[Text, ...]:
    """Letter a point on its preferred side, else farther off, else on another side, else not.

    Args:
        taken: What the label keeps clear of, and is added to.
        at: The point.
        toward: Preferred direction from the point, a unit vector.
        content: The lettering.
        size: Letter height. [mm]
        bold: Heavy letters.
        clear: What else to stay clear of between the point and the label. [mm]
    """
    tried = (beside(at, way, gap + clear, content, size, bold) for way, gap in _tries(toward))
    return place(taken, tried)


def _tries(toward: PaperPoint) -> Iterator[tuple[PaperPoint, float]]:
    """Give directions and gaps in order of preference."""
    x, y = toward
    for gap in (1.6, 3.2, 5.2, 7.2):
        yield toward, gap
    ways = [(-x, -y), (y, -x), (-y, x)]
    ways += [(c * x - s * y, s * x + c * y) for c, s in ((0.707, 0.707), (0.707, -0.707))]
    for gaps in ((1.6, 3.2), (5.5, 8.0), (11.0, 14.5)):
        for way in (*ways, toward):
            for gap in gaps:
                yield way, gap


def chain(
    points: Sequence[PaperPoint], texts: Sequence[str], offset: float, size: float = SMALL
) -> tuple[Dimension, ...]:
    r"""Dimension the stretches between neighbouring points of a straight line.

    Neighbours of equal text become one dimension ("5 x 6' 0\"") where the text has no room;
    what still has none is raised by a row.
    """
    spans = [(i, i + 1, text) for i, text in enumerate(texts)]
    if any(not _has_room(points[i], points[j], text, size) for i, j, text in spans):
        spans = _merged(spans)
    made: list[Dimension] = []
    for first, last, text in spans:
        count = last - first
        content = f"{count} × {text}" if count > 1 else text
        crowded = not _has_room(points[first], points[last], content, size)
        lift = (1 if not made or made[-1].lift != 1 else 2) if crowded else 0
        made.append(Dimension(points[first], points[last], offset, content, size, lift))
    return tuple(made)


def _merged(spans: Sequence[tuple[int, int, str]]) -> list[tuple[int, int, str]]:
    merged: list[tuple[int, int, str]] = []
    for first, last, text in spans:
        if merged and merged[-1][2] == text:
            merged[-1] = (merged[-1][0], last, text)
        else:
            merged.append((first, last, text))
    return merged


def _has_room(start: PaperPoint, end: PaperPoint, text: str, size: float) -> bool:
    return text_width(text, size) + 1.5 <= math.dist(start, end)
