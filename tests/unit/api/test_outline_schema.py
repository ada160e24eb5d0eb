"""Outlines, edges, gates and spans as requests give them."""

import copy
import io
import json
from pathlib import Path

import ezdxf
import pytest
from marshmallow import ValidationError

from service.adapters.dxf_outline import read_outline
from service.api.schemas.outlines import drawings_read_by
from service.api.schemas.requests import LAYOUT_REQUEST
from service.domain.errors import InvalidGeometry, UnknownReference
from service.domain.layout.deck import EdgeKind, OpeningKind, Side, Swing
from service.domain.layout.lay_out import lay_out
from service.domain.layout.survey_records import SurveyMethod
from service.domain.layout.system import CornerPosts, GateParts
from service.domain.lengths import FOOT, inches

BODY = json.loads(
    (Path(__file__).parents[3] / "openapi" / "examples" / "layout-request.json").read_text("utf-8")
)
CORNERS = {"A": (0, 0), "B": (16, 0), "C": (16, 12), "D": (0, 12)}
VERTICES = [{"x": f"{x} ft", "y": f"{y} ft"} for x, y in CORNERS.values()]
OPEN = {"kind": "open", "fall_height": "4 ft"}
EDGES = [OPEN, OPEN, OPEN, {"kind": "wall"}]
TAPES = [
    {"from": a, "to": b, "length": length}
    for a, b, length in [
        ("A", "B", "16 ft"),
        ("B", "C", "12 ft"),
        ("C", "D", "16 ft"),
        ("D", "A", "12 ft"),
        ("A", "C", "20 ft"),
        ("B", "D", "20 ft"),
    ]
]


def body(outline, edges=EDGES, **system):
    """Give a request for one level; members of its system may be changed."""
    made = copy.deepcopy(BODY)
    made["deck"] = {"levels": [{"name": "main", "outline": outline, "edges": edges}]}
    made["system"] |= system
    return made


def level_of(*given, **system):
    with drawings_read_by(read_outline):
        return LAYOUT_REQUEST.load(body(*given, **system)).deck.levels[0]


def edge_of(edge):
    return level_of({"vertices": VERTICES}, [edge, *EDGES[1:]]).edges[0]


def system_of(**members):
    return LAYOUT_REQUEST.load(body({"vertices": VERTICES}, **members)).system


def complaint(made, *place):
    with pytest.raises(ValidationError) as refusal:
        LAYOUT_REQUEST.load(made)
    messages = refusal.value.messages
    for step in place:
        messages = messages[step]
    return messages[0]


def dxf(unit=2, **points):
    drawing = ezdxf.new("R2010")
    drawing.header["$INSUNITS"] = unit
    corners = points.get("corners", [(x, y, 0) for x, y in CORNERS.values()])
    drawing.modelspace().add_lwpolyline(corners, format="xyb", close=True)
    stream = io.StringIO()
    drawing.write(stream)
    return stream.getvalue()


def test_four_ways_to_give_one_outline():
    ways = [
        {"vertices": VERTICES},
        {"sides": [{"length": f"{n} ft", "turn": 90} for n in (16, 12, 16, 12)]},
        {"corners": list("ABCD"), "tapes": TAPES},
        {"dxf": dxf()},
        {"dxf": dxf(0), "unit": "ft", "layer": "0"},
    ]
    expected = [(0, 0), (16 * FOOT, 0), (16 * FOOT, 12 * FOOT), (0, 12 * FOOT)]
    for way in ways:
        for corner, at in zip(level_of(way).outline, expected, strict=True):
            assert corner == pytest.approx(at, abs=2)


def test_tapes_in_feet_or_millimetres_lay_out_the_same():
    metric = [
        {**tape, "length": f"{int(tape['length'].split()[0]) * 304.8:g} mm"} for tape in TAPES
    ]
    orders = [
        LAYOUT_REQUEST.load(body({"corners": list("ABCD"), "tapes": tapes}))
        for tapes in (TAPES, metric)
    ]
    one, other = (lay_out(order.deck, order.system) for order in orders)
    assert one == other


def test_reports_come_with_readings_and_not_with_corners():
    assert level_of({"corners": list("ABCD"), "tapes": TAPES}).survey.method is SurveyMethod.TAPES
    sides = {"sides": [{"length": f"{n} ft", "turn": 90} for n in (16, 12, 16, 12)]}
    report = level_of(sides).survey
    assert (report.method, report.misclosure_nm, report.precision) == (SurveyMethod.SIDES, 0, None)
    assert level_of({"vertices": VERTICES}).survey is None


