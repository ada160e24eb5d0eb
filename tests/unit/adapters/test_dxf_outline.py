"""Outlines from drawings written with ezdxf, and drawings that are none."""

import io
import math
import random
from collections.abc import Callable
from dataclasses import replace

import ezdxf
import pytest
from ezdxf.document import Drawing

from service.adapters.dxf_outline import MOST_ENTITIES, read_outline
from service.domain.errors import InvalidGeometry
from service.domain.layout.deck import Deck, Edge, EdgeKind, Level
from service.domain.layout.lay_out import lay_out
from service.domain.layout.survey_records import DrawnOutline
from service.domain.lengths import FOOT, INCH, MILLIMETRE, inches
from tests.unit.domain.layout.builders import RECTANGLE, SYSTEM, level

FEET = [(0, 0), (16, 0), (16, 12), (0, 12)]
WHERE = ("deck", "levels", 0, "outline")


def drawing(unit: int = 2, version: str = "R2010") -> Drawing:
    made = ezdxf.new(version)
    if version == "R12":
        made.header["$INSUNITS"] = 0
    else:
        made.header["$INSUNITS"] = unit
    return made


def text_of(made: Drawing) -> str:
    stream = io.StringIO()
    made.write(stream)
    return stream.getvalue()


def rectangle(made: Drawing, layer: str = "0", scale: float = 1.0) -> Drawing:
    points = [(x * scale, y * scale) for x, y in FEET]
    made.modelspace().add_lwpolyline(points, close=True, dxfattribs={"layer": layer})
    return made


def read(made: Drawing | str, layer: str = "", unit: str = "") -> DrawnOutline:
    text = made if isinstance(made, str) else text_of(made)
    return read_outline(text, layer=layer, unit=unit, where=WHERE)


@pytest.mark.parametrize(
    ("number", "scale"),
    [
        pytest.param(1, 12.0, id="inches"),
        pytest.param(2, 1.0, id="feet"),
        pytest.param(4, 304.8, id="millimetres"),
        pytest.param(5, 30.48, id="centimetres"),
        pytest.param(6, 0.3048, id="metres"),
        pytest.param(10, 1 / 3, id="yards"),
    ],
)
def test_the_drawing_s_unit_is_honoured(number: int, scale: float) -> None:
    outline = read(rectangle(drawing(number), scale=scale))
    for vertex, (x, y) in zip(outline.vertices, FEET, strict=True):
        # Twelve digits of a third of a foot: a nanometre or two.
        assert vertex == pytest.approx((x * FOOT, y * FOOT), abs=20 if number == 10 else 0)
    assert outline.sagittas_nm == ()


def test_a_drawn_deck_is_laid_out_as_the_same_deck_by_its_corners() -> None:
    by_corners = level(RECTANGLE, "ooow")
    drawn = replace(by_corners, outline=read(rectangle(drawing(1), scale=12.0)).vertices)
    assert lay_out(Deck((drawn,)), SYSTEM) == lay_out(Deck((by_corners,)), SYSTEM)


def test_an_older_polyline_with_a_unit_given() -> None:
    made = drawing(version="R12")
    made.modelspace().add_polyline2d(FEET, close=True)
    assert read(made, unit="ft").vertices == read(rectangle(drawing())).vertices


def test_a_polyline_closed_by_repeating_its_first_corner() -> None:
    made = drawing()
    made.modelspace().add_lwpolyline([*FEET, FEET[0]])
    assert read(made).vertices == read(rectangle(drawing())).vertices


@pytest.mark.parametrize("turned", [False, True], ids=["anticlockwise", "clockwise"])
@pytest.mark.parametrize("side", [1.0, -1.0], ids=["outwards", "inwards"])
def test_a_bulge_is_a_sagitta(side: float, turned: bool) -> None:
    """Bulge b over chord c rises b c / 2: 0.25 over 12 ft is 18 in (from the definition)."""
    corners = [(0, 0, 0), (16, 0, 0.25 * side), (16, 12, 0), (0, 12, 0)]
    if turned:
        corners = [(0, 12, 0), (16, 12, -0.25 * side), (16, 0, 0), (0, 0, 0)]
    made = drawing()
    made.modelspace().add_lwpolyline(corners, format="xyb", close=True)
    assert read(made).sagittas_nm == (0, round(side) * inches(18), 0, 0)


def test_a_drawn_arc_lies_where_the_drawing_puts_it() -> None:
    """Every post line vertex of the chords against ezdxf's own arc of that bulge."""
    made = drawing(1)
    corners = [(0, 0, 0), (192, 0, 0.3), (192, 144, 0), (0, 144, 0)]
    made.modelspace().add_lwpolyline(corners, format="xyb", close=True)
    outline = read(made)
    kinds = [EdgeKind.OPEN] * 3 + [EdgeKind.WALL]
    edges = tuple(
        Edge(kind, i + 1, sagitta_nm=sagitta)
        for i, (kind, sagitta) in enumerate(zip(kinds, outline.sagittas_nm, strict=True))
    )
    job = lay_out(Deck((Level("main", outline.vertices, edges),)), SYSTEM)
    centre, _, _, radius = ezdxf.math.bulge_to_arc((192, 0), (192, 144), 0.3)
    for x, y in job.deck.levels[0].outline[2:-2]:
        assert math.dist((x / INCH, y / INCH), centre) == pytest.approx(radius, abs=1e-6)


def test_an_outline_drawn_from_below() -> None:
    made = drawing()
    made.modelspace().add_lwpolyline(
        [(-x, y) for x, y in FEET], close=True, dxfattribs={"extrusion": (0, 0, -1)}
    )
    assert read(made).vertices == read(rectangle(drawing())).vertices


