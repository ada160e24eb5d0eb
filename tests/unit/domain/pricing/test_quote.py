from datetime import date
from decimal import Decimal

import pytest

from service.domain.errors import NoPriceInForce, TooLarge
from service.domain.money import Money
from service.domain.pricing.price_table import PriceRow, PriceTable
from service.domain.pricing.quote import price as price_on
from service.domain.pricing.settings import PricingSettings, Tax
from service.domain.takeoff.parts import Item, LabourItem

GOODS_TAX = Tax("Sales tax", Decimal("0.0625"), frozenset({"goods"}))
CITY_TAX = Tax("City tax", Decimal("0.015"), frozenset({"goods", "labour"}))


DAY = date(2026, 11, 25)


def price(*job):
    priced = price_on(*job, DAY)
    return priced.lines, priced.totals


def item(sku="A-1", ordered="1", unit="C62", **changes):
    fields = {"description": f"{sku} described", "category": "trim", "pack_size": 1, **changes}
    return Item(
        sku=sku,
        needed=Decimal(ordered),
        ordered=Decimal(ordered),
        unit_of_measure=unit,
        elements=("P1",),
        **fields,
    )


def table(currency="USD", **prices):
    rows = {sku: (PriceRow(sku, Decimal(amount), "C62"),) for sku, amount in prices.items()}
    return PriceTable("Spring", currency, rows)


def settings(*taxes, labour_rate=None):
    return PricingSettings(None if labour_rate is None else Decimal(labour_rate), taxes)


def usd(amount):
    return Money(Decimal(amount), "USD")


def test_a_small_quote_by_pencil():
    # 4 posts at 38.25 = 153.00; 50 screws at 0.1299 = 6.495 -> 6.50; 1.67 h at 62.00 = 103.54.
    # Sales tax 6.25 %: 9.5625 -> 9.56 and 0.40625 -> 0.41. City tax 1.5 %: 2.295 -> 2.30,
    # 0.0975 -> 0.10 and 1.5531 -> 1.55.
    lines, totals = price(
        [item("post", "4"), item("screw", "50")],
        [LabourItem("Set posts", Decimal(100), ("P1", "P2"))],
        table(post="38.25", screw="0.1299"),
        settings(GOODS_TAX, CITY_TAX, labour_rate="62.00"),
    )
    assert [(line.number, line.kind, line.net) for line in lines] == [
        (1, "goods", usd("153.00")),
        (2, "goods", usd("6.50")),
        (3, "labour", usd("103.54")),
    ]
    assert [[(t.name, t.amount) for t in line.taxes] for line in lines] == [
        [("Sales tax", usd("9.56")), ("City tax", usd("2.30"))],
        [("Sales tax", usd("0.41")), ("City tax", usd("0.10"))],
        [("City tax", usd("1.55"))],
    ]
    assert [(t.name, t.amount) for t in totals.taxes] == [
        ("Sales tax", usd("9.97")),
        ("City tax", usd("3.95")),
    ]
    assert (totals.goods, totals.labour) == (usd("159.50"), usd("103.54"))
    assert (totals.net, totals.tax, totals.gross) == (usd("263.04"), usd("13.92"), usd("276.96"))


def test_a_line_says_what_it_is():
    lines, _ = price([item("post", "4", length_nm=7)], [], table(post="38.25"), settings())
    (line,) = lines
    assert (line.sku, line.description, line.category) == ("post", "post described", "trim")
    assert (line.quantity, line.unit_of_measure, line.unit_price) == (4, "C62", usd("38.25"))
    assert (line.elements, line.length_nm, line.tax) == (("P1",), 7, usd(0))


def test_labour_is_charged_by_the_printed_hours():
    task = LabourItem("Cut rails", Decimal(20), ("S1 top",))
    lines, totals = price([], [task], table(), settings(labour_rate="59.99"))
    (line,) = lines
    assert (line.quantity, line.unit_of_measure) == (Decimal("0.33"), "HUR")
    assert line.net == usd("19.80")  # 0.33 h x 59.99 = 19.7967; a third of an hour would be 20.00
    assert totals.goods == usd("0.00")


def test_without_a_labour_rate_labour_is_left_out():
    lines, totals = price([], [LabourItem("Cut", Decimal(20), ())], table(), settings(GOODS_TAX))
    assert lines == ()
    assert totals.labour == usd(0)
    assert [(tax.name, tax.amount) for tax in totals.taxes] == [("Sales tax", usd(0))]


def test_amounts_print_with_the_decimals_of_their_currency():
    _, in_yen = price([item(ordered="3")], [], table("JPY", **{"A-1": "99.5"}), settings(GOODS_TAX))
    assert (str(in_yen.net.amount), str(in_yen.tax.amount)) == ("299", "19")
    _, nothing = price([], [], table("KWD"), settings(GOODS_TAX))
    assert str(nothing.gross.amount) == "0.000"


def test_every_part_without_a_price_is_named_at_once():
    wanted = [item("A-1"), item("B-2"), item("C-3"), item("B-2")]
    with pytest.raises(NoPriceInForce, match="Spring has no price for A-1, B-2") as refusal:
        price(wanted, [], table(**{"C-3": "1"}), settings())
    assert refusal.value.skus == ("A-1", "B-2")
    assert refusal.value.where == ("price_table", "rows")


def test_a_price_for_another_unit_is_refused_with_both_units():
    with pytest.raises(NoPriceInForce, match="A-1 is ordered in MTR and priced per C62") as refusal:
        price([item(unit="MTR")], [], table(**{"A-1": "1"}), settings())
    assert refusal.value.skus == ("A-1",)
    assert refusal.value.advice


def test_a_price_of_zero_is_a_price():
    lines, _ = price([item()], [], table(**{"A-1": "0"}), settings())
    assert lines[0].net == usd(0)


def test_an_amount_past_the_bound_is_refused():
    with pytest.raises(TooLarge, match="The line A-1 comes to"):
        price([item(ordered="1E+9")], [], table(**{"A-1": "1E+4"}), settings())