def test_a_closing_side_need_not_be_taped():
    sides = [{"length": f"{n} ft", "turn": 90} for n in (16, 12, 16)]
    place = level_of({"sides": sides, "closing_side": True})
    for corner, at in zip(place.outline, level_of({"vertices": VERTICES}).outline, strict=True):
        assert corner == pytest.approx(at, abs=2)
    assert place.survey is None
    with pytest.raises(ValidationError, match="4 edges for 3 sides"):
        level_of({"sides": sides})


def test_an_outline_closed_twice_needs_no_edge_more():
    place = level_of({"vertices": [*VERTICES, VERTICES[0]]})
    assert (len(place.outline), len(place.edges)) == (5, 4)


@pytest.mark.parametrize(
    ("outline", "place", "message"),
    [
        pytest.param(
            {"vertices": VERTICES[:3]}, ("edges",), "4 edges for 3 vertices", id="an edge more"
        ),
        pytest.param(
            {"corners": list("ABCDE"), "tapes": TAPES},
            ("edges",),
            "4 edges for 5 corners",
            id="a corner more",
        ),
        pytest.param(
            {"corners": list("ABCA"), "tapes": TAPES},
            ("outline", "corners", 3),
            "'A' is taken",
            id="a corner twice",
        ),
        pytest.param({"corners": list("ABCD")}, ("outline",), "exactly one of", id="no tapes"),
        pytest.param({"tapes": TAPES}, ("outline", "corners"), "This is needed", id="no corners"),
        pytest.param(
            {"corners": list("ABCD"), "tapes": [{"from": "A", "length": "1 ft"}] * 3},
            ("outline", "tapes", 0, "to"),
            "This is needed",
            id="a tape to nowhere",
        ),
        pytest.param({"dxf": ""}, ("outline", "dxf"), "1 to 600,000", id="an empty file"),
        pytest.param({"dxf": "x" * 600_001}, ("outline", "dxf"), "1 to 600,000", id="a huge file"),
        pytest.param({"dxf": 5}, ("outline", "dxf"), "in quotes", id="a number for a file"),
        pytest.param(
            {"dxf": "x", "unit": "furlong"}, ("outline", "unit"), "Use one of", id="odd unit"
        ),
        pytest.param(
            {"dxf": "x", "layer": "a\nb"}, ("outline", "layer"), "one line", id="odd layer"
        ),
    ],
)
def test_complaints_about_outlines(outline, place, message):
    assert message in complaint(body(outline), "deck", "levels", 0, *place)


def test_refusals_of_the_survey_point_into_the_request():
    tapes = [*TAPES[:-1], {"from": "B", "to": "E", "length": "20 ft"}]
    with pytest.raises(UnknownReference) as refusal:
        level_of({"corners": list("ABCD"), "tapes": tapes})
    assert refusal.value.where == ("deck", "levels", 0, "outline", "tapes", 5)


def test_a_drawing_needs_an_edge_for_each_side():
    with drawings_read_by(read_outline):
        order = LAYOUT_REQUEST.load(body({"dxf": dxf()}, EDGES[1:]))
    with pytest.raises(InvalidGeometry, match="3 edges for 4 corners"):
        lay_out(order.deck, order.system)


def test_an_arc_is_drawn_or_given_but_not_both():
    corners = [(0, 0, 0), (16, 0, 0.25), (16, 12, 0), (0, 12, 0)]
    drawn = {"dxf": dxf(corners=corners)}
    assert level_of(drawn).edges[1].sagitta_nm == inches(18)
    twice = [OPEN, {**OPEN, "arc": {"sagitta": "1 ft"}}, *EDGES[2:]]
    with pytest.raises(InvalidGeometry, match="drawn as an arc") as refusal:
        level_of(drawn, twice)
    assert refusal.value.where == ("deck", "levels", 0, "edges", 1, "arc")


@pytest.mark.parametrize("kind", ["open", "wall", "existing"])
def test_an_edge_may_be_an_arc(kind):
    edge = edge_of({"kind": kind, "arc": {"sagitta": "-9 in"}})
    assert (edge.kind, edge.sagitta_nm) == (EdgeKind(kind), -inches(9))


def test_openings_of_every_kind_on_one_edge():
    openings = [
        {"kind": "gate", "gate": {"name": "g", "width": "3 ft"}, "swing": "out", "hinge": "right"},
        {"kind": "obstacle", "name": "chimney", "width": "2 ft", "offset": "8 ft"},
        {"kind": "existing_post", "name": "old post", "width": "4 in", "offset": "12 ft"},
    ]
    made = body({"vertices": VERTICES}, [{**OPEN, "openings": openings}, *EDGES[1:]])
    made["deck"]["stairs"] = copy.deepcopy(BODY["deck"]["stairs"][:1])
    name = made["deck"]["stairs"][0]["name"]
    made["deck"]["levels"][0]["edges"][1] = {
        **OPEN,
        "openings": [
            {"kind": "stair", "stair": name, "offset": "1 ft"},
            {"kind": "arrival", "stair": name, "offset": "6 ft"},
        ],
    }
    first, second = LAYOUT_REQUEST.load(made).deck.levels[0].edges[:2]
    assert [(o.kind, o.name) for o in first.openings] == [
        (OpeningKind.GATE, "g"),
        (OpeningKind.OBSTACLE, "chimney"),
        (OpeningKind.EXISTING_POST, "old post"),
    ]
    assert (first.openings[0].swing, first.openings[0].hinge) == (Swing.OUT, Side.RIGHT)
    assert [o.kind for o in second.openings] == [OpeningKind.STAIR, OpeningKind.ARRIVAL]
    assert second.openings[0].width_nm == second.openings[1].width_nm


