"""One deck with every feature of a picket guard, ordered over HTTP and counted by pencil.

A deck of 24 by 12 ft on 12 ft of ground: a stair with a landing, guarded and with a handrail on
both sides; a stair along a wall, with a handrail there; a gate; two posts at each corner; blocking;
a wall behind. Sections are at most 10 ft, posts at most 6 ft apart, legs every 5 ft.
"""

import copy
from decimal import Decimal

import orjson
import pytest

from tests.api.replay import request_bytes

ON_BASES = ["deck", "tread", "landing", "slab", "grade"]


def part(sku, per, quantity="1", *, category="trim", unit="C62", **how):
    return {"sku": sku, "description": f"{sku} of the job", "category": category, "per": per,
            "quantity": quantity, "unit_of_measure": unit, **how}  # fmt: skip


def bars(sku, per, category, *feet, **how):
    stock = [{"sku": f"{sku}-{one}", "length": f"{one} ft"} for one in feet]
    return part(sku, per, category=category, stock=stock, **how)


def bead(sku, along, **where):
    fillet = {"shape": "fillet", "width": "1/4 in"}
    return part(sku, "post", category="sealant", unit="MLT", per_length=True, along=along,
                bead=fillet, where=where)  # fmt: skip


# Each part with what it comes to by pencil.
#
# Posts on the deck: along the edge of the stairs one at the end, one either side of the first,
# one between (8' 2" is over the span), one either side of the second stair: 6; two at the corner,
# two at the gate, two at the corner; three on the last edge (23' 2-1/2" in four bays), one at the
# wall: 16. On the landing one at the foot of the first flight, two at the outer corner, one either
# side of the second flight: 5. On the wall stair's open side one on a tread and one at the foot;
# two at the foot of the second flight.
COUNTED = [
    (part("POST", "post", category="post"), 16 + 5 + 1 + 1 + 2),
    (part("CAP", "post"), 25),
    (part("COVER", "post", "2", where={"surface": ON_BASES}), 50),
    (part("RIVET", "post", "4", where={"surface": ON_BASES}), 100),
    (part("WASHER", "post", "4", where={"surface": ON_BASES}), 100),
    (part("LAG", "post", "4", where={"surface": ["deck", "tread", "landing"]}), 4 * 22),
    (part("ANCHOR", "post", "4", where={"surface": ["slab", "grade"]}), 4 * 3),
    # Round posts of 2 in: 25 x 8 in x 1/32 in2 = 6.25 in3; round plates of 5 in, 15.625 in3.
    (bead("CAPSEAL", "perimeter"), "102.41915"),
    (bead("BASESEAL", "base_perimeter", surface=ON_BASES), "256.047875"),
    # 11 level sections, each with a fixed end and a sleeve, of two rails; the six raked ones have
    # a stair joint, so a side screw, at every rail end.
    (part("SLEEVE", "joint", category="connector", where={"joint": "sleeve"}), 22),
    (part("SIDE", "joint", category="fastener", where={"joint": "stair"}), 24),
    (part("SCREW", "joint", "2", category="fastener", where={"joint": ["sleeve", "fixed"]}), 88),
    # One line post inside a section: the top rail runs past, the bottom one is in two.
    (part("LSCREW", "line_post_joint", "2", category="fastener"), 6),
    # Four sections of 5' 7-9/16" and six on the slope are over 5 ft.
    (part("LEG", "support_leg"), 10),
    # 48, 98, 44, 40 and 48 in; four of 69 in; two of 38 in; a raked one of 70 and five of 65 in.
    (part("PICKET", "picket", category="picket"),
     10 + 20 + 9 + 8 + 10 + 4 * 15 + 2 * 8 + 15 + 5 * 14),
    # Both sides of two flights, and the wall: 12 in level at the top and 7' 3-1/2" of slope; on
    # the wall 14' 7", over the longest piece of 12 ft, so in two.
    (part("WALLBKT", "handrail_bracket", category="connector", where={"mount": "wall"}), 6),
    (part("GUARDBKT", "handrail_bracket", category="connector", where={"mount": "guard"}), 16),
    (part("BKTSCREW", "handrail_bracket", "3", category="fastener"), 66),
    (part("RETURN", "handrail_return", category="connector"), 10),
    (part("SWIVEL", "handrail_joint", category="connector", where={"angle_deg": {"from": 1}}), 5),
    (part("SPLICE", "handrail_joint", category="connector", where={"angle_deg": {"to": 1}}), 1),
    (part("ENDCAP", "handrail_end"), None),  # all are returned
    # A leaf of 40 - 3/4 - 1/2 in takes two hinges.
    (part("LEAF", "gate", category="gate"), 1),
    (part("HINGE", "gate", "2", category="gate", where={"leaf_width": {"to": "42 in"}}), 2),
    (part("HINGE3", "gate", "3", category="gate", where={"leaf_width": {"from": "42 in"}}), None),
    (part("LATCH", "gate", category="gate"), 1),
    # 17 places of blocking, four of them in two plies.
    (part("BLOCKSCREW", "block", "8", category="fastener"), 8 * 21),
    (part("PEN", "deck"), 1),
]  # fmt: skip
# What is cut, and how many pieces.
CUT = [
    (bars("TOP", "rail", "rail", 12, 16, where={"place": "top"}), 17),
    (bars("BOTTOM", "rail", "rail", 12, 16, where={"place": "bottom"}), 18),
    (bars("HANDRAIL", "handrail", "handrail", 12, 16), 4 * 2 + 3),
    (bars("TIMBER", "block", "timber", 8, 12), 21),
]
TASKS = [
    ("Survey", "deck", "60", "1"),
    ("Set posts", "post", "18", "7.5"),
    ("Sections", "section", "30", "8.5"),
    ("Hang gates", "gate", "45", "0.75"),
    ("Block", "block", "12", "4.2"),
]


