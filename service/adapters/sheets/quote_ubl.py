"""A quote as a Quotation of the Universal Business Language 2.1.

Source: OASIS Standard UBL 2.1 (4 November 2013), schema UBL-Quotation-2.1 and its common
components; elements stand in the order given there. Units are codes of UN/ECE Recommendation 20,
currencies of ISO 4217. Discounts are allowances of their lines, carriage and the like charges of
the document. Where prices hold the tax, prices and discounts are told in those terms beside the
net of each line. A quote with nothing on it still needs one line, which says so.
"""

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any
from xml.etree.ElementTree import Element, SubElement, tostring

from service.adapters.sheets.tables import Json, number
from service.adapters.xml_text import fit_for_xml

_NAMESPACE = "urn:oasis:names:specification:ubl:schema:xsd:"
NAMESPACES = {
    "xmlns": f"{_NAMESPACE}Quotation-2",
    "xmlns:cac": f"{_NAMESPACE}CommonAggregateComponents-2",
    "xmlns:cbc": f"{_NAMESPACE}CommonBasicComponents-2",
}


def render(quote: Json, *, seller: str = "", buyer: str = "") -> bytes:
    """Write a stored quote as a UBL Quotation, the same bytes for the same quote.

    Args:
        quote: The quote as the service answers it.
        seller: Name of who quotes, may be "".
        buyer: Name of who is quoted to, may be "".
    """
    root = Element("Quotation", NAMESPACES)
    _head(root, quote)
    _party(root, "SellerSupplierParty", seller)
    if buyer:
        _party(root, "BuyerCustomerParty", buyer)
    totals, included = quote["totals"], _included(quote)
    charges = [line for line in quote["lines"] if line["kind"] == "charge"]
    lines = [line for line in quote["lines"] if line["kind"] != "charge"]
    for charge in charges:
        _allowance_charge(root, charge["description"], charge["net"], charge=True)
    _tax_total(root, totals["tax"], totals["taxes"], quote["lines"], included)
    _monetary_total(root, totals, charges)
    for line in lines or [_nothing(_zero(totals["net"]))]:
        _line(root, line, included)
    text: bytes = tostring(root, encoding="UTF-8", xml_declaration=True)
    return text + b"\n"


def _included(quote: Json) -> bool:
    return bool(quote.get("terms", {}).get("prices_include_tax"))


def _head(root: Element, quote: Json) -> None:
    lines = quote["lines"]
    _basic(root, "UBLVersionID", "2.1")
    _basic(root, "ID", quote["id"])
    _basic(root, "CopyIndicator", "false")
    _basic(root, "UUID", quote["id"])
    _basic(root, "IssueDate", quote["created_on"])
    if quote["reference"]:
        _basic(root, "Note", f"Reference: {quote['reference']}")
    for sentence in quote["cautions"]:
        _basic(root, "Note", sentence)
    _basic(root, "PricingCurrencyCode", quote["price_table"]["currency"])
    _basic(root, "LineCountNumeric", str(max(1, sum(x["kind"] != "charge" for x in lines))))
    period = _aggregate(root, "ValidityPeriod")
    _basic(period, "StartDate", quote["created_on"])
    if quote.get("valid_until"):
        _basic(period, "EndDate", quote["valid_until"])


def _party(root: Element, role: str, name: str) -> None:
    parent = _aggregate(root, role)
    if name:
        _basic(_aggregate(_aggregate(parent, "Party"), "PartyName"), "Name", name)


def _tax_total(
    parent: Element, tax: Json, taxes: Iterable[Json], lines: Sequence[Json], included: bool
) -> None:
    total = _aggregate(parent, "TaxTotal")
    _amount(total, "TaxAmount", tax)
    if included:
        _basic(total, "TaxIncludedIndicator", "true")
    for component in taxes:
        subtotal = _aggregate(total, "TaxSubtotal")
        _amount(subtotal, "TaxableAmount", _taxable(component, lines))
        _amount(subtotal, "TaxAmount", component["amount"])
        category = _aggregate(subtotal, "TaxCategory")
        _basic(category, "Name", component["name"])
        _basic(category, "Percent", format((number(component["rate"]) * 100).normalize(), "f"))
        _basic(_aggregate(category, "TaxScheme"), "Name", component["name"])


