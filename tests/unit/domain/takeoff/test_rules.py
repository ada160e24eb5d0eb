"""What rules may ask: bands of measures, beads, waste, least orders, weights."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from math import pi

import pytest

from service.domain.cutting.demand import StockLength
from service.domain.cutting.plan import Bar, CutPlan
from service.domain.errors import UnknownReference
from service.domain.layout.system import JointKind
from service.domain.lengths import inches
from service.domain.takeoff.beads import Bead, BeadShape
from service.domain.takeoff.parts import Band, Packing, Weight
from service.domain.takeoff.shipping import ship
from service.domain.takeoff.take_off import take_off, with_cut_plans
from tests.unit.domain.takeoff.builders import (
    layout,
    part,
    parts_list,
    rail,
    section,
    small_deck,
    task,
)

BARS = part("BAR", "rail", category="rail", stock=(StockLength("BAR-8", inches(96)),))


def ordered(*rules, laid_out=None):
    takeoff = take_off(laid_out or small_deck(), parts_list(rules))
    return {item.sku: item for item in takeoff.items}


def turned(*angles):
    """One section for each angle, its start joined at that angle."""
    return layout(
        sections=[
            section(
                f"S{n}",
                ("P1", JointKind.SLEEVE, angle),
                ("P2", JointKind.FIXED),
                [rail(f"S{n} top", "top", 0, inches(10))],
            )
            for n, angle in enumerate(angles, 1)
        ]
    )


@pytest.mark.parametrize(
    ("angle_deg", "of_45"),
    [
        pytest.param(29.9994, False, id="29.9994 is 29.999 to a thousandth"),
        pytest.param(29.9996, True, id="29.9996 is 30"),
        pytest.param(30.0, True, id="the lower end belongs to it"),
        pytest.param(-45.0, True, id="either way round"),
        pytest.param(59.999, True, id="just below the upper end"),
        pytest.param(60.0, False, id="the upper end does not"),
    ],
)
def test_connectors_of_45_degrees_are_listed_apart(angle_deg, of_45):
    sleeves = {"joint": ("sleeve",)}
    items = ordered(
        part("S45", "joint", where={**sleeves, "angle_deg": Band(30_000, 60_000)}),
        part("REST", "joint", where={**sleeves, "angle_deg": Band(None, 30_000)}),
        part("STEEP", "joint", where={**sleeves, "angle_deg": Band(60_000, None)}),
        laid_out=turned(angle_deg),
    )
    assert len(items) == 1  # bands that meet leave nothing out and take nothing twice
    assert ("S45" in items) is of_45
    assert items.popitem()[1].elements == ("S1 top at P1",)


def test_a_part_may_cover_some_of_a_group_and_the_rest_is_said():
    """Three angled sleeves of one kind; only the first two lie in the band."""
    rules = [
        part("RAIL", "rail", category="rail"),
        part("PICKET", "picket", category="picket"),
        part("FIXED", "joint", where={"joint": ("fixed",)}),
        part("S45", "joint", where={"joint": ("sleeve",), "angle_deg": Band(30_000, 60_000)}),
    ]
    (note,) = take_off(turned(45.0, 40.0, 80.0), parts_list(rules)).notes
    assert note.startswith("No part is listed for 1 x joint (joint sleeve, angle angled")
    assert note.endswith(": S3 top at P1.")


def test_posts_by_height():
    """Three of 38 in, one of 50 in."""
    items = ordered(
        part("LOW", "post", where={"length": Band(None, inches(42))}),
        part("HIGH", "post", where={"length": Band(inches(42), None)}),
    )
    assert (items["LOW"].needed, items["HIGH"].needed) == (3, 1)


def test_what_is_not_known_lies_in_no_band():
    any_width = {"leaf_width": Band(0, None)}
    takeoff = take_off(small_deck(), parts_list([part("LEAF", "gate", where=any_width)]))
    assert takeoff.items == ()
    assert any("1 x gate" in note for note in takeoff.notes)


def test_labour_may_ask_for_a_band():
    high = task("Cut long posts", minutes="5", where={"length": Band(inches(42), None)})
    (item,) = take_off(small_deck(), parts_list(labour=[high])).labour
    assert (item.minutes, item.elements) == (5, ("P4",))


def test_a_bead_round_every_post_is_a_volume():
    """Four posts in a bead of 1/4 in in the corner: 4 x 8 in x 1/32 in2 = 1 in3 = 16.387064 ml."""
    seal = part(
        "SEAL",
        "post",
        per_length=True,
        along="perimeter",
        bead=Bead(BeadShape.FILLET, inches(0, 1, 4)),
        unit_of_measure="MLT",
        pack_size=300,
    )
    item = ordered(seal)["SEAL"]
    assert (item.needed, item.ordered) == (Decimal("16.387064"), 300)


def test_several_beads_round_a_joint_in_litres():
    """Two round beads of 10 mm round S1's top rail, 7 in: 2 x 25 pi mm2 x 177.8 mm."""
    seal = part(
        "SEAL",
        "joint",
        "2",
        where={"place": ("top",), "joint": ("fixed",)},
        per_length=True,
        along="perimeter",
        bead=Bead(BeadShape.ROUND, 10_000_000),
        unit_of_measure="LTR",
    )
    assert float(ordered(seal)["SEAL"].needed) == pytest.approx(50 * pi * 177.8 / 1e6, rel=1e-15)


