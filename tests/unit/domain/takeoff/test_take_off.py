from dataclasses import replace
from decimal import Decimal

import pytest

from service.domain.cutting.demand import StockLength
from service.domain.cutting.plan import Bar, Cut, CutPlan
from service.domain.errors import NoPriceInForce, QuotingError, TooLarge, UnknownReference
from service.domain.lengths import inches
from service.domain.takeoff.stock import MAX_PIECES
from service.domain.takeoff.take_off import take_off, with_cut_plans
from tests.unit.domain.takeoff.builders import (
    PITCH,
    STAIR_PITCH,
    SYSTEM,
    layout,
    part,
    parts_list,
    post,
    small_deck,
    task,
)

LEVEL_TOP = part(
    "LT",
    "rail",
    description="Top rail",
    category="rail",
    where={"place": ("top",), "raked": ("no",)},
    stock=(
        StockLength("LT-16", inches(192), first_picket_nm=inches(2)),
        StockLength("LT-8", inches(96), first_picket_nm=inches(2)),
    ),
)
BOTTOM = part(
    "LB",
    "rail",
    description="Bottom rail",
    category="rail",
    where={"place": ("bottom",)},
    stock=(StockLength("LB-16", inches(192)),),
)


def items_of(*rules, laid_out=None):
    takeoff = take_off(laid_out or small_deck(), parts_list(rules))
    return {item.sku: item for item in takeoff.items}


def plan_of(demand, *bars):
    cuts = [
        Bar(sku, inches(192), tuple(Cut(name, 0, inches(1)) for name in names), 0)
        for sku, *names in bars
    ]
    return CutPlan(demand.material, tuple(cuts), Decimal(1), Decimal(1), True, True, Decimal(1), "")


# The small deck taken off by pencil. Posts P1 end, P2 line, P3 stair top, P4 stair bottom; S1 level
# round P2 with 20 pickets, S2 raked with 9; joints: S1 fixed at P1, angled sleeves at P3, S2 stair
# joints at P3 and P4, each top and bottom; heights 38, 38, 38 and 50 in; two legs; one gate.
@pytest.mark.parametrize(
    ("rule", "needed", "ordered"),
    [
        pytest.param(part(per="post"), "4", "4", id="a cap on each post"),
        pytest.param(part(per="post", quantity="2"), "8", "8", id="two cover halves each"),
        pytest.param(
            part(per="post", quantity="4", pack_size=10), "16", "20", id="lags in packs of 10"
        ),
        pytest.param(part(per="post", where={"stair": ("yes",)}), "2", "2", id="stair posts"),
        pytest.param(
            part(per="post", where={"surface": ("deck",)}), "3", "3", id="posts on the deck"
        ),
        pytest.param(
            part(per="post", where={"position": ("end", "line")}), "2", "2", id="either position"
        ),
        pytest.param(
            part(per="post", where={"stock": ("stair post",)}), "1", "1", id="the long post"
        ),
        pytest.param(
            part(per="joint", where={"joint": ("sleeve",), "angle": ("angled",)}),
            "2",
            "2",
            id="angled sleeves, top and bottom",
        ),
        pytest.param(
            part(per="joint", quantity="2", where={"joint": ("stair",)}),
            "8",
            "8",
            id="two side screws at each of 4 raked rail ends",
        ),
        pytest.param(part(per="picket", pack_size=25), "29", "50", id="pickets in packs of 25"),
        pytest.param(
            part(per="picket", where={"raked": ("yes",)}), "9", "9", id="stair pickets only"
        ),
        pytest.param(part(per="line_post_joint"), "3", "3", id="rails at the line post"),
        pytest.param(part(per="support_leg"), "2", "2", id="legs"),
        pytest.param(part(per="gate", quantity="2"), "2", "2", id="two hinges"),
        pytest.param(part(per="deck"), "1", "1", id="one touch-up pen for the job"),
        pytest.param(
            part(per="post", quantity="0.05"), "0.20", "1", id="sealant: a 20th of a tube each"
        ),
        # 4 posts: 38 + 38 + 38 + 50 = 164 in = 4.1656 m
        pytest.param(
            part(per="post", per_length=True, unit_of_measure="MTR"),
            "4.1656",
            "5",
            id="foam by the metre of post",
        ),
        # 29 pickets of 30 in = 22.098 m, two beads
        pytest.param(
            part(per="picket", quantity="2", per_length=True, unit_of_measure="MTR"),
            "44.196",
            "45",
            id="a row's length counts each picket",
        ),
        # R1 100 in + R2 42 in = 3.6068 m
        pytest.param(
            part(per="run", per_length=True, unit_of_measure="MTR", pack_size=10),
            "3.6068",
            "10",
            id="tape by the run, in rolls of 10 m",
        ),
    ],
)
def test_small_deck_by_pencil(rule, needed, ordered):
    item = items_of(rule)[rule.sku]
    assert (item.needed, item.ordered) == (Decimal(needed), Decimal(ordered))