def _taxable(component: Json, lines: Iterable[Json]) -> Json:
    """Add up the nets of the lines that bear a tax."""
    named = (component["name"], component["rate"])
    nets = [
        number(line["net"]["amount"])
        for line in lines
        if any((tax["name"], tax["rate"]) == named for tax in line["taxes"])
    ]
    return _sum(component["amount"], nets)


def _sum(like: Json, amounts: Iterable[Decimal]) -> Json:
    """Add amounts of one currency, printed with its decimals."""
    places = number(like["amount"]).as_tuple().exponent
    return {**like, "amount": format(sum(amounts, Decimal(0).scaleb(int(places))), "f")}


def _zero(like: Json) -> Json:
    return _sum(like, ())


def _allowance_charge(parent: Element, reason: str, amount: Json, *, charge: bool) -> None:
    element = _aggregate(parent, "AllowanceCharge")
    _basic(element, "ChargeIndicator", "true" if charge else "false")
    _basic(element, "AllowanceChargeReason", reason)
    _amount(element, "Amount", amount)


def _monetary_total(root: Element, totals: Json, charges: Sequence[Json]) -> None:
    total = _aggregate(root, "QuotedMonetaryTotal")
    charged = [number(charge["net"]["amount"]) for charge in charges]
    extension = _sum(totals["net"], [number(totals["net"]["amount"]), *(-c for c in charged)])
    _amount(total, "LineExtensionAmount", extension)
    _amount(total, "TaxExclusiveAmount", totals["net"])
    _amount(total, "TaxInclusiveAmount", totals["gross"])
    if charged:
        _amount(total, "ChargeTotalAmount", _sum(totals["net"], charged))
    _amount(total, "PayableAmount", totals["gross"])


def _line(root: Element, line: Json, included: bool) -> None:
    quoted = _aggregate(root, "QuotationLine")
    _basic(quoted, "ID", str(line["number"]))
    item = _aggregate(quoted, "LineItem")
    unit = {"unitCode": line["unit_of_measure"]}
    discounts = line.get("discounts", ())
    _basic(item, "ID", str(line["number"]))
    if included:
        for off in discounts:
            said = f"{off['amount']['amount']} {off['amount']['currency']}, tax included"
            _basic(item, "Note", f"Discount {off['name']}: {said}")
    _basic(item, "Quantity", line["quantity"], unit)
    _amount(item, "LineExtensionAmount", line["net"])
    _amount(item, "TotalTaxAmount", line["tax"])
    if not included:
        for off in discounts:
            _allowance_charge(item, off["name"], off["amount"], charge=False)
    price = _aggregate(item, "Price")
    _amount(price, "PriceAmount", line["unit_price"])
    _basic(price, "BaseQuantity", "1", unit)
    if included:
        _basic(price, "PriceType", "tax included")
    _item(item, line)
    if line["taxes"]:
        _tax_total(item, line["tax"], line["taxes"], [line], included)


def _item(parent: Element, line: Json) -> None:
    item = _aggregate(parent, "Item")
    if line["elements"]:
        _basic(item, "Description", f"For {', '.join(line['elements'])}")
    _basic(item, "Name", line["description"])
    if line["sku"]:
        _basic(_aggregate(item, "SellersItemIdentification"), "ID", line["sku"])
    if line["length"]:
        dimension = _aggregate(item, "Dimension")
        _basic(dimension, "AttributeID", "Length")
        millimetres = format(number(line["length"]["mm"]), "f")
        _basic(dimension, "Measure", millimetres, {"unitCode": "MMT"})


def _nothing(net: Json) -> dict[str, Any]:
    return {
        "number": 1, "quantity": "0", "unit_of_measure": "C62", "description": "Nothing is needed",
        "unit_price": net, "net": net, "tax": net, "taxes": [], "elements": [], "sku": "",
        "length": None,
    }  # fmt: skip


def _aggregate(parent: Element, name: str) -> Element:
    return SubElement(parent, f"cac:{name}")


def _basic(parent: Element, name: str, text: str, attributes: dict[str, str] | None = None) -> None:
    element = SubElement(parent, f"cbc:{name}", attributes or {})
    element.text = fit_for_xml(text)


def _amount(parent: Element, name: str, money: Json) -> None:
    _basic(parent, name, money["amount"], {"currencyID": money["currency"]})