def test_a_length_that_is_not_known_is_said_and_not_taken_for_nothing():
    """The hand-built system gives no base plate."""
    seal = part("SEAL", "post", per_length=True, along="base_perimeter", unit_of_measure="MTR")
    takeoff = take_off(small_deck(), parts_list([seal]))
    assert "SEAL counts nothing for P1, P2, P3 and 1 more: no base perimeter is known." in (
        takeoff.notes
    )
    timed = task("Seal", minutes="1", per_length=True, along="base_perimeter")
    notes = take_off(small_deck(), parts_list(labour=[timed])).notes
    assert any(note.startswith("Seal counts nothing for P1, P2, P3") for note in notes)


def test_waste_is_added_before_packs_are_rounded():
    """29 pickets and 4 % of them, 30.16; without the waste 29 would do."""
    item = ordered(part("PK", "picket", category="picket", waste=Decimal("0.04"), pack_size=10))
    assert (item["PK"].needed, item["PK"].waste, item["PK"].ordered) == (29, Decimal("1.16"), 40)


def test_rules_of_one_sku_may_waste_differently():
    """4 posts and 10 %, 29 pickets and none."""
    screws = part("SCR", "post", waste=Decimal("0.1"))
    item = ordered(screws, part("SCR", "picket"))["SCR"]
    assert (item.needed, item.waste, item.ordered) == (33, Decimal("0.4"), 34)


@pytest.mark.parametrize(
    ("minimum", "pack_size", "comes_to"),
    [
        pytest.param(10, 1, 10, id="fewer are not sold"),
        pytest.param(10, 4, 12, id="nor part of a pack"),
        pytest.param(3, 1, 4, id="more than the least"),
    ],
)
def test_a_least_order(minimum, pack_size, comes_to):
    cap = part("CAP", "post", minimum=Decimal(minimum), pack_size=pack_size)
    assert ordered(cap)["CAP"].ordered == comes_to


def test_a_least_order_of_what_is_not_needed_is_nothing():
    assert ordered(part("CAP", "post", where={"position": ("gate",)}, minimum=Decimal(10))) == {}


@pytest.mark.parametrize(
    ("rule", "message", "where"),
    [
        pytest.param(
            part(where={"slope": Band(1, 2)}), "band of 'slope'", ("where", "slope"), id="measure"
        ),
        pytest.param(
            part(where={"length": Band(2, 2)}),
            "length that ends before it begins",
            ("where", "length"),
            id="empty band",
        ),
        pytest.param(
            part(per="joint", per_length=True, along="length"),
            "counts by length, and a joint has none",
            ("per_length",),
            id="no length but a perimeter",
        ),
        pytest.param(
            part(per_length=True, along="turn_deg"),
            "counts along 'turn_deg'",
            ("per_length",),
            id="an angle is no length",
        ),
        pytest.param(part(waste=Decimal(-1)), "waste or minimum", (), id="negative waste"),
        pytest.param(part(minimum=Decimal(-1)), "waste or minimum", (), id="negative minimum"),
        pytest.param(
            part(bead=Bead(BeadShape.ROUND, 1), unit_of_measure="MLT"), "is a bead", ("bead",),
            id="bead without a length",
        ),
        pytest.param(
            part(bead=Bead(BeadShape.ROUND, 1), per_length=True), "is a bead", ("bead",),
            id="bead that is counted",
        ),
        pytest.param(
            part(bead=Bead(BeadShape.RECTANGLE, 1), per_length=True, unit_of_measure="MLT"),
            "depth does not go",
            ("bead", "depth"),
            id="rectangle without depth",
        ),
        pytest.param(
            part(bead=Bead(BeadShape.FILLET, 1, 1), per_length=True, unit_of_measure="MLT"),
            "depth does not go",
            ("bead", "depth"),
            id="fillet with a depth",
        ),
        pytest.param(
            part(packing=Packing(Weight(Fraction(1), per_metre=True))),
            "weighed by the metre",
            ("weight",),
            id="weight of a metre of what is counted",
        ),
        pytest.param(
            replace(BARS, waste=Decimal("0.1")), "the cut plan leaves", ("waste",), id="bar waste"
        ),
        pytest.param(
            replace(BARS, packing=Packing(Weight(Fraction(1)))),
            "weighed by the metre or foot",
            ("weight",),
            id="weight of a bar of any length",
        ),
    ],
)  # fmt: skip
def test_a_rule_that_cannot_be_meant_is_refused(rule, message, where):
    with pytest.raises(UnknownReference, match=message) as refusal:
        take_off(small_deck(), parts_list([rule]))
    assert refusal.value.where == ("system", "parts", 0, *where)
    assert refusal.value.advice


