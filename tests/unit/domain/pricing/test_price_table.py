from datetime import date
from decimal import Decimal

import pytest

from service.domain.errors import NoPriceInForce
from service.domain.pricing.price_table import PriceRow, PriceTable
from service.domain.pricing.rows import rows_for
from service.domain.takeoff.parts import Item

MARCH, JUNE = date(2026, 3, 1), date(2026, 6, 1)


def row(price, **changes):
    changes = {k: Decimal(v) if k == "min_quantity" else v for k, v in changes.items()}
    return PriceRow("post", Decimal(price), "C62", **changes)


TABLE = PriceTable(
    "Spring",
    "USD",
    {
        "post": (
            row("36", min_quantity="10", effective_from=MARCH),
            row("40"),
            row("38", min_quantity="10"),
            row("39", effective_from=MARCH),
            row("30", min_quantity="100", effective_from=MARCH),
            row("45", effective_from=JUNE),
        )
    },
)


@pytest.mark.parametrize(
    ("quantity", "on", "price"),
    [
        pytest.param("1", date(2026, 2, 28), "40", id="before any dated row"),
        pytest.param("9.99", date(2026, 2, 28), "40", id="just below the break"),
        pytest.param("10", date(2026, 2, 28), "38", id="at the break"),
        pytest.param("9", MARCH, "39", id="on the first day"),
        pytest.param("10", MARCH, "36", id="break of that day"),
        pytest.param("100", MARCH, "30", id="the largest break reached"),
        pytest.param("100", JUNE, "45", id="older breaks end with their day"),
    ],
)
def test_the_row_in_force(quantity, on, price):
    assert TABLE.price_row("post", Decimal(quantity), on).unit_price == Decimal(price)


def test_a_part_may_have_no_row_in_force():
    assert TABLE.price_row("rail", Decimal(1), JUNE) is None
    dear = PriceTable("", "USD", {"post": (row("1", min_quantity="5"),)})
    assert dear.price_row("post", Decimal(4), JUNE) is None
    late = PriceTable("", "USD", {"post": (row("1", effective_from=JUNE),)})
    assert late.price_row("post", Decimal(1), MARCH) is None


def post(**changes):
    fields = {"unit_of_measure": "C62", "pack_size": 1, "elements": (), **changes}
    return Item("post", "", "", Decimal(4), Decimal(4), **fields)


def test_a_part_whose_price_comes_later_is_named_with_the_day():
    table = PriceTable("Spring", "USD", {"post": (row("1", effective_from=JUNE),)})
    with pytest.raises(NoPriceInForce, match="no row is in force on 2026-03-01") as refused:
        rows_for([post()], table, MARCH)
    assert refused.value.skus == ("post",)


def test_a_price_for_other_packs_is_refused_with_both_sizes():
    table = PriceTable("Spring", "USD", {"post": (row("1", pack_size=50),)})
    with pytest.raises(NoPriceInForce, match="packs of 25 and sold in packs of 50") as refused:
        rows_for([post(pack_size=25)], table, MARCH)
    assert (refused.value.skus, refused.value.where) == (("post",), ("price_table", "rows"))
    assert rows_for([post(pack_size=50)], table, MARCH)["post"].pack_size == 50
