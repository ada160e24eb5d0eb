"""Request bodies: what they load into, and where each complaint is placed."""

import copy
import json
from datetime import date
from decimal import Decimal
from fractions import Fraction as Rational
from pathlib import Path

import jsonschema_rs
import pytest
from apispec import APISpec
from hypothesis import given, settings
from hypothesis import strategies as st
from marshmallow import ValidationError

from service.api.schemas.conditions import Conditions
from service.api.schemas.fields import (
    Choice,
    DecimalText,
    Fraction,
    IsoDate,
    JsonInt,
    LengthField,
    Text,
    YesNo,
    steepness,
    turn,
)
from service.api.schemas.openapi_fields import StrictPlugin, describe_fields
from service.api.schemas.parts import WeightField
from service.api.schemas.requests import (
    CODE_CHECK_REQUEST,
    LAYOUT_REQUEST,
    QUOTE_REQUEST,
    TAKEOFF_REQUEST,
)
from service.domain.errors import InvalidGeometry, TooLarge
from service.domain.layout.deck import EdgeKind, Footing, Opening, OpeningKind, Side
from service.domain.layout.system import Joint, JointKind, Method
from service.domain.lengths import FOOT, INCH, MILLIMETRE, inches
from service.domain.takeoff.parts import Band, Weight
from service.usecases.orders import CodeSelection, Units

EXAMPLES = Path(__file__).parents[3] / "openapi" / "examples"
REQUESTS = {
    "layout": LAYOUT_REQUEST,
    "code-check": CODE_CHECK_REQUEST,
    "takeoff": TAKEOFF_REQUEST,
    "quote": QUOTE_REQUEST,
    "metric-quote": QUOTE_REQUEST,
}
BODIES = {
    name: json.loads((EXAMPLES / f"{name}-request.json").read_text(encoding="utf-8"))
    for name in REQUESTS
}


def changed(name, path, value):
    """Give an example body with one member set, added or (value ...) taken out."""
    body = copy.deepcopy(BODIES[name])
    branch = body
    for step in path[:-1]:
        branch = branch[step]
    if value is ...:
        del branch[path[-1]]
    else:
        branch[path[-1]] = value
    return body


def complaints_of(name, body):
    with pytest.raises(ValidationError) as refusal:
        REQUESTS[name].load(body)
    return refusal.value.messages


def at(messages, path):
    for step in path:
        messages = messages[step]
    return messages


@pytest.fixture(scope="module")
def document():
    plugin = StrictPlugin()
    spec = APISpec("t", "1", "3.1.0", plugins=[plugin])
    describe_fields(spec, plugin)
    for name, schema in REQUESTS.items():
        if name != "metric-quote":
            spec.components.schema(name, schema=schema)
    return spec.to_dict()


def validator(document, name):
    name = "quote" if name == "metric-quote" else name
    schema = {"$ref": f"#/components/schemas/{name}", "components": document["components"]}
    return jsonschema_rs.Draft202012Validator(schema)


def test_the_demo_quote_loads_into_an_order():
    order = QUOTE_REQUEST.load(BODIES["quote"])
    assert order.units is Units.IMPERIAL
    assert order.on == date(2026, 11, 25)
    assert order.code == CodeSelection("IRC", "2021")
    level = order.deck.levels[0]
    assert level.outline[1] == (20 * FOOT, 0)
    assert level.edges[0].kind is EdgeKind.OPEN
    assert level.edges[0].openings == (
        Opening(OpeningKind.STAIR, "garden stair", 4 * FOOT, 12 * FOOT),
    )
    assert level.edges[4].kind is EdgeKind.WALL
    stair = order.deck.stairs[0]
    assert (stair.total_rise_nm, stair.risers, stair.nosing_nm) == (49 * INCH, 7, INCH)
    assert stair.open_sides == {Side.LEFT, Side.RIGHT}
    assert stair.bottom is Footing.SLAB
    assert order.system.method is Method.CONTINUOUS
    assert order.system.pickets.pitch_nm == inches(4, 1, 2)
    assert order.system.joints[JointKind.STAIR] == Joint(inches(0, 1, 2), inches(0, 1, 16))
    assert order.parts.shop.kerf_nm == inches(0, 1, 8)
    assert order.prices.rows["LK-CAP"][0].unit_price == Decimal("4.10")
    assert order.pricing.labour_rate == Decimal("62.00")
    assert order.pricing.taxes[0].applies_to == {"goods"}


