"""A drawing as plain primitives in paper millimetres, before anything is rendered.

Paper x runs to the right and paper y downwards, from the top left corner of the sheet. Every
shape carries a layer named by a trade term; line weights and colours belong to the renderer.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

PaperPoint = tuple[float, float]

# Width of an average character as a fraction of the letter height, on the generous side so that
# boxes computed here hold in any generic sans-serif (common practice, no source).
_CHARACTER_WIDTH = 0.62
_BOLD_WIDTH = 0.70


class Layer(StrEnum):
    """What a shape depicts."""

    DECK = "deck"
    WALL = "wall"
    EXISTING = "existing"
    STAIR = "stair"
    NOSING = "nosing"
    POST = "post"
    STANDING_POST = "standing-post"
    RAIL = "rail"
    PICKET = "picket"
    REMOVED = "removed"
    SUPPORT = "support-leg"
    GATE = "gate"
    DIMENSION = "dimension"
    MARK = "mark"  # arrows and crosses
    LETTERING = "lettering"
    FRAME = "frame"


class Anchor(StrEnum):
    """Which point of a text its position gives."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


def text_width(content: str, height: float, bold: bool = False) -> float:
    """Estimate generously how wide a text prints. [mm]"""
    return len(content) * height * (_BOLD_WIDTH if bold else _CHARACTER_WIDTH)


_BACK = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line."""

    start: PaperPoint
    end: PaperPoint
    layer: Layer


@dataclass(frozen=True, slots=True)
class Polyline:
    """Connected straight lines; a solid one is filled with ink, a blank one hides what is under."""

    points: tuple[PaperPoint, ...]
    layer: Layer
    closed: bool = False
    solid: bool = False
    blank: bool = False


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle, filled with ink if solid."""

    centre: PaperPoint
    radius: float
    layer: Layer
    solid: bool = False


@dataclass(frozen=True, slots=True)
class Text:
    """One line of lettering; ``at`` is on the base line.

    Attributes:
        height: Letter size. [mm]
        turn_deg: Rotation on paper, clockwise as seen. [deg]
        boxed: True clears the paper behind the letters.
    """

    at: PaperPoint
    content: str
    height: float
    anchor: Anchor = Anchor.START
    turn_deg: float = 0.0
    bold: bool = False
    boxed: bool = False

    @property
    def width(self) -> float:
        """Generous estimate of the printed width. [mm]"""
        return text_width(self.content, self.height, self.bold)


@dataclass(frozen=True, slots=True)
class Dimension:
    """A measured distance between two points, drawn on a line parallel to them.

    Attributes:
        offset: From the measured points to the dimension line, positive to the right of the
            direction start to end as seen on paper. [mm]
        lift: How many rows the text is raised away from the measured points.
        outside: None writes the text over the line; "start" or "end" writes it past that end.
    """

    start: PaperPoint
    end: PaperPoint
    offset: float
    text: str
    height: float = 3.0
    lift: int = 0
    outside: str | None = None

    @property
    def crowded(self) -> bool:
        """Whether the text is longer than what it measures."""
        return text_width(self.text, self.height) > math.dist(self.start, self.end)


Shape = Line | Polyline | Circle | Text | Dimension


@dataclass(frozen=True, slots=True)
class Group:
    """The shapes of one element, with what a screen reader or a layer list says about it."""

    id: str
    title: str
    shapes: tuple[Shape, ...]
    description: str = ""
    offset: PaperPoint = (0.0, 0.0)  # added to every place of its shapes


@dataclass(frozen=True, slots=True)
class Drawing:
    """Groups in drawing order on a sheet. [mm]"""

    width: float
    height: float
    title: str
    description: str
    groups: tuple[Group, ...]


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


def moved(group: Group, by: PaperPoint) -> Group:
    """Give the group displaced on paper."""
    return replace(group, offset=(group.offset[0] + by[0], group.offset[1] + by[1]))


def exploded(dimension: Dimension) -> Iterator[Line | Circle | Text]:
    """Give the lines, end dots and text that make up a dimension."""
    (x1, y1), (x2, y2) = dimension.start, dimension.end
    length = math.hypot(x2 - x1, y2 - y1)
    along = ((x2 - x1) / length, (y2 - y1) / length) if length else (1.0, 0.0)
    away = (-along[1], along[0])  # to the right of travel, paper y being downwards
    side = math.copysign(1.0, dimension.offset)
    ends = []
    for x, y in (dimension.start, dimension.end):
        mark = (x + away[0] * dimension.offset, y + away[1] * dimension.offset)
        if abs(dimension.offset) > 2.0:
            near = (x + away[0] * side * 1.0, y + away[1] * side * 1.0)
            past = (mark[0] + away[0] * side * 1.0, mark[1] + away[1] * side * 1.0)
            yield Line(near, past, Layer.DIMENSION)
        ends.append(mark)
    yield Line(ends[0], ends[1], Layer.DIMENSION)
    for mark in ends:
        yield Circle(mark, 0.55, Layer.DIMENSION, solid=True)
    yield _dimension_text(dimension, ends[0], ends[1], along, away)


def _dimension_text(
    dimension: Dimension,
    start: PaperPoint,
    end: PaperPoint,
    along: PaperPoint,
    away: PaperPoint,
) -> Text:
    """Place the text so that it reads from the bottom or from the right of the sheet."""
    turn_deg = math.degrees(math.atan2(along[1], along[0]))
    flipped = turn_deg > 89.0 or turn_deg < -91.0  # plumb ones read from the right
    if flipped:
        turn_deg += -180.0 if turn_deg > 0 else 180.0
    up = (away[0], away[1]) if flipped else (-away[0], -away[1])
    size = dimension.height
    away_sign = math.copysign(1.0, dimension.offset)
    upwards = up[0] * away[0] * away_sign + up[1] * away[1] * away_sign > 0
    rise = 0.35 * size + (1 if upwards else -1) * dimension.lift * size * 1.35
    if dimension.lift and not upwards:
        rise -= 0.25 * size
    if dimension.outside is None:
        x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        anchor = Anchor.MIDDLE
    else:
        at_start = dimension.outside == "start"
        gap = -1.6 if at_start else 1.6
        base = start if at_start else end
        x, y = base[0] + along[0] * gap, base[1] + along[1] * gap
        anchor = Anchor.END if at_start != flipped else Anchor.START
        rise = -0.35 * size
    at = (x + up[0] * rise, y + up[1] * rise)
    return Text(at, dimension.text, size, anchor, turn_deg, boxed=True)


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
    points = shape.points if isinstance(shape, Polyline) else corners(shape)
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def bounds(shapes: Iterable[Shape]) -> Box:
    """Give the smallest box that holds the shapes, lettering included; empty for none."""
    lefts, tops, rights, bottoms = zip(
        *[_reach(shape) for shape in shapes] or [(0.0, 0.0, 0.0, 0.0)], strict=True
    )
    return Box(min(lefts), min(tops), max(rights), max(bottoms))


def wrapped(content: str, height: float, width: float) -> tuple[str, ...]:
    """Break a sentence into lines that fit a width at a letter size. [mm]"""
    room = max(1, int(width / (height * _CHARACTER_WIDTH)))
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