def example(name):
    return orjson.loads(request_bytes(name))


def full_request():
    """Put the features of several examples into one deck."""
    landing, framed = example("landing-layout"), example("framed-layout")
    yard = {**landing["deck"]["stairs"][0], "handrails": ["left", "right"]}
    side = {"name": "side stair", "total_rise": "8' 9\"", "risers": 14, "unit_run": "10 in",
            "width": "4 ft", "nosing": "1 in", "open_sides": ["left"], "bottom": "slab",
            "handrails": ["right"]}  # fmt: skip
    stairs = [{"kind": "stair", "stair": "yard stair", "offset": "4 ft"},
              {"kind": "stair", "stair": "side stair", "offset": "16 ft"}]  # fmt: skip
    fall, corners = {"fall_height": "8' 9\""}, [(0, 0), (24, 0), (24, 12), (0, 12)]
    edges = [
        {"kind": "open", **fall, "openings": stairs},
        {"kind": "gate", "gate": {"name": "dog gate", "width": "40 in"}, "offset": "4 ft", **fall},
        {"kind": "open", **fall},
        {"kind": "wall"},
    ]
    level = {
        "name": "main",
        "outline": {"vertices": [{"x": f"{x} ft", "y": f"{y} ft"} for x, y in corners]},
        "edges": edges,
        "framing": framed["deck"]["levels"][0]["framing"],
    }
    system = landing["system"]
    system["limits"]["section"] = "10 ft"
    gates = {"hinge_gap": "3/4 in", "latch_gap": "1/2 in", "bottom_gap": "2 in",
             "max_leaf": "48 in"}  # fmt: skip
    system |= {
        "base": framed["system"]["base"],
        "shop": {"kerf": "1/8 in", "end_trim": "1/4 in"},
        "gates": gates,
        "corners": {"square": "two_posts", "gap": "2 in"},
        "parts": [rule for rule, _ in [*COUNTED, *CUT]],
        "labour": [{"task": t, "per": per, "minutes": each} for t, per, each, _ in TASKS],
    }
    deck = {"levels": [level], "stairs": [yard, side]}
    return {"units": "imperial", "deck": deck, "system": system}