def test_the_metric_demo_closes_its_sides_and_carries_a_gate():
    order = QUOTE_REQUEST.load(BODIES["metric-quote"])
    level = order.deck.levels[0]
    assert len(level.outline) == 5
    # 4.6 m along x, then 1.414 m at 45 degrees: 5.6 m less a fraction of a millimetre of closure.
    x, y = level.outline[2]
    assert abs(x - 5600 * MILLIMETRE) < MILLIMETRE
    assert abs(y - 1000 * MILLIMETRE) < MILLIMETRE
    assert level.edges[4].openings[0].name == "lawn gate"
    assert level.edges[4].openings[0].width_nm == 1000 * MILLIMETRE
    assert order.system.pickets.pitch_nm is None
    assert order.deck.stairs == ()


@pytest.mark.parametrize("name", REQUESTS)
def test_every_part_of_the_demo_has_a_price(name):
    body = BODIES[name]
    if "price_table" not in body:
        assert name in ("layout", "code-check")
        return
    order = REQUESTS[name].load(body)
    skus = {s.sku for p in order.parts.parts for s in p.stock}
    skus |= {p.sku for p in order.parts.parts if not p.stock}
    assert skus == set(order.prices.rows)


@pytest.mark.parametrize("name", REQUESTS)
def test_the_examples_fit_their_published_schema(name, document):
    assert list(validator(document, name).iter_errors(BODIES[name])) == []


def test_feet_and_millimetres_load_into_the_same_order():
    body = copy.deepcopy(BODIES["layout"])
    for vertex in body["deck"]["levels"][0]["outline"]["vertices"]:
        for axis, text in vertex.items():
            vertex[axis] = f"{Decimal(text.removesuffix(' ft')) * Decimal('304.8')} mm"
    body["system"]["post"]["width"] = {"value": 50.8, "unit": "mm"}
    assert LAYOUT_REQUEST.load(body) == LAYOUT_REQUEST.load(BODIES["layout"])


EDGE = "deck.levels.0.edges"


def refusal(path, value, message, *, told, at=""):
    """Give a case: what is changed, and where (if elsewhere) which complaint is told."""
    return pytest.param(steps(path), value, steps(at or path), message, id=told)


def steps(path):
    return tuple(int(step) if step.isdigit() else step for step in path.split("."))


