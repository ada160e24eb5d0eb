"""Lines add up to totals, to the minor unit, whatever is quoted."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.money import minor_unit
from service.domain.pricing.price_table import PriceRow, PriceTable
from service.domain.pricing.quote import price
from service.domain.pricing.settings import PricingSettings, Tax
from service.domain.takeoff.parts import Item, LabourItem

DAY = date(2026, 11, 25)
amounts = st.decimals(0, 10_000, places=4)
quantities = st.integers(1, 10_000).map(Decimal)
rates = st.decimals(0, 1, places=5)
kinds = st.sets(st.sampled_from(["goods", "labour"])).map(frozenset)
currencies = st.sampled_from(["USD", "CAD", "EUR", "JPY", "KWD", "CLF"])


@st.composite
def quotes(draw):
    wanted = draw(st.lists(st.tuples(quantities, amounts), max_size=12))
    items = [Item(f"A{n}", "", "", q, q, "C62", 1, ()) for n, (q, _) in enumerate(wanted)]
    rows = {f"A{n}": (PriceRow(f"A{n}", p, "C62"),) for n, (_, p) in enumerate(wanted)}
    minutes = draw(st.lists(st.decimals(0, 5_000, places=3), max_size=4))
    labour = [LabourItem(f"T{n}", m, ()) for n, m in enumerate(minutes)]
    table = PriceTable("any", draw(currencies), rows)
    taxes = draw(st.lists(st.tuples(rates, kinds), max_size=3))
    named = tuple(Tax(f"tax {n}", rate, kind) for n, (rate, kind) in enumerate(taxes))
    labour_rate = draw(st.none() | amounts)
    return items, labour, table, PricingSettings(labour_rate, named), DAY


def half_up(exact: Fraction, currency: str) -> Decimal:
    """Round by integers, without the decimal module's rounding."""
    step = minor_unit(currency)
    steps = (2 * exact / Fraction(step) + 1) // 2
    return Decimal(int(steps)) * step


@settings(max_examples=400, deadline=None)
@given(quotes())
def test_totals_are_the_sums_of_what_is_printed(quote):
    priced = price(*quote)
    lines, totals = priced.lines, priced.totals
    currency, taxes = quote[2].currency, quote[3].taxes

    def added(values):
        return sum((value.amount for value in values), start=Decimal(0))

    assert totals.goods.amount == added(line.net for line in lines if line.kind == "goods")
    assert totals.labour.amount == added(line.net for line in lines if line.kind == "labour")
    assert totals.net == totals.goods + totals.labour
    assert totals.tax.amount == added(line.tax for line in lines)
    assert totals.tax.amount == added(tax.amount for tax in totals.taxes)
    assert totals.gross == totals.net + totals.tax
    assert [tax.name for tax in totals.taxes] == [tax.name for tax in taxes]
    for total in totals.taxes:
        of_lines = [t.amount for line in lines for t in line.taxes if t.name == total.name]
        assert total.amount.amount == added(of_lines)
    assert totals.gross.amount % minor_unit(currency) == 0


@settings(max_examples=200, deadline=None)
@given(quotes())
def test_each_line_is_quantity_times_price_rounded_once(quote):
    lines = price(*quote).lines
    items, labour, table, terms, _ = quote
    charged = len(labour) if terms.labour_rate is not None else 0
    assert [line.number for line in lines] == list(range(1, len(items) + charged + 1))
    for line in lines:
        exact = Fraction(line.quantity) * Fraction(line.unit_price.amount)
        assert line.net.amount == half_up(exact, table.currency)
        applying = [tax for tax in terms.taxes if line.kind in tax.applies_to]
        assert [t.name for t in line.taxes] == [tax.name for tax in applying]
        for component in line.taxes:
            exact = Fraction(line.net.amount) * Fraction(component.rate)
            assert component.amount.amount == half_up(exact, table.currency)


@given(st.decimals(0, 100_000, places=6))
def test_charged_hours_are_within_half_a_hundredth_of_the_minutes(minutes):
    error = Fraction(LabourItem("T", minutes, ()).hours) - Fraction(minutes) / 60
    assert Fraction(-1, 200) < error <= Fraction(1, 200)
