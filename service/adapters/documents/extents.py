"""How much paper shapes and lettering take up. [mm]"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from service.adapters.documents.primitives import (
    CHARACTER_WIDTH,
    Anchor,
    Circle,
    Dimension,
    Line,
    PaperPoint,
    Polyline,
    Shape,
    Text,
    exploded,
)

_BACK = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle on paper. [mm]"""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """Left to right. [mm]"""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Top to bottom. [mm]"""
        return self.bottom - self.top


def corners(text: Text) -> tuple[PaperPoint, ...]:
    """Give the four corners of the box a text takes up, allowing for its rotation."""
    back = _BACK[text.anchor] * text.width
    turn = math.radians(text.turn_deg)
    cosine, sine = math.cos(turn), math.sin(turn)
    flat = (
        (-back, 0.22 * text.height),
        (text.width - back, 0.22 * text.height),
        (text.width - back, -0.78 * text.height),
        (-back, -0.78 * text.height),
    )
    return tuple(
        (text.at[0] + x * cosine - y * sine, text.at[1] + x * sine + y * cosine) for x, y in flat
    )


def _reach(shape: Shape) -> tuple[float, float, float, float]:
    """Give the left, top, right and bottom of a shape."""
    if isinstance(shape, Polyline):
        return _around(shape.points)
    if isinstance(shape, Line):
        (x1, y1), (x2, y2) = shape.start, shape.end
        return min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2)
    if isinstance(shape, Text) and not shape.turn_deg:
        width = shape.width
        left = shape.at[0] - _BACK[shape.anchor] * width
        y, size = shape.at[1], shape.height
        return left, y - 0.78 * size, left + width, y + 0.22 * size
    if isinstance(shape, Circle):
        (x, y), radius = shape.centre, shape.radius
        return x - radius, y - radius, x + radius, y + radius
    if isinstance(shape, Dimension):
        box = bounds(exploded(shape))
        return box.left, box.top, box.right, box.bottom
    return _around(corners(shape))


def _around(points: Iterable[PaperPoint]) -> tuple[float, float, float, float]:
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def bounds(shapes: Iterable[Shape]) -> Box:
    """Give the smallest box that holds the shapes, lettering included; empty for none."""
    lefts, tops, rights, bottoms = zip(
        *[_reach(shape) for shape in shapes] or [(0.0, 0.0, 0.0, 0.0)], strict=True
    )
    return Box(min(lefts), min(tops), max(rights), max(bottoms))


def joined(one: Box, other: Box) -> Box:
    """Give the smallest box that holds two."""
    return Box(
        min(one.left, other.left),
        min(one.top, other.top),
        max(one.right, other.right),
        max(one.bottom, other.bottom),
    )


def wrapped(content: str, height: float, width: float) -> tuple[str, ...]:
    """Break a sentence into lines that fit a width at a letter size. [mm]"""
    room = max(1, int(width / (height * CHARACTER_WIDTH)))
    lines: list[str] = []
    for word in content.split(" "):
        while len(word) > room:
            lines.append(word[:room])
            word = word[room:]
        if lines and len(lines[-1]) + 1 + len(word) <= room:
            lines[-1] += " " + word
        else:
            lines.append(word)
    return tuple(lines)