def test_a_gate_swings_in_on_the_left_unless_told():
    (gate,) = edge_of({"kind": "gate", "gate": {"name": "g", "width": "3 ft"}}).openings
    assert (gate.swing, gate.hinge) == (Swing.IN, Side.LEFT)


@pytest.mark.parametrize(
    ("opening", "member", "message"),
    [
        pytest.param(
            {"kind": "obstacle", "name": "g", "width": "2 ft"}, "name", "'g' is taken", id="name"
        ),
        pytest.param(
            {"kind": "arrival", "stair": "attic"}, "stair", "No stair is called", id="no stair"
        ),
        pytest.param({"kind": "obstacle", "name": "x"}, "width", "This is needed", id="no width"),
    ],
)
def test_complaints_about_openings(opening, member, message):
    gate = {"kind": "gate", "gate": {"name": "g", "width": "3 ft"}, "offset": "1 ft"}
    made = body({"vertices": VERTICES}, [{**OPEN, "openings": [gate, opening]}, *EDGES[1:]])
    place = ("deck", "levels", 0, "edges", 0, "openings", 1, member)
    assert message in complaint(made, *place)


SPANS = [
    {"height": "42 in", "infill": "pickets", "span": "60 in"},
    {"height": "42 in", "span": "50 in"},
    {"height": "42 in", "infill": "glass", "span": "40 in"},
    {"height": "48 in", "span": "30 in"},
]


@pytest.mark.parametrize(
    ("height", "span"),
    [
        pytest.param("36 in", 60, id="the lowest row that covers it, for this infill"),
        pytest.param("42 in", 60, id="exactly at a row"),
        pytest.param("43 in", 30, id="a row for any infill"),
        pytest.param("49 in", None, id="above all rows: the limit"),
    ],
)
def test_the_span_goes_by_height_and_infill(height, span):
    system = system_of(guard_height=height, spans=SPANS)
    limit = system_of().max_span_nm
    assert system.max_span_nm == (limit if span is None else inches(span))


def test_corners_gates_and_chords_of_a_system():
    stock = BODY["system"]["post"]["stock"][0]["name"]
    gates = {
        "hinge_gap": "3/4 in",
        "latch_gap": "1/2 in",
        "bottom_gap": "2 in",
        "max_leaf": "4 ft",
        "post_stock": stock,
    }
    corners = {"square": "two_posts", "gap": "1 in"}
    system = system_of(gates=gates, corners=corners, chord_sagitta="1/4 in")
    assert system.gates == GateParts(inches(0, 3, 4), inches(0, 1, 2), inches(2), inches(48), stock)
    assert system.square_corners is CornerPosts.TWO
    assert system.angled_corners is CornerPosts.ONE
    assert system.corner_gap_nm == inches(1)
    assert system.chord_sagitta_nm == inches(0, 1, 4)
    plain = system_of()
    assert (plain.gates, plain.chord_sagitta_nm) == (None, inches(0, 1, 2))


GATES = {"hinge_gap": "1 in", "latch_gap": "1 in", "bottom_gap": "2 in", "max_leaf": "4 ft"}


@pytest.mark.parametrize(
    ("change", "member", "message"),
    [
        pytest.param({"post_stock": "oak"}, "post_stock", "No stock is called", id="no stock"),
        pytest.param({"bottom_gap": "9 ft"}, "bottom_gap", "leaves no leaf", id="no leaf"),
        pytest.param({"max_leaf": "0 in"}, "max_leaf", "more than zero", id="no width"),
    ],
)
def test_complaints_about_gates(change, member, message):
    made = body({"vertices": VERTICES}, gates={**GATES, **change})
    assert message in complaint(made, "system", "gates", member)


def test_gates_may_not_take_the_only_stock():
    post = copy.deepcopy(BODY["system"]["post"])
    post["stock"] = post["stock"][:1]
    gates = {**GATES, "post_stock": post["stock"][0]["name"]}
    made = body({"vertices": VERTICES}, gates=gates, post=post)
    assert "other posts" in complaint(made, "system", "gates", "post_stock")
