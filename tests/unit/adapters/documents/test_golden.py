"""Byte for byte: one small drawing and one small quote, kept in tests/golden."""

import json
from pathlib import Path

from service.adapters.documents.drawing_svg import svg
from service.adapters.documents.primitives import (
    Anchor,
    Circle,
    Dimension,
    Drawing,
    Group,
    Layer,
    Line,
    Polyline,
    Text,
)
from service.adapters.documents.quote_text import render

GOLDEN = Path(__file__).parents[3] / "golden"


def small_drawing() -> Drawing:
    """One of each primitive."""
    return Drawing(
        60.0,
        40.0,
        "A <small> drawing",
        "One of each.",
        (
            Group("edge", "Edge & wall", (Line((1, 2), (30, 2), Layer.WALL),)),
            Group(
                "P1",
                "Post",
                (
                    Polyline(((4, 4), (6, 4), (6, 6.12345), (4, 6)), Layer.POST, True, True),
                    Polyline(((8, 4), (9, 5)), Layer.NOSING),
                    Polyline(((8, 8), (9, 8), (9, 9)), Layer.PICKET, closed=True, blank=True),
                    Circle((20, 20), 1.5, Layer.MARK),
                    Text((10, 10), "P1", 3.0, Anchor.MIDDLE, bold=True, boxed=True),
                ),
                "Said aloud.",
                (5.0, -0.0004),
            ),
            Group("D", "Dimension", (Dimension((5, 30), (45, 30), 5.0, "40 mm"),)),
        ),
    )


def test_svg_is_as_before():
    assert svg(small_drawing()) == (GOLDEN / "small_drawing.svg").read_text("utf-8")


def test_quote_text_is_as_before():
    quote = json.loads((GOLDEN / "small_quote.json").read_text("utf-8"))
    assert render(quote) == (GOLDEN / "small_quote.txt").read_text("utf-8")