REFUSALS = [
    refusal("deck", ..., "This is needed", told="no deck"),
    refusal("system.joints.sleeve.enters", "2-1/64 in", "further into", told="through the post"),
    refusal("hello", 1, "No such member", told="unknown member"),
    refusal("deck.levels.0.colour", "red", "No such", told="unknown member deep down"),
    refusal("deck.levels", [], "Send from 1 to 20 entries", told="no level"),
    refusal("deck.levels", {}, "list", told="an object for a list"),
    refusal(
        "deck.levels.0.outline.vertices.2.x", "12", "has no unit", told="a bare number in text"
    ),
    refusal("deck.levels.0.outline.vertices.2.x", 12, "unit is required", told="a bare number"),
    refusal("deck.levels.0.outline", {}, "exactly one of", told="an outline of nothing"),
    refusal(
        "deck.levels.0.outline.sides",
        [],
        "exactly one of",
        told="both forms of outline",
        at="deck.levels.0.outline",
    ),
    refusal("deck.levels.0.edges", [{"kind": "wall"}] * 5, "5 edges for 6", told="an edge short"),
    refusal("deck.levels.0.edges", [{"kind": "wall"}] * 201, "at most 200", told="too many edges"),
    refusal("deck.levels.0.edges.1.kind", "moat", "Use one of", told="unknown kind of edge"),
    refusal("deck.levels.0.edges.1.kind", ["open"], "Use one of", told="a list for a kind"),
    refusal("deck.levels.0.edges.4.fall_height", "4 ft", "No such", told="a wall does not fall"),
    refusal(
        "deck.levels.0.edges.0.gate",
        {"name": "g", "width": "3 ft"},
        "No such",
        told="a gate in a stair edge",
    ),
    refusal(
        "deck.levels.0.edges.0.stair", ..., "This is needed", told="a stair edge without a stair"
    ),
    refusal(
        "deck.levels.0.edges.0.stair",
        "attic",
        "No stair is called",
        told="a stair that is not there",
    ),
    refusal(
        "deck.levels.0.edges.1",
        {"kind": "stair", "stair": "garden stair"},
        "already leaves",
        told="one stair on two edges",
        at="deck.levels.0.edges.1.stair",
    ),
    refusal(
        "deck.levels.0.edges.0",
        {"kind": "wall"},
        "No edge has",
        told="a stair on no edge",
        at="deck.stairs.0.name",
    ),
    refusal(
        "deck.levels.0.edges.1.openings",
        [{"kind": "stair", "stair": "x"}],
        "No stair",
        told="an opening of no stair",
        at="deck.levels.0.edges.1.openings.0.stair",
    ),
    refusal("deck.levels.0.edges.1.guard", "yes", "true or false", told="yes is no boolean"),
    refusal("deck.stairs.0.risers", "7", "whole number", told="risers as text"),
    refusal("deck.stairs.0.risers", 0, "from 1", told="no riser"),
    refusal("deck.stairs.0.unit_run", "0 in", "more than zero", told="no run"),
    refusal(
        "deck.stairs.0.open_sides",
        ["up"],
        "Use one of",
        told="an unknown side",
        at="deck.stairs.0.open_sides.0",
    ),
    refusal("system.fascia_drop", "8 in", "Only a fascia", told="a drop on a surface mount"),
    refusal(
        "system.mount",
        "fascia",
        "needs it",
        told="a fascia mount without a drop",
        at="system.fascia_drop",
    ),
    refusal("system.pickets.pitch", "3/4 in", "more than the picket", told="pickets that touch"),
    refusal("system.limits.rake", 90, "between", told="a vertical stair"),
    refusal("system.parts", [], "Send from 1 to 500 entries", told="nothing to order"),
    refusal("system.parts.0.per", "dozen", "Use one of", told="unknown kind of element"),
    refusal(
        "system.parts.0.where",
        {"stock": 3},
        "word",
        told="a condition that is no word",
        at="system.parts.0.where.stock",
    ),
    refusal("system.parts.0.quantity", 4, "in quotes", told="a quantity as a number"),
    refusal("system.parts.0.unit_of_measure", "each", "Recommendation 20", told="a unit in words"),
    refusal(
        "system.post.stock",
        [{"name": "a", "height": "1 m"}] * 2,
        "is taken",
        told="two posts of one name",
        at="system.post.stock.1.name",
    ),
    refusal("price_table.rows.1.sku", "LK-P40", "is taken", told="a part priced twice"),
    refusal("price_table.rows.0.unit_price", 12.4, "in quotes", told="a price as a number"),
    refusal("price_table.rows.0.unit_price", "-1", "plain decimal", told="a negative price"),
    refusal(
        "price_table.rows.0.effective_from", "soon", "year-month-day", told="a price from some day"
    ),
    refusal("price_table.rows.0.pack_size", 0, "from 1 to", told="a pack of none"),
    refusal("price_table.rows.0.cost", 9.5, "in quotes", told="a cost as a number"),
    refusal("price_table.currency", "usd", "ISO 4217", told="a currency in small letters"),
    refusal("price_table.currency", "USX", "in use, such as USD", told="a currency nobody has"),
    refusal("price_table.currency", "DEM", "in use, such as USD", told="a currency of the past"),
    refusal("price_table.currency", "XAU", "in use, such as USD", told="gold, of no minor unit"),
    refusal("price_table.currency", "USDX", "ISO 4217", told="more than a code"),
    refusal("pricing.taxes.0.rate", "6.25", "fraction of one", told="a rate in percent"),
    refusal(
        "code",
        {"code": "IRC"},
        "This is needed",
        told="a code without an edition",
        at="code.edition",
    ),
    refusal(
        "code",
        {"code": "IRC", "edition": "2021", "place": "X"},
        "exactly one of",
        told="a code and a place",
    ),
    refusal("on", "20261125", "year-month-day", told="a date without hyphens"),
    refusal("on", "2026-02-30", "calendar", told="the 30th of February"),
    refusal("reference", "x" * 81, "1 to 80", told="a long reference"),
    refusal("units", "cubits", "imperial, metric", told="unknown units"),
]


@pytest.mark.parametrize(("path", "value", "place", "message"), REFUSALS)
def test_each_complaint_stands_at_its_member(path, value, place, message):
    messages = at(complaints_of("quote", changed("quote", path, value)), place)
    assert isinstance(messages, list)
    assert any(message in text for text in messages)


def priced(*rows):
    """Load the demo with further rows for one of its parts."""
    body = copy.deepcopy(BODIES["quote"])
    first = body["price_table"]["rows"][0]
    body["price_table"]["rows"].extend({**first, **row} for row in rows)
    return first["sku"], body


def test_rows_of_one_part_differ_in_quantity_or_day():
    sku, body = priced({"min_quantity": "10"}, {"effective_from": "2026-03-01", "cost": "1.05"})
    rows = REQUESTS["quote"].load(body).prices.rows[sku]
    assert [row.min_quantity for row in rows] == [0, 10, 0]
    assert [row.effective_from for row in rows] == [None, None, date(2026, 3, 1)]
    assert (rows[2].cost, rows[0].cost) == (Decimal("1.05"), None)


