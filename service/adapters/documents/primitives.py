"""A drawing as plain primitives in paper millimetres, before anything is rendered.

Paper x runs to the right and paper y downwards, from the top left corner of the sheet. Every
shape carries a layer named by a trade term; line weights and colours belong to the renderer.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

PaperPoint = tuple[float, float]

# Width of an average character as a fraction of the letter height, on the generous side so that
# boxes computed here hold in any generic sans-serif (common practice, no source).
CHARACTER_WIDTH = 0.62
_BOLD_WIDTH = 0.70


class Layer(StrEnum):
    """What a shape depicts."""

    DECK = "deck"
    UNGUARDED = "unguarded"  # an open edge left without a guard
    WALL = "wall"
    EXISTING = "existing"
    STAIR = "stair"
    NOSING = "nosing"
    POST = "post"
    STANDING_POST = "standing-post"
    RAIL = "rail"
    PICKET = "picket"
    INFILL = "infill"  # cables, panels, rails in place of pickets
    REMOVED = "removed"
    SUPPORT = "support-leg"
    GATE = "gate"
    HANDRAIL = "handrail"
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
    return len(content) * height * (_BOLD_WIDTH if bold else CHARACTER_WIDTH)


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


def moved(group: Group, by: PaperPoint) -> Group:
    """Give the group displaced on paper."""
    return replace(group, offset=(group.offset[0] + by[0], group.offset[1] + by[1]))


def exploded(dimension: Dimension) -> Iterator[Line | Circle | Text]:
    """Give the lines, end dots and text that make up a dimension."""
    away, ends = _marks(dimension)
    side = math.copysign(1.0, dimension.offset)
    if abs(dimension.offset) > 2.0:
        for (x, y), mark in zip((dimension.start, dimension.end), ends, strict=True):
            near = (x + away[0] * side, y + away[1] * side)
            past = (mark[0] + away[0] * side, mark[1] + away[1] * side)
            yield Line(near, past, Layer.DIMENSION)
    yield Line(ends[0], ends[1], Layer.DIMENSION)
    for mark in ends:
        yield Circle(mark, 0.55, Layer.DIMENSION, solid=True)
    yield from dimension_text(dimension)


def _marks(dimension: Dimension) -> tuple[PaperPoint, tuple[PaperPoint, PaperPoint]]:
    """Give the direction away from what is measured, and the ends of the dimension line."""
    (x1, y1), (x2, y2) = dimension.start, dimension.end
    length = math.hypot(x2 - x1, y2 - y1)
    # to the right of travel, paper y being downwards
    away = ((y1 - y2) / length, (x2 - x1) / length) if length else (0.0, 1.0)
    dx, dy = away[0] * dimension.offset, away[1] * dimension.offset
    return away, ((x1 + dx, y1 + dy), (x2 + dx, y2 + dy))


def dimension_text(dimension: Dimension) -> tuple[Text, ...]:
    """Give the lettering of a dimension, if it has any."""
    if not dimension.text:
        return ()
    away, (start, end) = _marks(dimension)
    return (_dimension_text(dimension, start, end, (away[1], -away[0]), away),)


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
