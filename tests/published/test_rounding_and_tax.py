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
- mrp.com.my, "Calculating GST on Tax Invoices" (2016-08-05), examples 1 and 2: three pens at 1.77,
  6 % by line and by total.
- Wafeq developer reference, "Calculations and rounding": two lines at 5 % and 10 %.
- Revenu Québec, "Calculating the Taxes": 100.00 with GST of 5 % and QST of 9.975 %.
- It's Relative, "VAT fraction" (2014-06-11): VAT within 60 at 20 % and within 80 at 5 %.
- A New Tax System (Goods and Services Tax) Act 1999 (Australia), section 9-90 (2) (a): GST on
  several supplies of one invoice is added up unrounded and rounded once, 0.5 cents upwards. The
  rule is the Act's, the amounts are ours.
- Québec until 2012: QST of 9.5 % on the price with the GST (from memory); Revenu Québec's page
  above gives the rate of 9.975 % on the price alone, which is 9.5 % x 1.05.
- Prince Edward Island until March 2013: PST of 10 % on the price with the GST (from memory).
"""

from datetime import date
from decimal import Decimal

import pytest

from service.domain.pricing.price_table import PriceRow, PriceTable
from service.domain.pricing.quote import price
from service.domain.pricing.settings import PricingSettings, Tax, TaxPer
from service.domain.pricing.tax import Taxable, taxes_on
from service.domain.takeoff.parts import Item

DAY = date(2026, 11, 25)
GOODS = frozenset({"goods"})


def quoted(currency, lines, *taxes, **rules):
    """Price (unit price, quantity) lines as one quote."""
    items = [
        Item(f"L{n}", "", "", Decimal(quantity), Decimal(quantity), "C62", 1, ())
        for n, (_, quantity) in enumerate(lines)
    ]
    rows = {f"L{n}": (PriceRow(f"L{n}", Decimal(p), "C62"),) for n, (p, _) in enumerate(lines)}
    components = tuple(Tax(name, Decimal(rate), GOODS, *more) for name, rate, *more in taxes)
    settings = PricingSettings(None, components, **rules)
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


@pytest.mark.parametrize(
    ("tax_per", "tax", "payable"),
    [
        pytest.param(TaxPer.LINE, "0.33", "5.64", id="example 1: for each line item"),
        pytest.param(TaxPer.DOCUMENT, "0.32", "5.63", id="example 2: on the total of all items"),
    ],
)
def test_three_pens_by_line_and_by_total(tax_per, tax, payable):
    lines, totals = quoted("MYR", [("1.77", "1")] * 3, ("GST", "0.06"), tax_per=tax_per)
    assert (str(totals.net.amount), str(totals.tax.amount)) == ("5.31", tax)
    assert str(totals.gross.amount) == payable
    assert sum(line.gross.amount for line in lines) == totals.gross.amount


def test_two_lines_of_different_rates():
    taxes = [tax_on("45.30", "0.05"), tax_on("33.45", "0.10")]  # 2.265 and 3.345
    assert taxes == [Decimal("2.27"), Decimal("3.35")]
    assert Decimal("78.75") + sum(taxes) == Decimal("84.37")


def test_quebec_side_by_side():
    _, totals = quoted("CAD", [("100", "1")], ("GST", "0.05"), ("QST", "0.09975"))
    assert [str(tax.amount.amount) for tax in totals.taxes] == ["5.00", "9.98"]
    assert str(totals.gross.amount) == "114.98"


@pytest.mark.parametrize(
    ("rate", "tax", "gross"),
    [
        pytest.param("0.095", "9.98", "114.98", id="Quebec until 2012: 9.5 % of 105.00"),
        pytest.param("0.10", "10.50", "115.50", id="Prince Edward Island: 10 % of 105.00"),
    ],
)
def test_a_tax_on_the_price_with_another_tax(rate, tax, gross):
    _, totals = quoted("CAD", [("100", "1")], ("GST", "0.05"), ("provincial", rate, True))
    assert [str(one.amount.amount) for one in totals.taxes] == ["5.00", tax]
    assert str(totals.gross.amount) == gross
    _, taken_out = quoted(
        "CAD", [(gross, "1")], ("GST", "0.05"), ("provincial", rate, True), tax_included=True
    )
    # 114.98 holds 9.97545: back and forth by way of the rounded price may differ by a cent.
    assert abs(taken_out.net.amount - 100) <= Decimal("0.01")
    assert str(taken_out.gross.amount) == gross


@pytest.mark.parametrize(
    ("price_with_tax", "rate", "held"), [("60", "0.20", "10.00"), ("80", "0.05", "3.81")]
)
def test_the_tax_within_a_price(price_with_tax, rate, held):
    _, totals = quoted("GBP", [(price_with_tax, "1")], ("VAT", rate), tax_included=True)
    assert str(totals.tax.amount) == held
    assert totals.gross.amount == Decimal(price_with_tax)


@pytest.mark.parametrize(
    ("tax_per", "tax"),
    [
        pytest.param(TaxPer.DOCUMENT, "0.16", id="unrounded, added up, rounded: 1.80 / 11"),
        pytest.param(TaxPer.LINE, "0.15", id="three times 0.60 / 11 to the cent"),
    ],
)
def test_one_eleventh_of_three_prices(tax_per, tax):
    lines, totals = quoted(
        "AUD", [("0.60", "1")] * 3, ("GST", "0.10"), tax_included=True, tax_per=tax_per
    )
    assert str(totals.tax.amount) == tax
    assert str(totals.gross.amount) == "1.80"
    assert sum(line.tax.amount for line in lines) == totals.tax.amount