def test_the_layer_chooses() -> None:
    made = rectangle(rectangle(drawing(), "HOUSE", 2.0), "Deck")
    assert read(made, layer="deck").vertices[2] == (16 * FOOT, 12 * FOOT)


def two_on_a_layer() -> Drawing:
    return rectangle(rectangle(drawing(), "deck"), "deck", 2.0)


def many_entities() -> Drawing:
    made = rectangle(drawing())
    for i in range(MOST_ENTITIES):
        made.modelspace().add_point((i, 0))
    return made


def one(points: list[tuple[float, ...]], **attributes: object) -> Drawing:
    made = drawing()
    closed = attributes.pop("close", True)
    made.modelspace().add_lwpolyline(points, format="xyb", close=closed, dxfattribs=attributes)
    return made


REFUSALS: list[object] = [
    pytest.param(lambda: rectangle(drawing(0)), {}, "states no unit", "unit", id="unitless"),
    pytest.param(lambda: rectangle(drawing(21)), {}, "number 21", "dxf", id="survey feet"),
    pytest.param(
        lambda: rectangle(drawing(1)), {"unit": "mm"}, "states in .* mm", "unit", id="two units"
    ),
    pytest.param(drawing, {}, "no closed polyline", "dxf", id="an empty drawing"),
    pytest.param(
        lambda: one([(0, 0, 0), (9, 0, 0), (9, 9, 0)], close=False),
        {},
        "no closed polyline",
        "dxf",
        id="open",
    ),
    pytest.param(
        lambda: rectangle(drawing(), "deck"),
        {"layer": "house"},
        "no closed polyline on layer house",
        "layer",
        id="another layer",
    ),
    pytest.param(
        lambda: rectangle(rectangle(drawing(), "a"), "b"),
        {},
        "2 closed polylines",
        "dxf",
        id="two layers",
    ),
    pytest.param(two_on_a_layer, {"layer": "deck"}, "2 closed .* on layer deck", "dxf", id="two"),
    pytest.param(many_entities, {}, "more than 5,000 entities", "dxf", id="too many entities"),
    pytest.param(lambda: one([(0, 0, 0), (9, 0, 0)]), {}, "has 2 corners", "dxf", id="two corners"),
    pytest.param(
        lambda: one([(math.cos(i), math.sin(i), 0) for i in range(201)]),
        {},
        "has 201 corners",
        "dxf",
        id="too many corners",
    ),
    pytest.param(
        lambda: one([(0, 0, 1.5), (9, 0, 0), (9, 9, 0)]),
        {},
        "more than half a circle",
        "dxf",
        id="too long an arc",
    ),
    pytest.param(
        lambda: one([(1e9, 0, 0), (9, 0, 0), (9, 9, 0)]), {}, "out of reach", "dxf", id="far away"
    ),
    pytest.param(
        lambda: one([(0, 0, 0), (9, 0, 0), (9, 9, 0)], extrusion=(0, 1, 0)),
        {},
        "no closed polyline",
        "dxf",
        id="not in plan",
    ),
]


@pytest.mark.parametrize(("made", "asked", "problem", "member"), REFUSALS)
def test_a_drawing_without_one_outline(
    made: Callable[[], Drawing], asked: dict[str, str], problem: str, member: str
) -> None:
    with pytest.raises(InvalidGeometry, match=problem) as refused:
        read(made(), **asked)
    assert refused.value.where == (*WHERE, member)
    assert refused.value.advice


@pytest.mark.parametrize(
    "text",
    [
        "",
        "hello",
        "0\nSECTION\n",
        "0\nEOF\n",
        "999999999999999999999\nx\n",
        "0\nSECTION\n2\nENTITIES\n0\nLWPOLYLINE\n90\n999999999\n0\nENDSEC\n0\nEOF\n",
        "AutoCAD Binary DXF\r\n\x1a\x00",
        "\x00" * 100,
        "0\n" * 1000,
    ],
)
def test_what_is_no_drawing(text: str) -> None:
    with pytest.raises(InvalidGeometry):
        read(text, unit="mm")


def test_a_damaged_drawing_is_read_or_refused() -> None:
    """Lines lost, swapped or overwritten: nothing but a refusal may come out of the reader."""
    lines = text_of(rectangle(drawing())).splitlines()
    lottery = random.Random(7)
    outcomes = set()
    for _ in range(60):
        damaged = list(lines)
        for _ in range(lottery.randint(1, 4)):
            at = lottery.randrange(len(damaged))
            how = lottery.randrange(3)
            if how == 0:
                del damaged[at]
            elif how == 1:
                damaged[at] = lottery.choice(["nan", "1e400", "-1", "LWPOLYLINE", "\ud800", "0"])
            else:
                other = lottery.randrange(len(damaged))
                damaged[at], damaged[other] = damaged[other], damaged[at]
        try:
            outline = read("\n".join(damaged), unit="ft")
        except InvalidGeometry:
            outcomes.add("refused")
        else:
            outcomes.add("read")
            assert len(outline.vertices) >= 3
    assert outcomes == {"read", "refused"}


def test_not_a_number_is_no_corner() -> None:
    good = text_of(rectangle(drawing(4), scale=304.8))
    bad = good.replace("4876.8", "nan")
    assert bad != good
    with pytest.raises(InvalidGeometry):
        read(bad)
    assert read(good).vertices[1] == (4_876_800_000, 0)
    assert MILLIMETRE == 1_000_000
