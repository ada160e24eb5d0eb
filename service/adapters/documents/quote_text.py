"""The quote as a readable table for a terminal, from the same JSON that the service answers."""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from service.adapters.documents.columns import WIDTH, cleaned, heading, paragraph, row
from service.adapters.documents.quote_code_text import code_lines
from service.adapters.documents.quote_layout_text import counted, layout_lines
from service.adapters.documents.quote_order_text import cut_plan_lines, shipping_lines
from service.adapters.notes import notes_of

Json = Mapping[str, Any]

# No., quantity, unit, description, unit price, net, tax: width and whether set to the right.
_ITEMS = ((3, True), (9, True), (5, False), (43, False), (12, True), (12, True), (10, True))
_TOTALS = ((76, True), (12, True), (10, True))
# UN/ECE Recommendation 20 codes in words (from memory); others are printed as they are.
_UNITS = {"C62": "each", "MTR": "m", "HUR": "h", "FOT": "ft", "PR": "pair", "MTK": "m2"}


def render(quote: Json, *, address: str = "") -> str:
    """Write a quote as plain text of at most 100 columns.

    Args:
        quote: The quote as the service answers it.
        address: Where the service is reached, put before the links.
    """
    lines = [
        *_head(quote),
        *_items(quote),
        *_totals(quote["totals"]),
        *_payments(quote["payments"]),
        *_list("LEFT OUT OF THE TOTAL", quote["conditions"]),
        *code_lines(quote["compliance"], quote.get("structure")),
        *cut_plan_lines(quote["cut_plans"], quote["totals"]["gross"]),
        *shipping_lines(quote["takeoff"]["shipping"]),
        *layout_lines(quote["layout"]),
        *_installation(quote["layout"]["installation"]),
        *_list("NOTES", notes_of(quote)),
        *_list("CAUTIONS", quote["cautions"]),
        *_links(quote["links"], address),
    ]
    return "\n".join(lines) + "\n"


def _head(quote: Json) -> Iterator[str]:
    yield "EVENBAY QUOTE"
    yield f"Number     {cleaned(quote['id'])}"
    if quote["reference"]:
        yield from paragraph(quote["reference"], 11, "Reference  ")
    table = quote["price_table"]
    prices = f"{table['name']}, in {table['currency']}, as on {quote['on']}"
    yield from paragraph(prices, 11, "Prices     ")
    yield from paragraph(quote["layout"]["system"], 11, "System     ")
    yield from paragraph(counted(quote["layout"]), 11, "Deck       ")


def _items(quote: Json) -> Iterator[str]:
    yield from heading("ITEMS")
    titles = ("No.", "Quantity", "Unit", "Description", "Unit price", "Net", "Tax")
    yield from row(titles, _ITEMS)
    for line in quote["lines"]:
        length = f", {line['length']['text']}" if line["length"] else ""
        words = f"{line['description']}{length}"
        cells = (
            str(line["number"]),
            line["quantity"],
            _UNITS.get(line["unit_of_measure"], line["unit_of_measure"]),
            f"{line['sku']} {words}" if line["sku"] else words,
            line["unit_price"]["amount"],
            line["net"]["amount"],
            line["tax"]["amount"],
        )
        yield from row(cells, _ITEMS)
        for off in line["discounts"]:
            less = f"less {off['name']} {off['amount']['amount']}"
            yield from row(("", "", "", less, "", "", ""), _ITEMS)
    if quote["terms"]["prices_include_tax"]:
        yield "Unit prices hold the tax; net and tax are parts of them."


def _totals(totals: Json) -> Iterator[str]:
    yield "-" * WIDTH
    sums = [("Goods", "goods"), ("Labour", "labour"), ("Charges", "charges"), ("Net", "net")]
    for name, key in sums:
        if key == "charges" and not Decimal(totals[key]["amount"]):
            continue
        yield from row((name, totals[key]["amount"], ""), _TOTALS)
    for tax in totals["taxes"]:
        name = f"{tax['name']} (rate {tax['rate']})"
        yield from row((name, "", tax["amount"]["amount"]), _TOTALS)
    yield from row(("Tax", "", totals["tax"]["amount"]), _TOTALS)
    gross = totals["gross"]
    yield from row((f"TOTAL {gross['currency']}", gross["amount"], ""), _TOTALS)


def _payments(payments: Sequence[Json]) -> Iterator[str]:
    if payments:
        yield from heading("PAYMENTS")
    for payment in payments:
        yield from row((payment["due"], payment["amount"]["amount"], ""), _TOTALS)


def _installation(steps: Sequence[Json]) -> Iterator[str]:
    if steps:
        yield from heading("ORDER OF INSTALLATION")
    for step in steps:
        yield from paragraph(step["text"], 6, f"{step['number']}  ")


def _list(title: str, sentences: Sequence[str]) -> Iterator[str]:
    if sentences:
        yield from heading(title)
    for sentence in sentences:
        yield from paragraph(sentence, 4, "  - ")


def _links(links: Json, address: str) -> Iterator[str]:
    yield from heading("WHERE TO FIND IT")
    yield f"Quote      {cleaned(address + links['self'])}"
    yield f"Drawing    {cleaned(address + links['drawing'])}"
