"""Choosing the division of all runs together by what the order costs."""

from dataclasses import replace
from decimal import Decimal
from itertools import product

from service.domain.cutting.cut import cut
from service.domain.cutting.demand import StockLength
from service.domain.layout.choice_records import Preference, Wish
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout
from service.domain.lengths import inches
from service.domain.takeoff.parts import PartRule, PartsList, Shop
from service.usecases import choose_layout
from service.usecases.choose_layout import lay_out_as_wished
from service.usecases.take_off_railing import order_parts
from tests.unit.domain.layout.builders import FREE, one_run_deck, stair_deck

LEAST = Preference(Wish.LEAST_MATERIAL)
RAILS = PartRule(
    sku="rail",
    description="rail, plain stock",
    category="rail",
    per="rail",
    quantity=Decimal(1),
    unit_of_measure="C62",
    stock=tuple(StockLength(f"rail-{feet}", inches(12 * feet)) for feet in (8, 12)),
)
PARTS = PartsList((RAILS,), (), Shop(kerf_nm=inches(0, 1, 8)))


def bought(layout: Layout) -> Decimal:
    """Length of stock a layout takes. [mm]"""
    order = order_parts(layout, PARTS, None, cut)
    return sum((plan.cost for plan in order.cut_plans), Decimal(0))


def test_least_material_is_the_cheapest_of_all_combinations() -> None:
    deck = one_run_deck()
    listed = lay_out(deck, FREE, Preference(list_alternatives=True))
    ways = [
        bought(
            lay_out(
                deck,
                FREE,
                Preference(picks={c.run: i for c, i in zip(listed.choices, way, strict=True)}),
            )
        )
        for way in product(*(range(len(c.options)) for c in listed.choices))
    ]
    chosen = lay_out_as_wished(deck, FREE, LEAST, bought)
    assert bought(chosen) == min(ways)
    assert min(ways) < bought(lay_out(deck, FREE))
    assert any(f"of all {len(ways)} combinations" in note for note in chosen.notes)


def test_run_by_run_is_never_worse_than_the_rule(monkeypatch) -> None:
    monkeypatch.setattr(choose_layout, "MOST_WEIGHED", 12)
    deck = stair_deck()
    chosen = lay_out_as_wished(deck, FREE, LEAST, bought)
    assert bought(chosen) <= bought(lay_out(deck, FREE))
    assert any("run by run" in note for note in chosen.notes)


def test_without_an_order_to_weigh_the_rule_stands() -> None:
    chosen = lay_out_as_wished(stair_deck(), FREE, LEAST)
    assert chosen.sections == lay_out(stair_deck(), FREE).sections


def test_other_wishes_need_no_weighing() -> None:
    even = Preference(Wish.MOST_EVEN)

    def never(_: Layout) -> Decimal:
        raise AssertionError("weighed")

    chosen = lay_out_as_wished(stair_deck(), FREE, even, never)
    assert replace(chosen, choices=()) == replace(lay_out(stair_deck(), FREE, even), choices=())