def test_a_row_of_the_same_part_quantity_and_day_is_refused():
    same = {"min_quantity": "10.0", "effective_from": "2026-03-01"}
    _, body = priced({**same, "min_quantity": "10"}, same)
    with pytest.raises(ValidationError) as refused:
        REQUESTS["quote"].load(body)
    last = len(body["price_table"]["rows"]) - 1
    (said,) = refused.value.messages["price_table"]["rows"][last]["sku"]
    assert "own min_quantity or effective_from" in said


def test_all_complaints_are_told_at_once():
    body = changed("quote", ("deck", "stairs", 0, "name"), "other stair")
    body["price_table"]["rows"][2]["sku"] = "LK-P40"
    messages = complaints_of("quote", body)
    assert set(messages) == {"deck", "price_table"}
    assert "No stair is called" in at(messages, steps(f"{EDGE}.0.stair"))[0]


@pytest.mark.parametrize("body", [None, [], "deck", 3, {"deck": None, "system": []}])
def test_a_body_of_another_shape_is_refused(body):
    with pytest.raises(ValidationError):
        QUOTE_REQUEST.load(body)


def test_sides_that_do_not_close_are_a_matter_of_geometry():
    body = changed("metric-quote", ("deck", "levels", 0, "outline", "sides", 0, "length"), "9 m")
    with pytest.raises(InvalidGeometry) as refusal:
        QUOTE_REQUEST.load(body)
    assert refusal.value.where == ("deck", "levels", 0, "outline", "sides")


def test_a_deck_of_kilometres_is_refused_before_it_is_laid_out():
    body = changed("layout", ("deck", "levels", 0, "outline", "vertices", 1, "x"), "9999 m")
    with pytest.raises(TooLarge, match="pickets"):
        LAYOUT_REQUEST.load(body)


def test_a_stair_edge_is_an_open_edge_with_one_opening():
    body = copy.deepcopy(BODIES["layout"])
    edge = body["deck"]["levels"][0]["edges"][0]
    body["deck"]["levels"][0]["edges"][0] = {
        "kind": "open",
        "fall_height": edge["fall_height"],
        "openings": [{"kind": "stair", "stair": edge["stair"], "offset": edge["offset"]}],
    }
    assert LAYOUT_REQUEST.load(body) == LAYOUT_REQUEST.load(BODIES["layout"])


# Values marshmallow's own fields would take, or Python would read.
STRICT = {
    "int": (JsonInt(1, 9000), ["1_000", "1", "٣", True, 1.5, None, 9001, 1e300]),
    "decimal": (
        DecimalText(),
        [0.1, 1, "1_0", "٣", "1e999999", "NaN", "+1", " 1", "1\n", ".5", "1.", "-1", True],
    ),
    "fraction": (Fraction(), ["1.000001", "2", "0.1234567", 0.5, "-0.1"]),
    "bool": (YesNo(), ["yes", "on", "f", "true", 1, 0, 1.0]),
    "date": (
        IsoDate(),
        ["20261101", "2026-W01-1", "2026-13-01", "2026-1-1", "2026-11-25\n", 20261101],
    ),
    "text": (
        Text(5),
        ["", "a\x00", "a\ud800", "\ud800", "a\nb", " a", "\u00a0", "sixsix", 5, ["a"]],
    ),
    "choice": (Choice(["a"]), ["A", "", 1, ["a"], None]),
    "angle": (
        turn(),
        [180, -180, "180", "9e1", "nan", float("nan"), float("inf"), True, "٩", 10**400],
    ),
    "steepness": (steepness(), [0, "0", -1, 90, "90"]),
    "length": (
        LengthField(),
        [
            *("0 in", "-1 in", 5, 5.5, True, 10**5000, [], {}, {"value": 5}),
            {"value": 5, "unit": "in", "x": 1},
            {"value": None, "unit": "in"},
            {"value": 5, "unit": ["in"]},
            {"value": {}, "unit": "in"},
            {"value": 1.2e-07, "unit": "in"},  # 3 nm, below the least number published
            {"value": 10**5000, "unit": "in"},
        ],
    ),
    "conditions": (
        Conditions(),
        [
            *([], {"A": "x"}, {"a": []}, {"a": [1]}, {"a": ""}, {"a": "x" * 81}),
            dict.fromkeys("abcdefghi", "x"),
            *({"length": "x"}, {"length": {}}, {"length": {"from": 5}}, {"length": {"to": []}}),
            *({"length": {"at": "5 in"}}, {"turn_deg": {"from": "5 in"}}, {"x": {"from": 1}}),
            *({"turn_deg": {"from": v}} for v in (-1, 181, True, "30", float("nan"), 10**400)),
        ],
    ),
    "weight": (
        WeightField(),
        [
            *("2 kg/in", "0 lb", "-1 kg", "1e3 kg", "1 LB", "2 kg kg", 5, True, [], {}, None),
            *({"value": "2"}, {"value": "2", "unit": "st"}, {"value": 2, "unit": "kg"}),
            *({"value": "2", "unit": ["kg"]}, {"value": "2 ", "unit": "kg"}),
        ],
    ),
}
CASES = [
    pytest.param(field, value, id=f"{name} {number}")
    for name, (field, values) in STRICT.items()
    for number, value in enumerate(values)
]