def test_an_item_names_the_elements_that_need_it_in_order():
    assert items_of(part(per="post"))["A-1"].elements == ("P1", "P2", "P3", "P4")
    assert items_of(part(per="picket"))["A-1"].elements == ("S1 pickets", "S2 pickets")


def test_a_rule_that_matches_nothing_gives_no_line():
    takeoff = take_off(
        small_deck(),
        parts_list(
            [
                part(where={"position": ("corner",)}),
                part("B-1", quantity="0"),
                replace(LEVEL_TOP, per="post", where={"position": ("gate",)}),
            ],
            [task(where={"position": ("corner",)})],
        ),
    )
    assert (takeoff.items, takeoff.labour, takeoff.demands) == ((), (), ())


def test_packs_are_rounded_once_after_summing_two_rules_of_one_sku():
    screws = part("SCR", "post", "3", pack_size=10)
    items = items_of(screws, replace(screws, per="gate", quantity=Decimal("8")))
    assert items["SCR"].needed == 20
    assert items["SCR"].ordered == 20  # by element or by rule it would be 2 or more packs extra
    assert items["SCR"].elements == ("P1", "P2", "P3", "P4", "side gate")


def test_two_rules_of_one_sku_must_agree():
    with pytest.raises(UnknownReference, match="A-1 is listed twice"):
        items_of(part(pack_size=10), part(pack_size=20, per="gate"))


@pytest.mark.parametrize(
    ("rule", "message"),
    [
        pytest.param(part(per="baluster"), "A-1 counts per 'baluster'", id="kind"),
        pytest.param(part(where={"colour": ("red",)}), "A-1 asks for 'colour'", id="attribute"),
        pytest.param(part(where={"stair": ("true",)}), "A-1 asks for stair 'true'", id="value"),
        pytest.param(
            part(where={"position": ("existing",)}), "position 'existing'", id="not ordered"
        ),
        pytest.param(part(where={"stock": ("tall",)}), "A-1 asks for stock 'tall'", id="stock"),
        pytest.param(part(per="joint", per_length=True), "a joint has none", id="no length"),
        pytest.param(part(per="deck", where={"raked": ("no",)}), "a deck has not", id="no such"),
        pytest.param(part(quantity="-1"), "A-1 has a quantity below 0", id="negative"),
        pytest.param(part(pack_size=0), "pack of less than 1", id="empty pack"),
        pytest.param(
            replace(BOTTOM, quantity=Decimal("0.5")), "LB is cut from stock", id="half a piece"
        ),
        pytest.param(replace(BOTTOM, per_length=True), "LB is cut from stock", id="by length"),
        pytest.param(
            replace(BOTTOM, unit_of_measure="MTR"), "counted in MTR", id="bars by the metre"
        ),
        pytest.param(
            replace(LEVEL_TOP, stock=LEVEL_TOP.stock + BOTTOM.stock), "mixes", id="mixed stock"
        ),
        pytest.param(
            replace(LEVEL_TOP, where={}), "no single picket pitch", id="two pitches, one stock"
        ),
    ],
)
def test_a_rule_that_cannot_be_meant_is_refused(rule, message):
    with pytest.raises(UnknownReference, match=message) as refusal:
        take_off(small_deck(), parts_list([rule]))
    assert refusal.value.element == rule.sku
    assert refusal.value.advice


@pytest.mark.parametrize(
    ("rule", "member"),
    [
        pytest.param(part(per="baluster"), ("per",), id="kind"),
        pytest.param(part(where={"colour": ("red",)}), ("where", "colour"), id="attribute"),
        pytest.param(part(where={"stock": ("tall",)}), ("where", "stock"), id="value"),
        pytest.param(part(quantity="999999999"), ("quantity",), id="too many"),
        pytest.param(replace(BOTTOM, unit_of_measure="MTR"), ("unit_of_measure",), id="unit"),
        pytest.param(replace(LEVEL_TOP, where={}), ("stock",), id="two pitches, one stock"),
        pytest.param(part("CAP", pack_size=20), (), id="at odds with an earlier rule"),
    ],
)
def test_a_refusal_points_into_the_rule_at_fault(rule, member):
    with pytest.raises(QuotingError) as refusal:
        take_off(small_deck(), parts_list([part("CAP"), rule]))
    assert refusal.value.where == ("system", "parts", 1, *member)


