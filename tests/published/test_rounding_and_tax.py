"""Published rounding and tax examples.

Sources
- R.I. Gen. Laws 44-18.1-25 (Streamlined Sales and Use Tax Agreement, section 324, "Rounding
  rule"): tax is carried to the third decimal place and rounded up to the next cent whenever the
  third decimal place is greater than four; on an item or an invoice basis.
- Microsoft Learn, "Tax calculation rounding rules" (Dynamics 365 Finance): table of 987.345 under
  rounding method Normal.
- OpenPEPPOL, peppol-bis-invoice-3, rules/national-examples/NO/Norwegian-example-1.xml: tax
  subtotals of an EN 16931 invoice.
- OpenPEPPOL, peppol-bis-invoice-3, guide/syntax/snippets/vat-calc.xml: lines and tax subtotals
  (its allowance and charge, which are not lines, are left out here).
- Tucasi help page "VAT calculations and rounding", citing HMRC VAT Guide (Notice 700), section
  17.5: ten lines of 11.31 at 20 %.
"""

from datetime import date
from decimal import Decimal

import pytest

from service.domain.pricing.price_table import PriceRow, PriceTable
from service.domain.pricing.quote import price
from service.domain.pricing.settings import PricingSettings, Tax
from service.domain.pricing.tax import Taxable, taxes_on
from service.domain.takeoff.parts import Item

DAY = date(2026, 11, 25)
GOODS = frozenset({"goods"})


def quoted(currency, lines, *taxes):
    """Price (unit price, quantity) lines as one quote."""
    items = [
        Item(f"L{n}", "", "", Decimal(quantity), Decimal(quantity), "C62", 1, ())
        for n, (_, quantity) in enumerate(lines)
    ]
    rows = {f"L{n}": (PriceRow(f"L{n}", Decimal(p), "C62"),) for n, (p, _) in enumerate(lines)}
    settings = PricingSettings(None, tuple(Tax(name, Decimal(rate), GOODS) for name, rate in taxes))
    priced = price(items, [], PriceTable("published", currency, rows), settings, DAY)
    return priced.lines, priced.totals


def tax_on(amount, rate, currency="USD"):
    settings = PricingSettings(None, (Tax("tax", Decimal(rate), GOODS),))
    ((tax,),) = taxes_on([Taxable(Decimal(amount), "goods")], settings, currency)
    return tax.amount.amount


@pytest.mark.parametrize("third_decimal", range(10))
def test_rhode_island_rounds_up_above_a_third_decimal_of_four(third_decimal):
    # A tax of 0.12d dollars on 1.00.
    rate = f"0.12{third_decimal}"
    assert tax_on("1.00", rate) == Decimal("0.13" if third_decimal > 4 else "0.12")


def test_microsoft_normal_rounding_of_987_345():
    lines, _ = quoted("USD", [("987.345", "1")])
    assert str(lines[0].net.amount) == "987.35"  # half to even would give 987.34
    lines, _ = quoted("JPY", [("987.345", "1")])
    assert str(lines[0].net.amount) == "987"


@pytest.mark.parametrize(
    ("taxable", "rate", "tax"),
    [
        pytest.param("1460.5", "0.25", "365.13", id="standard: 365.125, half to even is 365.12"),
        pytest.param("1", "0.15", "0.15", id="reduced"),
        pytest.param("-25", "0", "0.00", id="exempt"),
    ],
)
def test_norwegian_example_tax_subtotals(taxable, rate, tax):
    assert tax_on(taxable, rate, "NOK") == Decimal(tax)


def test_vat_calc_lines():
    lines, _ = quoted("EUR", [("400", "10"), ("200", "10"), ("90", "10")])
    assert [str(line.net.amount) for line in lines] == ["4000.00", "2000.00", "900.00"]
    assert tax_on("5000.0", "0.25", "EUR") == Decimal("1250.00")


def test_hmrc_line_calculation_of_ten_sessions():
    _, by_line = quoted("GBP", [("11.31", "1")] * 10, ("VAT", "0.20"))
    assert (str(by_line.net.amount), str(by_line.gross.amount)) == ("113.10", "135.70")
    _, as_one_line = quoted("GBP", [("11.31", "10")], ("VAT", "0.20"))
    assert (str(as_one_line.tax.amount), str(as_one_line.gross.amount)) == ("22.62", "135.72")
