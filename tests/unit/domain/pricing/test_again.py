import random
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from service.domain.errors import CurrencyMismatch, InvalidPricing, NoPriceInForce
from service.domain.pricing.again import price_again
from service.domain.pricing.dealers_view import dealers_view
from service.domain.pricing.material import MaterialLine, Part, material_of
from service.domain.pricing.price_table import PriceRow, PriceTable
from service.domain.pricing.quote import price
from service.domain.pricing.settings import (
    Freight,
    FreightBand,
    LabourRate,
    MinimumCharge,
    PricingSettings,
)
from service.domain.takeoff.parts import Item, LabourItem
from tests.properties.test_pricing_rules import DAY, job_of

POST = Part("goods", "P", "", "post", "C62", 1, "")


def plain(priced):
    """What prices do not touch is not kept with the material."""
    lines = [replace(line, elements=(), length_nm=None, description="") for line in priced.lines]
    drafts = [replace(d, elements=(), length_nm=None, description="") for d in priced.drafts]
    return replace(priced, lines=tuple(lines), drafts=tuple(drafts), conditions=())


def outcome(way, *job):
    """Give what is priced, or why it is not."""
    try:
        return way(*job)
    except InvalidPricing as error:
        return error.detail


def test_material_is_priced_as_the_items_it_was_made_of():
    """Under the first table, and under another with every price moved."""
    rng, same = random.Random(7), 0
    for _ in range(1500):
        items, labour, table, terms, day = job_of(rng)
        try:
            first = price(items, labour, table, terms, day)
        except InvalidPricing:
            continue
        kept = material_of(items, labour, first, terms)
        rows = {
            sku: tuple(
                replace(row, unit_price=row.unit_price and row.unit_price * rng.randrange(9))
                for row in of_sku
            )
            for sku, of_sku in table.rows.items()
        }
        for prices in (table, replace(table, rows=rows)):
            fresh = outcome(price, items, labour, prices, terms, day)
            again = outcome(price_again, kept, prices, terms, day, table.currency)
            if isinstance(fresh, str):
                assert again == fresh
                continue
            assert plain(again) == plain(fresh)
            assert dealers_view(again, terms).costs.total == dealers_view(fresh, terms).costs.total
            same += 1
    assert same > 2500


def test_material_holds_what_does_not_follow_from_prices():
    items = [Item("P", "Post", "post", Decimal(3), Decimal(4), "C62", 2, ("P1",), 5)]
    labour = [
        LabourItem("Sweep", Decimal(60), (), "yard"),
        LabourItem("Set posts", Decimal(100), ("P1",), "fitting"),
    ]
    table = PriceTable("Spring", "USD", {"P": (PriceRow("P", Decimal("1.5"), "C62"),)})
    terms = PricingSettings(
        None,
        (),
        labour_rates=(LabourRate("fitting", Decimal(60)),),
        freight=Freight("Carriage", "B", (FreightBand("B", None, Decimal("20.004")),)),
        minimum=MinimumCharge("Small order", Decimal(500)),
    )
    priced = price(items, labour, table, terms, DAY)
    assert [line.kind for line in priced.lines] == ["goods", "labour", "charge", "charge"]
    assert material_of(items, labour, priced, terms) == (
        MaterialLine(Part("goods", "P", "", "post", "C62", 2, ""), Decimal(4), Decimal("6.00")),
        MaterialLine(
            Part("labour", "", "Set posts", "fitting", "HUR", None, ""),
            Decimal("1.67"),
            Decimal("100.20"),
        ),
        MaterialLine(
            Part("charge", "", "Carriage", "freight", "C62", None, "charge"),
            Decimal(1),
            Decimal("20.00"),
        ),
    )


def test_a_part_without_price_is_named():
    kept = [MaterialLine(POST, Decimal(4), Decimal(1))]
    with pytest.raises(NoPriceInForce, match="has no price for P") as refused:
        price_again(kept, PriceTable("S", "USD", {}), PricingSettings(None, ()), DAY, "USD")
    assert refused.value.skus == ("P",)


def test_a_table_in_another_currency_prices_nothing():
    with pytest.raises(CurrencyMismatch, match="The quote is in CAD"):
        price_again((), PriceTable("S", "USD", {}), PricingSettings(None, ()), DAY, "CAD")


def test_prices_are_those_of_the_day():
    rows = (
        PriceRow("P", Decimal(5), "C62"),
        PriceRow("P", Decimal(7), "C62", effective_from=date(2026, 12, 1)),
    )
    table, kept = PriceTable("S", "USD", {"P": rows}), [MaterialLine(POST, Decimal(2), Decimal(0))]
    totals = [
        price_again(kept, table, PricingSettings(None, ()), day, "USD").totals.gross.amount
        for day in (date(2026, 11, 30), date(2026, 12, 1))
    ]
    assert totals == [Decimal(10), Decimal(14)]


def test_conditions_stay():
    again = price_again(
        (), PriceTable("S", "USD", {}), PricingSettings(None, ()), DAY, "USD", ("No carriage.",)
    )
    assert again.conditions == ("No carriage.",)
