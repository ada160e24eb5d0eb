"""Quotations of the Universal Business Language 2.1.

Source: OASIS Standard UBL 2.1, 4 November 2013. The schema itself is not kept here: where
``EVENBAY_UBL_XSD`` names a copy of maindoc/UBL-Quotation-2.1.xsd with its common components beside
it, and lxml is installed, every quotation is validated against it. Everywhere, its order of
elements and its compulsory ones are held against ``ubl_2_1_order.json``, read from that schema.
"""

import json
import os
from decimal import Decimal
from pathlib import Path
from xml.etree import ElementTree

import iso4217
import pytest

from service.adapters.sheets.quote_ubl import NAMESPACES, render
from service.domain.pricing.units import UNITS_OF_MEASURE
from tests.unit.adapters.sheets import quotes

ORDER = json.loads(Path(__file__).with_name("ubl_2_1_order.json").read_text("utf-8"))
XSD = os.environ.get("EVENBAY_UBL_XSD", "")
CAC, CBC = (f"{{{NAMESPACES[prefix]}}}" for prefix in ("xmlns:cac", "xmlns:cbc"))
HOSTILE = "<b> & \x00 \ufffe ]]> \u202e é"
CASES = [
    *quotes.answered(),
    quotes.small(),
    {**quotes.small(), "valid_until": "2026-12-31"},
    quotes.of_products([]),
    quotes.of_products(quotes.halves(40, Decimal(1)), "JPY", (Decimal("0.1"), Decimal("0.08")), 30),
    quotes.hostile(HOSTILE),
    *quotes.of_rules().values(),
]
each_quote = pytest.mark.parametrize("quote", CASES, ids=range(len(CASES)))


def quotation(quote):
    return ElementTree.fromstring(render(quote, seller=HOSTILE, buyer="A buyer"))


def name(element):
    for prefix in ("cac", "cbc"):
        namespace = f"{{{NAMESPACES[f'xmlns:{prefix}']}}}"
        if element.tag.startswith(namespace):
            return element.tag.replace(namespace, f"{prefix}:")
    return element.tag.partition("}")[2]


@pytest.mark.skipif(not XSD, reason="EVENBAY_UBL_XSD names no schema")
@each_quote
def test_the_schema_of_oasis_accepts_it(quote):
    etree = pytest.importorskip("lxml.etree")
    schema = etree.XMLSchema(etree.parse(XSD))
    schema.assertValid(etree.fromstring(render(quote, seller=HOSTILE, buyer="A buyer")))
    schema.assertValid(etree.fromstring(render(quote)))


@each_quote
def test_elements_stand_in_the_published_order(quote):
    for element in quotation(quote).iter():
        children = [name(child) for child in element]
        if not children:
            continue
        known = ORDER[name(element)].split()
        plain = [entry.rstrip("*!") for entry in known]
        assert [plain.index(child) for child in children] == sorted(map(plain.index, children))
        for entry, child in zip(known, plain, strict=True):
            most = len(children) if "*" in entry else 1
            assert ("!" in entry) <= children.count(child) <= most, (name(element), child)


@each_quote
def test_amounts_bear_currencies_and_quantities_bear_units(quote):
    currencies = {currency.code for currency in iso4217.Currency}
    for element in quotation(quote).iter():
        if name(element).endswith("Amount"):
            assert element.get("currencyID") in currencies
        if name(element) in ("cbc:Quantity", "cbc:BaseQuantity", "cbc:Measure"):
            assert element.get("unitCode") in UNITS_OF_MEASURE


@each_quote
def test_sums_are_those_the_standard_asks_for(quote):
    root = quotation(quote)
    total = {name(e)[4:]: Decimal(e.text) for e in root.find(f"{CAC}QuotedMonetaryTotal")}
    items = root.findall(f"{CAC}QuotationLine/{CAC}LineItem")
    nets = [Decimal(item.findtext(f"{CBC}LineExtensionAmount")) for item in items]
    tax = Decimal(root.findtext(f"{CAC}TaxTotal/{CBC}TaxAmount"))
    asked = root.findall(f"{CAC}AllowanceCharge/{CBC}Amount")
    assert sum((Decimal(a.text) for a in asked), Decimal(0)) == total.get("ChargeTotalAmount", 0)
    allowances = total.get("AllowanceTotalAmount", Decimal(0))
    charges = total.get("ChargeTotalAmount", Decimal(0))
    assert sum(nets) == total["LineExtensionAmount"]
    assert total["LineExtensionAmount"] - allowances + charges == total["TaxExclusiveAmount"]
    assert total["TaxExclusiveAmount"] + tax == total["TaxInclusiveAmount"]
    rounding = total.get("PayableRoundingAmount", Decimal(0))
    assert total["TaxInclusiveAmount"] + rounding == total["PayableAmount"]
    assert total["PayableAmount"] == Decimal(quote["totals"]["gross"]["amount"])
    subtotals = root.findall(f"{CAC}TaxTotal/{CAC}TaxSubtotal/{CBC}TaxAmount")
    assert sum(Decimal(subtotal.text) for subtotal in subtotals) == tax


@each_quote
def test_lines_say_what_the_quote_says(quote):
    items = quotation(quote).findall(f"{CAC}QuotationLine/{CAC}LineItem")
    lines = [line for line in quote["lines"] if line["kind"] != "charge"]
    for line, item in zip(lines, items, strict=bool(lines)):
        quantity = item.find(f"{CBC}Quantity")
        price = item.findtext(f"{CAC}Price/{CBC}PriceAmount")
        assert (quantity.text, quantity.get("unitCode")) == (
            line["quantity"], line["unit_of_measure"],
        )  # fmt: skip
        assert price == line["unit_price"]["amount"]
        assert item.findtext(f"{CBC}LineExtensionAmount") == line["net"]["amount"]
        if not quote.get("terms", {}).get("prices_include_tax"):
            quantity_price = (Decimal(quantity.text) * Decimal(price)).quantize(Decimal("0.001"))
            off = item.findall(f"{CAC}AllowanceCharge/{CBC}Amount")
            net = quantity_price - sum((Decimal(amount.text) for amount in off), Decimal(0))
            assert abs(net - Decimal(line["net"]["amount"])) <= 1
        if line["length"]:
            measure = item.findtext(f"{CAC}Item/{CAC}Dimension/{CBC}Measure")
            assert float(measure) == line["length"]["mm"]


def test_a_quote_for_nothing_says_so():
    items = quotation(quotes.of_products([])).findall(f"{CAC}QuotationLine/{CAC}LineItem")
    assert [item.findtext(f"{CAC}Item/{CBC}Name") for item in items] == ["Nothing is needed"]