@pytest.fixture
def ask(client):
    def send(body):
        return client.post("/v1/takeoffs", data=orjson.dumps(body), content_type="application/json")

    return send


@pytest.fixture
def answer(ask):
    response = ask(full_request())
    assert response.status_code == 200, response.text
    return response.json


def test_the_whole_order_is_that_of_the_pencil(answer):
    found = {item["sku"]: Decimal(item["needed"]) for item in answer["items"]}
    asked = {rule["sku"]: each and Decimal(each) for rule, each in COUNTED}
    assert {sku: found.get(sku) for sku in asked} == asked
    assert set(found) - set(asked) <= {s["sku"] for rule, _ in CUT for s in rule["stock"]}
    assert answer["notes"] == []


def test_every_piece_is_cut_once_from_what_is_ordered(answer):
    plans = {plan["material"]: plan for plan in answer["cut_plans"]}
    items = {item["sku"]: item for item in answer["items"]}
    for rule, pieces in CUT:
        plan = plans[rule["description"]]
        names = [cut["piece"] for bar in plan["bars"] for cut in bar["cuts"]]
        assert len(names) == len(set(names)) == pieces
        for stock in rule["stock"]:
            bought = sum(bar["sku"] == stock["sku"] for bar in plan["bars"])
            assert Decimal(items.get(stock["sku"], {"ordered": 0})["ordered"]) == bought


def test_every_item_names_what_needs_it(answer):
    """What an item is counted by is what it is traced to; a row of equal things is one name."""
    traced = {item["sku"]: item["elements"] for item in answer["items"]}
    assert all(len(names) == len(set(names)) > 0 for names in traced.values())
    assert traced["CAP"] == [f"P{n}" for n in range(1, 26)]
    assert traced["LAG"] == [f"P{n}" for n in range(1, 23)]
    assert traced["ANCHOR"] == ["P23", "P24", "P25"]
    assert traced["HINGE"] == traced["LATCH"] == ["dog gate"]
    assert traced["WALLBKT"] == ["H5 brackets"]
    assert traced["BLOCKSCREW"] == [f"B{n}" for n in range(1, 18)]


def test_hours_of_each_task(answer):
    found = [(one["task"], Decimal(one["hours"])) for one in answer["labour"]]
    assert found == [(task, Decimal(hours)) for task, _, _, hours in TASKS]


@pytest.mark.parametrize(
    ("sku", "length", "piece", "element", "advice"),
    [
        ("TOP", "5 ft", "S2 top", "S2", "Split section S2 at a line post, or list a stock"),
        ("BOTTOM", "3 ft", "S14 bottom", "S14", "Split section S14 at a line post, or"),
        ("TIMBER", "1 ft", "B2", "B2", "List a stock length of at least 1' 2-15/16\" (379.4 mm)."),
        ("HANDRAIL", "5 ft", "H1 piece 2", "H1 piece 2", "Set a shorter longest piece for"),
    ],
)
def test_what_is_too_long_for_its_stock_is_named_with_a_way_out(
    ask, sku, length, piece, element, advice
):
    body = copy.deepcopy(full_request())
    parts = body["system"]["parts"]
    at = next(n for n, rule in enumerate(parts) if rule["sku"] == sku)
    parts[at]["stock"] = [{"sku": "SHORT", "length": length}]
    refused = ask(body)
    assert (refused.status_code, refused.json["type"]) == (422, "/problems/piece-too-long")
    assert refused.json["element"] == element
    (error,) = refused.json["errors"]
    assert error["pointer"] == f"#/system/parts/{at}"
    assert f"piece {piece} of " in error["detail"]
    assert error["advice"].startswith(advice)
