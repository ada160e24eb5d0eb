"""Edges of pricing many at once, by pencil and against pricing alone."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from service.domain.errors import CurrencyMismatch
from service.domain.pricing.many.chunk import Came, Chunk
from service.domain.pricing.many.price_many import price_many
from service.domain.pricing.many.resolved import ManyPrices
from service.domain.pricing.material import MaterialLine, Part
from service.domain.pricing.price_table import PriceRow, PriceTable
from service.domain.pricing.settings import (
    Discount,
    DiscountRule,
    Half,
    LabourRate,
    MinimumCharge,
    PaymentTerm,
    PricingSettings,
    Tax,
    TaxPer,
)
from tests.properties.many_quotes import DAY, check

PART = Part("goods", "A", "", "post", "C62", 1, "")
OTHER = Part("goods", "B", "", "rail", "C62", 1, "")
TASK = Part("labour", "", "Set posts", "", "HUR", None, "")
CARRIAGE = Part("charge", "", "Carriage", "freight", "C62", None, "charge")
PLAIN = PricingSettings(None, ())
SALES = Tax("Sales", Decimal("0.0725"), frozenset({"goods", "labour", "charge"}))


def table(currency="USD", **prices):
    rows = {sku: (PriceRow(sku, Decimal(price), "C62"),) for sku, price in prices.items()}
    return PriceTable("Spring", currency, rows)


def line(quantity, part=PART, amount="0"):
    return MaterialLine(part, Decimal(quantity), Decimal(amount))


def many(quotes, prices, rules=PLAIN, parts=(PART, OTHER, TASK, CARRIAGE)):
    """Price quotes, each held against pricing it alone."""
    return check(quotes, list(parts), prices, rules)


@pytest.mark.parametrize(
    ("currency", "price", "half", "minor"),
    [
        pytest.param("USD", "0.125", Half.UP, 13, id="a half cent goes up"),
        pytest.param("USD", "0.125", Half.EVEN, 12, id="to the even cent below"),
        pytest.param("USD", "0.135", Half.EVEN, 14, id="to the even cent above"),
        pytest.param("JPY", "2.5", Half.EVEN, 2, id="yen have no decimals"),
        pytest.param("JPY", "2.5", Half.UP, 3, id="half a yen goes up"),
        pytest.param("KWD", "0.0005", Half.UP, 1, id="fils are thousandths"),
        pytest.param("KWD", "0.0005", Half.EVEN, 0, id="half a fils to nothing"),
        pytest.param("USD", "0", Half.UP, 0, id="nothing"),
    ],
)
def test_halves(currency, price, half, minor):
    priced = many([[line(1)]], table(currency, A=price), replace(PLAIN, half=half))
    assert (priced.gross.tolist(), priced.singly) == ([minor], 0)


def test_a_break_holds_from_its_quantity_on():
    rows = tuple(
        PriceRow("A", Decimal(price), "C62", min_quantity=Decimal(least))
        for price, least in ((5, "0"), (4, "10"), (3, "10.5"))
    )
    quantities = ["9.999999", "10", "10.499999", "10.5", "0"]
    priced = many([[line(q)] for q in quantities], PriceTable("S", "USD", {"A": rows}))
    assert priced.gross.tolist() == [5000, 4000, 4200, 3150, 0]
    assert priced.singly == 0


def test_below_the_first_break_there_is_no_price():
    row = PriceRow("A", Decimal(5), "C62", min_quantity=Decimal(3))
    priced = many([[line("2.999999")], [line(3)]], PriceTable("S", "USD", {"A": (row,)}))
    assert priced.came.tolist() == [Came.NO_PRICE, Came.PRICED]
    assert (priced.skus, priced.singly) == ({0: ("A",)}, 0)


def test_of_several_complaints_the_first_is_made():
    parts = [Part("goods", sku, "", "post", "C62", 1, "") for sku in "ABCD"]
    rows = {
        "A": (PriceRow("A", None, "C62", cost=Decimal(1)),),
        "B": (PriceRow("B", Decimal(1), "C62", pack_size=6),),
        "C": (PriceRow("C", Decimal(1), "MTR"),),
    }
    quotes = [[line(1, part) for part in parts[:n]] for n in (1, 2, 3, 4)]
    priced = many(quotes, PriceTable("S", "USD", rows), parts=parts)
    assert priced.skus == {0: ("A",), 1: ("B",), 2: ("C",), 3: ("D",)}
    assert priced.singly == 0


def test_quotes_without_lines():
    rules = replace(
        PLAIN,
        taxes=(SALES,),
        minimum=MinimumCharge("Small", Decimal("99.995")),
        quote_discount=Discount("off", rate=Decimal("0.1")),
        tax_included=True,
        tax_per=TaxPer.DOCUMENT,
    )
    assert many([[], [line(1)], []], table(A="10"), rules).gross.tolist() == [10000] * 3
    assert many([[], []], table(), PLAIN, parts=()).gross.tolist() == [0, 0]
    assert many([[]], table(), replace(PLAIN, taxes=(SALES,)), parts=()).gross.tolist() == [0]
    assert len(many([], table(), rules).gross) == 0


def test_shares_of_a_discount_go_to_the_largest_remainder_the_earlier_first():
    """10 cents off three equal lines: 4, 3 and 3; the tax of each line shows whose is which."""
    parts = [Part("goods", sku, "", "post", "C62", 1, "") for sku in "ABC"]
    rows = {s: (PriceRow(s, Decimal(1), "C62", cost=Decimal(0)),) for s in "A"} | {
        s: (PriceRow(s, Decimal(1), "C62"),) for s in "BC"
    }
    rules = replace(PLAIN, quote_discount=Discount("off", amount=Decimal("0.10")))
    priced = many([[line(1, p) for p in parts]], PriceTable("S", "USD", rows), rules, parts=parts)
    assert (priced.discount.tolist(), priced.cost_net.tolist()) == ([10], [96])


def test_figures_that_pass_64_bits_are_priced_one_by_one():
    """Beside an ordinary quote, which is not."""
    prices = table(A="987654321.123456", B="1")
    quotes = [[line("999.999999")], [line("2", OTHER)], [line("999999.999999")]]
    priced = many(quotes, prices)
    assert priced.singly == 2
    assert priced.came.tolist() == [Came.PRICED, Came.PRICED, Came.REFUSED]
    assert priced.gross.tolist()[:2] == [98765432013580, 200]


def test_a_line_of_the_largest_amount_is_told_from_one_above():
    prices = table(A="1")
    priced = many([[line(10**12)], [line("1000000000000.01")], [line("999999999999.99")]], prices)
    assert priced.came.tolist() == [Came.PRICED, Came.REFUSED, Came.PRICED]
    assert priced.refusals[1].startswith("The line A comes to 1.00E+12")


@pytest.mark.parametrize("included", [False, True])
@pytest.mark.parametrize("per", list(TaxPer))
def test_large_amounts_with_taxes(included, per):
    """From cents to beyond what fits, so that every bound is met on one side and on the other."""
    rules = replace(
        PLAIN,
        taxes=(SALES, replace(SALES, name="Two", rate=Decimal("0.123457"), compound=True)),
        tax_included=included,
        tax_per=per,
        quote_discount=Discount("off", rate=Decimal("0.333333")),
        discounts=(DiscountRule(Discount("own", rate=Decimal("0.123456"))),),
        minimum=MinimumCharge("Small", Decimal("0.015")),
    )
    quotes = [[line(10**n, OTHER), line(7 * 10**n)] for n in range(11)]
    priced = many(quotes, table(A="1.234567", B="0.765433"), rules)
    assert 0 < priced.singly < 11
    assert all(one == Came.PRICED for one in priced.came)


def test_a_cost_beyond_what_is_kept_is_refused_and_not_wrong():
    rows = {"A": (PriceRow("A", Decimal(0), "C62", cost=Decimal(10) ** 12),)}
    prices = ManyPrices([PART], PriceTable("S", "USD", rows), PLAIN, DAY, "USD")
    one = np.array([10**12 * 10**6])
    chunk = Chunk(np.array([0, 1]), np.array([0]), one, np.array([0]))
    priced = price_many(chunk, prices)
    assert priced.came.tolist() == [Came.REFUSED]
    assert "more than 9223372036854775807 of the smallest unit" in priced.refusals[0]


def test_a_sum_beyond_what_is_kept_is_refused_and_not_wrong():
    """Each of its lines fits; the UF of Chile has four decimals."""
    lines, parts = 1100, np.zeros(1100, np.int64)
    quantities = np.full(lines, 9 * 10**17)
    prices = ManyPrices([PART], table("CLF", A="1"), PLAIN, DAY, "CLF")
    priced = price_many(Chunk(np.array([0, lines]), parts, quantities, parts), prices)
    assert priced.came.tolist() == [Came.REFUSED]
    fewer = Chunk(np.array([0, 1000]), parts[:1000], quantities[:1000], parts[:1000])
    assert price_many(fewer, prices).gross.tolist() == [9 * 10**18]


def test_one_sku_twice_counts_where_a_break_may_differ():
    """A break is found by the quantity of the last line of a SKU; such a quote goes alone."""
    rows = (
        PriceRow("A", Decimal(5), "C62"),
        PriceRow("A", Decimal(4), "C62", min_quantity=Decimal(10)),
    )
    quotes = [[line(12), line(3)], [line(3), line(12)], [line(12)]]
    priced = many(quotes, PriceTable("S", "USD", {"A": rows}))
    assert (priced.gross.tolist(), priced.singly) == ([7500, 6000, 4800], 2)
    assert many(quotes, table(A="5")).singly == 0


def test_two_parts_of_one_sku_are_priced_by_the_last():
    rail = replace(PART, category="rail")
    discount = DiscountRule(Discount("rails", rate=Decimal("0.5")), category="rail")
    quotes = [[line(1), line(1, rail)], [line(1)], [line(1, rail)]]
    priced = many(quotes, table(A="8"), replace(PLAIN, discounts=(discount,)), parts=[PART, rail])
    assert (priced.gross.tolist(), priced.singly) == ([1200, 800, 400], 1)


def test_tasks_that_no_rate_charges_come_to_nothing():
    rules = replace(PLAIN, labour_rates=(LabourRate("yard", Decimal(50)),))
    yard = replace(TASK, category="yard")
    quotes = [[line(2), line("1.5", TASK), line("1.5", yard)]]
    priced = many(quotes, table(A="10"), rules, parts=[PART, TASK, yard])
    assert (priced.amounts.tolist(), priced.gross.tolist()) == ([2000, 0, 7500], [9500])


@pytest.mark.parametrize(
    ("lines", "reason"),
    [
        pytest.param([line(1, TASK), line(1)], "order", id="out of order"),
        pytest.param([line(1), line("1.005", TASK)], "hours", id="hours finer than 0.01"),
        pytest.param([line(1), line(1, CARRIAGE, "-5")], "below", id="a credit as a charge"),
        pytest.param([line(-1), line(2, OTHER)], "below", id="a quantity below zero"),
    ],
)
def test_what_does_not_fit_the_form_is_priced_one_by_one(lines, reason):
    rules = replace(PLAIN, labour_rate=Decimal(60))
    priced = many([[line(1)], lines], table(A="10", B="10"), rules)
    assert priced.singly == 1, reason


def test_refusals_say_what_pricing_alone_says():
    rules = replace(PLAIN, quote_discount=Discount("Coupon", amount=Decimal(15)))
    priced = many([[line(1)], [line(2)]], table(A="10"), rules)
    assert priced.came.tolist() == [Came.REFUSED, Came.PRICED]
    assert "The discount Coupon of 15.00 is more than the 10.00" in priced.refusals[0]
    terms = (PaymentTerm("on order", amount=Decimal(15)), PaymentTerm("on completion"))
    priced = many([[line(1)], [line(2)]], table(A="10"), replace(PLAIN, payments=terms))
    assert "more than the gross of 10.00" in priced.refusals[0]
    fixed = (PaymentTerm("on order", amount=Decimal(10)),)
    priced = many([[line(1)], [line(2)]], table(A="10"), replace(PLAIN, payments=fixed))
    assert (priced.came.tolist(), list(priced.refusals)) == ([0, 2], [1])


def test_a_class_that_nothing_bears_refuses_all_but_what_has_no_price():
    tax = Tax("Reduced", Decimal("0.05"), frozenset({"reduced"}))
    priced = many([[line(1)], [line(1, OTHER)]], table(A="10"), replace(PLAIN, taxes=(tax,)))
    assert priced.came.tolist() == [Came.REFUSED, Came.NO_PRICE]
    assert priced.singly == 0


def test_a_class_that_no_tax_names_is_refused_by_name():
    rows = {"A": (PriceRow("A", Decimal(1), "C62", tax_class="luxury"),)}
    rules = replace(PLAIN, taxes=(replace(SALES, applies_to=frozenset({"goods"})),))
    priced = many([[line(1)]], PriceTable("S", "USD", rows), rules)
    assert "'luxury' of A" in priced.refusals[0]


def test_a_table_in_another_currency():
    with pytest.raises(CurrencyMismatch, match="The quotes are in CAD"):
        ManyPrices([], table(), PLAIN, DAY, "CAD")