@pytest.mark.parametrize(("field", "value"), CASES)
def test_a_strict_field_refuses_what_only_resembles(field, value):
    with pytest.raises(ValidationError):
        field.deserialize(value)


@pytest.mark.parametrize(
    ("field", "value", "loaded"),
    [
        (JsonInt(1, 9), 7.0, 7),
        (DecimalText(), "12.40", Decimal("12.40")),
        (Fraction(), "0.0625", Decimal("0.0625")),
        (turn(), "22.5°", 22.5),
        (turn(), "−90", -90.0),
        (turn(), -90, -90.0),
        (LengthField(kind="Coordinate"), "-1 in", -INCH),
        (LengthField(kind="Coordinate"), {"value": -1, "unit": "in"}, -INCH),
        (LengthField(kind="Length"), "0 in", 0),
        (Conditions(), {"a": "x", "b": ["y", "z"]}, {"a": ("x",), "b": ("y", "z")}),
        (
            Conditions(),
            {"length": {"from": "1 in"}, "angle_deg": {"from": 22.5, "to": 60}},
            {"length": Band(INCH), "angle_deg": Band(22_500, 60_000)},
        ),
        (WeightField(), "2.5 kg", Weight(Rational(5, 2))),
        (WeightField(), {"value": "0.5", "unit": "lb"}, Weight(Rational("0.226796185"))),
        # 1 lb/ft is 0.45359237 kg over 0.3048 m
        (WeightField(), "1lb/ft", Weight(Rational(45359237, 30480000), per_metre=True)),
    ],
)
def test_a_strict_field_takes_what_it_says(field, value, loaded):
    assert field.deserialize(value) == loaded


FIELDS = {
    "length": LengthField(kind="Length"),
    "positive": LengthField(),
    "coordinate": LengthField(kind="Coordinate"),
    "int": JsonInt(1, 9),
    "decimal": DecimalText(),
    "fraction": Fraction(),
    "date": IsoDate(),
    "text": Text(5),
    "turn": turn(),
    "steepness": steepness(),
    "where": Conditions(),
    "weight": WeightField(),
}
SCALARS = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=8)
    | st.text(alphabet="0123456789 .-/'\"½°′″ftinmc", max_size=8)
    | st.sampled_from(
        ["0 in", "½ in", "00.0 mm", "-3 ft", "2026-11-25", "0.5", "179.9", "1.0", "2 lb"]
    )
)
ANYTHING = (
    SCALARS
    | st.lists(SCALARS, max_size=2)
    | st.dictionaries(st.sampled_from(["a", "b_c", "A"]), SCALARS | st.lists(st.text(max_size=3)))
    | st.fixed_dictionaries(
        {"turn_deg": st.dictionaries(st.sampled_from(["from", "to", "at"]), SCALARS, max_size=2)}
    )
    | st.fixed_dictionaries(
        {"length": st.dictionaries(st.sampled_from(["from", "to", "at"]), SCALARS, max_size=2)}
    )
    | st.fixed_dictionaries(
        {"value": SCALARS, "unit": st.sampled_from(["in", "ft", "m", "mm", "cm", "yd", "km", "lb"])}
    )
)


@pytest.mark.parametrize("name", FIELDS)
@settings(max_examples=300)
@given(value=ANYTHING)
def test_a_field_takes_a_value_exactly_when_its_published_schema_does(document, name, value):
    field = FIELDS[name]
    schema = {**field.json_schema(), "components": document["components"]}
    checker = jsonschema_rs.Draft202012Validator(schema, validate_formats=True)
    try:
        field.deserialize(value)
    except ValidationError:
        assert not checker.is_valid(value)
    else:
        assert checker.is_valid(value)