def test_a_labour_rule_with_an_unknown_kind_is_refused_by_its_task():
    labour = [task(), task(per="bay")]
    with pytest.raises(UnknownReference, match="The rule for Set counts per 'bay'") as refusal:
        take_off(small_deck(), parts_list(labour=labour))
    assert refusal.value.where == ("system", "labour", 1, "per")


def test_punched_stock_on_a_free_pitch_is_refused():
    free = replace(SYSTEM, pickets=replace(SYSTEM.pickets, pitch_nm=None))
    with pytest.raises(UnknownReference, match="LT is pre-punched"):
        take_off(replace(small_deck(), system=free), parts_list([LEVEL_TOP]))


def test_pieces_on_punched_stock_say_where_their_pickets_lie():
    demand = take_off(small_deck(), parts_list([LEVEL_TOP])).demands[0]
    (piece,) = demand.pieces
    assert (demand.material, demand.pitch_nm) == ("Top rail", PITCH)
    assert (demand.kerf_nm, demand.end_trim_nm) == (inches(0, 1, 8), inches(0, 1, 4))
    assert (piece.name, piece.element, piece.length_nm) == ("S1 top", "S1", inches(98))
    assert (piece.first_picket_nm, piece.pickets) == (inches(4), 21)
    # 98 - 4 - 20 pitches of 4.5 = 4 in
    assert piece.last_picket_nm == inches(4)


def test_raked_rails_take_the_stair_pitch_and_keep_the_saw_angle():
    raked = replace(LEVEL_TOP, where={"place": ("top",), "raked": ("yes",)})
    demand = take_off(small_deck(), parts_list([raked])).demands[0]
    assert demand.pitch_nm == STAIR_PITCH
    assert demand.pieces[0].saw_deg == pytest.approx(36.87)
    assert demand.pieces[0].last_picket_nm == inches(50) - inches(5) - 8 * inches(5)


def test_pieces_on_plain_stock_are_lengths_and_nothing_more():
    demand = take_off(small_deck(), parts_list([BOTTOM])).demands[0]
    assert demand.pitch_nm is None
    assert [piece.name for piece in demand.pieces] == ["S1 bottom 1", "S1 bottom 2", "S2 bottom"]
    assert all(piece.first_picket_nm is None for piece in demand.pieces)


def test_pickets_and_posts_may_be_cut_from_stock():
    pickets = part("PK", "picket", category="picket", stock=(StockLength("PK-10", inches(120)),))
    posts = part("PT", "post", "2", category="post", stock=(StockLength("PT-20", inches(240)),))
    by_material = {
        demand.material: demand
        for demand in take_off(small_deck(), parts_list([pickets, posts])).demands
    }
    rows = by_material["PK described"].pieces
    assert len(rows) == 29
    assert (rows[0].name, rows[0].length_nm) == ("S1 pickets 1", inches(30))
    assert [p.name for p in by_material["PT described"].pieces][:2] == ["P1 1", "P1 2"]


def test_materials_of_one_description_are_told_apart_by_sku():
    twin = replace(BOTTOM, sku="LT2", description="Top rail", where={"raked": ("yes",)})
    demands = take_off(small_deck(), parts_list([LEVEL_TOP, twin])).demands
    assert [demand.material for demand in demands] == ["Top rail (LT)", "Top rail (LT2)"]


def test_bars_bought_stand_where_their_part_is_listed():
    rules = [part("A-1"), BOTTOM, part("B-1"), LEVEL_TOP, part("C-1")]
    takeoff = take_off(small_deck(), parts_list(rules))
    bottom, top = takeoff.demands
    complete = with_cut_plans(
        takeoff,
        [
            plan_of(top, ("LT-8", "S1 top")),
            plan_of(bottom, ("LB-16", "S2 bottom", "S1 bottom 1"), ("LB-16", "S1 bottom 2")),
        ],
    )
    assert [item.sku for item in complete.items] == ["A-1", "LB-16", "B-1", "LT-8", "C-1"]
    bars = complete.items[1]
    assert (bars.needed, bars.ordered, bars.length_nm) == (2, 2, inches(192))
    assert bars.elements == ("S1 bottom 1", "S1 bottom 2", "S2 bottom")
    assert bars.description == "Bottom rail"


def test_one_stock_of_two_materials_is_ordered_on_one_line():
    top = replace(BOTTOM, sku="TT", description="Top rail", where={"place": ("top",)}, pack_size=4)
    takeoff = take_off(small_deck(), parts_list([top, replace(BOTTOM, pack_size=4)]))
    plans = [
        plan_of(takeoff.demands[0], ("LB-16", "S1 top"), ("LB-16", "S2 top")),
        plan_of(takeoff.demands[1], ("LB-16", "S1 bottom 1", "S1 bottom 2", "S2 bottom")),
    ]
    (item,) = with_cut_plans(takeoff, plans).items
    assert (item.needed, item.ordered) == (3, 4)
    assert item.elements == ("S1 top", "S2 top", "S1 bottom 1", "S1 bottom 2", "S2 bottom")