def weighed(kg, *, per_metre=False, **packed):
    return Packing(Weight(Fraction(kg), per_metre), **packed)


def shipped(*rules):
    """Take off and buy two bars of each stock."""
    takeoff = take_off(small_deck(), parts_list(rules))
    plans = [
        CutPlan(
            demand.material,
            tuple(Bar(demand.stocks[0].sku, inches(96), (), 0) for _ in range(2)),
            Decimal(1), Decimal(1), True, True, Decimal(1), "",
        )
        for demand in takeoff.demands
    ]  # fmt: skip
    return ship(with_cut_plans(takeoff, plans).items)


def test_weight_is_that_of_whole_packs_and_whole_bars():
    """5 packs of 10 pickets at 0.3 kg, 2 bars of 8 ft at 1 lb/ft: 15 kg + 16 x 0.45359237 kg."""
    pound_per_foot = Fraction("0.45359237") / Fraction("0.3048")
    shipping = shipped(
        part("PK", "picket", category="picket", pack_size=50, packing=weighed("0.3")),
        replace(BARS, packing=weighed(pound_per_foot, per_metre=True)),
    )
    assert shipping.weight_kg == 15 + 16 * Fraction("0.45359237")
    assert shipping.notes == ()
    assert (shipping.packages, shipping.packages_unknown) == (None, ("PK", "BAR-8"))


def test_a_part_without_a_weight_is_named_and_not_taken_for_nothing():
    shipping = shipped(part("CAP", "post", packing=weighed("0.05")), part("PEN", "deck"))
    assert shipping.weight_kg == Fraction("0.2")
    assert shipping.weight_unknown == ("PEN",)
    assert shipping.notes[0] == "Weight not known for: PEN."


def test_no_weight_at_all_is_no_weight():
    assert shipped(part("PEN", "deck")).weight_kg is None


@pytest.mark.parametrize(
    ("rules", "longest", "length_nm"),
    [
        pytest.param([part("POST", "post", category="post"), BARS], "BAR-8", inches(96), id="bar"),
        pytest.param(
            [part("POST", "post", category="post"), part("PK", "picket", category="picket")],
            "POST",
            inches(50),
            id="the longest post",
        ),
        pytest.param(
            [part("POST", "post", category="post", packing=Packing(length_nm=inches(54)))],
            "POST",
            inches(54),
            id="its package says more",
        ),
        pytest.param([part("CAP", "post")], "", None, id="a cap is not as long as its post"),
    ],
)
def test_the_longest_package(rules, longest, length_nm):
    shipping = shipped(*rules)
    assert (shipping.longest, shipping.longest_nm) == (longest, length_nm)


def test_packages_hold_so_many():
    """29 pickets in bundles of 12 make 3, 4 posts one by one make 4; the pen is left out."""
    shipping = shipped(
        part("PK", "picket", packing=Packing(holds=12)),
        part("P", "post", packing=Packing(holds=1)),
        part("PEN", "deck", packing=weighed("0.02")),
    )
    assert (shipping.packages, shipping.packages_unknown) == (7, ("PEN",))
    assert shipping.notes[1] == "Number of packages not known for: PEN."
