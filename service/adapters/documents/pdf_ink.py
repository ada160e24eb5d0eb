"""Draws the shapes of a drawing on a PDF page: the same shapes and pens as the SVG."""

import math
from collections.abc import Iterable
from itertools import groupby
from typing import Any

from service.adapters.documents.letters import POINT, face_of, printable, width
from service.adapters.documents.pens import PENS
from service.adapters.documents.primitives import (
    Anchor,
    Circle,
    Dimension,
    Group,
    Layer,
    Line,
    PaperPoint,
    Polyline,
    Text,
    exploded,
)

_BACK = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}
_ROUND = 0.5523  # of the radius: control points of a quarter circle (mathematics)
_CLEAR = 0.35  # paper cleared around boxed letters [mm]

Plain = Line | Polyline | Circle | Text


class Pencil:
    """Draws groups on a page, from millimetres down the paper to points up the page."""

    def __init__(self, canvas: Any, left: float, top: float, magnified: float) -> None:
        """Place the drawing's origin on the page.

        Args:
            canvas: Page being drawn.
            left: From the left of the page. [mm]
            top: From its foot, upwards. [mm]
            magnified: How much larger than drawn.
        """
        self._canvas = canvas
        self._code: list[str] = canvas._code
        self._left, self._top, self._by = left, top, magnified
        self._offset = (0.0, 0.0)

    def draw(self, groups: Iterable[Group]) -> None:
        """Draw groups in order."""
        self._code.append("q 0 G 1 j")
        for group in groups:
            self._offset = group.offset
            parts: list[Plain] = []
            for shape in group.shapes:
                parts += exploded(shape) if isinstance(shape, Dimension) else [shape]
            for key, shapes in groupby(parts, _key):
                self._drawn(key, shapes)
        self._code.append("Q")

    def _at(self, point: PaperPoint) -> tuple[float, float]:
        x, y = point[0] + self._offset[0], point[1] + self._offset[1]
        return (self._left + x * self._by) / POINT, (self._top - y * self._by) / POINT

    def _drawn(self, key: tuple[str, Layer, str], shapes: Iterable[Plain]) -> None:
        kind, layer, end = key
        if kind == "text":
            for shape in shapes:
                if isinstance(shape, Text):
                    self._letter(shape)
            return
        weight, dashes = PENS[layer]
        dashed = " ".join(f"{dash / POINT:.2f}" for dash in dashes)
        grey = {"S": "", "B": " 0 g", "W": " 1 g"}[end]
        self._code.append(f"{weight / POINT:.3f} w [{dashed}] 0 d{grey}")
        ended = "S" if end == "S" else "B"
        for shape in shapes:  # one by one: each hides what is under it
            self._code.append(f"{self._path(shape)} {ended}")

    def _path(self, shape: Plain) -> str:
        if isinstance(shape, Circle):
            return self._circle(shape)
        if isinstance(shape, Line):
            return self._strokes((shape.start, shape.end), closed=False)
        if isinstance(shape, Polyline):
            return self._strokes(shape.points, closed=shape.closed)
        raise TypeError(f"{type(shape).__name__} is no path")

    def _strokes(self, points: Iterable[PaperPoint], *, closed: bool) -> str:
        written = [
            f"{x:.2f} {y:.2f} {'l' if i else 'm'}" for i, (x, y) in enumerate(map(self._at, points))
        ]
        return " ".join([*written, "h"] if closed else written)

    def _circle(self, shape: Circle) -> str:
        x, y = self._at(shape.centre)
        r = shape.radius * self._by / POINT
        path = [f"{x + r:.2f} {y:.2f} m"]
        for quarter in range(4):
            c, s = ((1, 0), (0, 1), (-1, 0), (0, -1))[quarter]
            k = _ROUND
            corners = ((c - s * k, s + c * k), (c * k - s, s * k + c), (-s, c))
            path.append(" ".join(f"{x + u * r:.2f} {y + v * r:.2f}" for u, v in corners) + " c")
        return " ".join(path)

    def _letter(self, text: Text) -> None:
        content = printable(text.content)
        size = text.height * self._by / POINT
        face = face_of(text.bold)
        long = width(content, size, face)
        x, y = self._at(text.at)
        turn = math.radians(-text.turn_deg)
        c, s = math.cos(turn), math.sin(turn)
        self._code.append(f"q {c:.5f} {s:.5f} {-s:.5f} {c:.5f} {x:.2f} {y:.2f} cm")
        left = -_BACK[text.anchor] * long
        if text.boxed:
            low, high = -0.22 * text.height * self._by, 0.76 * text.height * self._by
            box = (left - _CLEAR, low, long + 2 * _CLEAR, high - low)
            self._code.append("1 g " + " ".join(f"{side / POINT:.2f}" for side in box) + " re f")
        self._code.append("0 g")
        self._canvas.setFont(str(face), size)
        self._canvas.drawString(left / POINT, 0, content)
        self._code.append("Q")


def _key(shape: Plain) -> tuple[str, Layer, str]:
    """Neighbouring shapes with equal keys take one pen: S strokes, B fills black, W white."""
    if isinstance(shape, Text):
        return ("text", Layer.LETTERING, "")
    if isinstance(shape, Line):
        return ("path", shape.layer, "S")
    if isinstance(shape, Circle):
        return ("path", shape.layer, "B" if shape.solid else "S")
    return ("path", shape.layer, "B" if shape.solid else "W" if shape.blank else "S")
