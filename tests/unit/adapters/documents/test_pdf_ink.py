"""Shapes on a PDF page: where they stand, how large, with which pen."""

import math

import pytest

from service.adapters.documents.letters import POINT, width
from service.adapters.documents.pdf_ink import Pencil
from service.adapters.documents.primitives import (
    Anchor,
    Circle,
    Dimension,
    Group,
    Layer,
    Line,
    Polyline,
    Text,
)


class Canvas:
    """Keeps what is drawn."""

    def __init__(self):
        self._code = []
        self.letters = []

    def setFont(self, face, size):  # noqa: N802 - reportlab's name
        self.font = (face, size)

    def drawString(self, x, y, text):  # noqa: N802 - reportlab's name
        self.letters.append((x, y, text, *self.font))


def drawn(*shapes, left=18.0, top=200.0, magnified=1.0, offset=(0.0, 0.0)):
    canvas = Canvas()
    group = Group("g", "Group", shapes, offset=offset)
    Pencil(canvas, left, top, magnified).draw([group])
    return canvas


def points(code):
    """Give the points of a path in millimetres."""
    words = code.split()
    return [
        (float(words[i - 2]) * POINT, float(words[i - 1]) * POINT)
        for i, word in enumerate(words)
        if word in ("m", "l")
    ]


def test_a_line_stands_where_the_paper_has_it_from_the_top():
    canvas = drawn(Line((10.0, 20.0), (30.0, 20.0), Layer.WALL))
    assert points(canvas._code[-2]) == [
        pytest.approx((28.0, 180.0), abs=0.01), pytest.approx((48.0, 180.0), abs=0.01)
    ]  # fmt: skip
    assert canvas._code[0].startswith("q")
    assert canvas._code[-1] == "Q"


def test_a_group_is_moved_and_magnified():
    canvas = drawn(Line((10.0, 20.0), (30.0, 20.0), Layer.WALL), magnified=2.0, offset=(5.0, 1.0))
    assert points(canvas._code[-2]) == [
        pytest.approx((18.0 + 30.0, 200.0 - 42.0), abs=0.01),
        pytest.approx((18.0 + 70.0, 200.0 - 42.0), abs=0.01),
    ]


@pytest.mark.parametrize(
    ("shape", "pen", "end"),
    [
        (Polyline(((0, 0), (1, 0), (1, 1)), Layer.POST, closed=True, solid=True), "0 g", "h B"),
        (Polyline(((0, 0), (1, 0), (1, 1)), Layer.POST, closed=True, blank=True), "1 g", "h B"),
        (Polyline(((0, 0), (1, 0), (1, 1)), Layer.RAIL), "0 d", "l S"),
        (Circle((0, 0), 1.0, Layer.MARK), "0 d", "c S"),
        (Line((0, 0), (1, 0), Layer.NOSING), "[11.34 2.27 2.27 2.27] 0 d", "l S"),
    ],
)
def test_each_shape_takes_its_pen(shape, pen, end):
    code = drawn(shape)._code
    assert code[1].endswith(pen)
    assert code[2].endswith(end)


def test_line_weights_stay_the_same_however_large_the_drawing():
    small, large = (drawn(Line((0, 0), (9, 0), Layer.DECK), magnified=by)._code for by in (1, 3))
    assert small[1] == large[1]
    assert float(small[1].split()[0]) * POINT == pytest.approx(0.6, abs=0.001)


@pytest.mark.parametrize(
    ("anchor", "back"), [(Anchor.START, 0.0), (Anchor.MIDDLE, 0.5), (Anchor.END, 1.0)]
)
def test_letters_stand_before_on_or_after_their_place(anchor, back):
    canvas = drawn(Text((10.0, 20.0), "S12", 3.0, anchor), magnified=1.25)
    ((x, y, text, face, size),) = canvas.letters
    assert (text, y) == ("S12", 0)
    assert size * POINT == pytest.approx(3.75)
    assert x * POINT == pytest.approx(-back * width("S12", size))
    assert "Bold" not in face


def test_letters_turn_clockwise_on_paper():
    canvas = drawn(Text((10.0, 20.0), "R1", 3.0, turn_deg=-90.0))
    matrix = next(code for code in canvas._code if code.endswith("cm"))
    a, b, c, d, *_ = map(float, matrix.removeprefix("q ").removesuffix(" cm").split())
    assert (a, b, c, d) == pytest.approx((0.0, 1.0, -1.0, 0.0), abs=1e-4), "reads upwards"


def test_boxed_letters_clear_the_paper_behind_them():
    canvas = drawn(Text((10.0, 20.0), "7", 3.0, boxed=True))
    box = next(code for code in canvas._code if " re f" in code)
    left, _low, wide, high, *_ = map(float, box.removeprefix("1 g ").removesuffix(" re f").split())
    assert left < 0 < left + wide
    assert wide * POINT > width("7", 3.0 / POINT)
    assert high * POINT > 2.5


def test_a_dimension_measures_what_it_says():
    canvas = drawn(Dimension((5, 30), (45, 30), 5.0, "40 mm"))
    lines = [points(code) for code in canvas._code if code.endswith("l S")]
    assert any(math.dist(*ends) == pytest.approx(40.0, abs=0.01) for ends in lines)
    assert [text for *_, text, _face, _size in canvas.letters] == ["40 mm"]