def test_a_demand_without_a_plan_is_refused():
    takeoff = take_off(small_deck(), parts_list([BOTTOM]))
    with pytest.raises(UnknownReference, match="No cut plan is given for Bottom rail"):
        with_cut_plans(takeoff, [])


def test_stock_takes_its_price_from_the_table():
    prices = {"LB-16": Decimal("51.20")}
    demand = take_off(small_deck(), parts_list([BOTTOM]), prices).demands[0]
    assert demand.stocks[0].price == Decimal("51.20")


def test_stock_without_a_price_is_refused_with_every_part_that_has_none():
    prices = {"LT-16": Decimal(80), "B-1": Decimal(1)}
    rules = parts_list([part("A-1"), part("B-1"), LEVEL_TOP])
    with pytest.raises(NoPriceInForce, match="A-1, LT-8") as refusal:
        take_off(small_deck(), rules, prices)
    assert refusal.value.skus == ("A-1", "LT-8")


def test_minutes_are_summed_exactly_and_hours_rounded_once():
    tasks = [task(minutes="7"), task(per="gate", minutes="12"), task("Cut", "rail", "0.333")]
    labour = take_off(small_deck(), parts_list(labour=tasks)).labour
    assert [(item.task, item.minutes, item.hours) for item in labour] == [
        ("Set", Decimal(40), Decimal("0.67")),
        ("Cut", Decimal("1.665"), Decimal("0.03")),
    ]
    assert labour[0].elements == ("P1", "P2", "P3", "P4", "side gate")


@pytest.mark.parametrize(
    ("minutes", "hours"),
    [
        pytest.param("0.3", "0.01", id="exactly half a hundredth goes up"),
        pytest.param("0.29999999999999999999999999999", "0.00", id="just under half goes down"),
        pytest.param("60", "1.00", id="an hour"),
        pytest.param("100", "1.67", id="a third, up"),
        pytest.param("80", "1.33", id="a third, down"),
    ],
)
def test_hours_round_half_up(minutes, hours):
    labour = take_off(small_deck(), parts_list(labour=[task(per="deck", minutes=minutes)])).labour
    assert str(labour[0].hours) == hours


def test_what_no_part_covers_is_said():
    notes = take_off(small_deck(), parts_list([part("CAP", per="post")])).notes
    assert (
        "No part is listed for 1 x joint "
        "(joint sleeve, angle angled, place top, raked no, to post): S1 top at P3." in notes
    )
    assert "No part is listed for 1 x gate (swing in, hinge left): side gate." in notes
    assert any(note.startswith("No part is listed for 20 x picket (raked no)") for note in notes)
    assert any("1 x post (position line" in note for note in notes)  # a cap is not a post
    assert any("2 x support leg (raked no): S1 support legs." in note for note in notes)


def test_a_full_parts_list_leaves_no_note():
    rules = [
        part("POST", per="post", category="post"),
        part("RAIL", per="rail", category="rail"),
        part("PICKET", per="picket", category="picket"),
        part("SCREW", per="joint"),
        part("SCREW-2", per="line_post_joint"),
        part("LEG", per="support_leg"),
        part("LEAF", per="gate"),
    ]
    assert take_off(small_deck(), parts_list(rules)).notes == ()


def test_a_note_names_three_elements_and_counts_the_rest():
    laid_out = layout([post(f"P{n}") for n in range(1, 7)])
    (note,) = take_off(laid_out, parts_list()).notes
    assert note.endswith("P1, P2, P3 and 3 more.")


def test_exactness_does_not_depend_on_the_decimal_context():
    quantity = "0.123456789012345678901"
    item = items_of(part(per="post", quantity=quantity, per_length=True, unit_of_measure="MTR"))
    # 4.1656 m by the long way round, in integers
    assert item["A-1"].needed == Decimal(123456789012345678901 * 41656).scaleb(-25)


def test_a_quantity_past_the_bound_is_refused():
    with pytest.raises(TooLarge, match="of A-1 are needed"):
        items_of(part(quantity="1E+9"))


def test_more_pieces_than_the_saw_plans_are_refused():
    rule = replace(BOTTOM, quantity=Decimal(MAX_PIECES))
    with pytest.raises(TooLarge, match="pieces of Bottom rail"):
        take_off(small_deck(), parts_list([rule]))
