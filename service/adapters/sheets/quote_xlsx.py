"""A quote as a workbook whose amounts are numbers and whose totals are formulas.

The formulas round where and as the service rounds: the amount of a line, and each tax of a line.
Each carries the service's own figure, shown until the workbook is recomputed. What no formula of
two cells comes to stays that figure: discounts, taxes that are compound, per document or held in
the prices, and products of too many digits; the notes name what it happens to.
"""

import io
from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import Decimal

import xlsxwriter

from service.adapters.sheets.line_sheet import LineSheet
from service.adapters.sheets.tables import (
    Json,
    cuts_table,
    findings_table,
    notes,
    number,
    takeoff_table,
)
from service.adapters.sheets.workbook import Book, fits, give_height, write_table

_TEXTS = frozenset({"description", "elements", "rule", "note", "material"})


def render(quote: Json, standing: str = "") -> bytes:
    """Write a stored quote as a workbook, the same bytes for the same quote.

    Args:
        quote: As it was answered.
        standing: What is to be said of it where it is no offer.
    """
    held = io.BytesIO()
    workbook = xlsxwriter.Workbook(held, {"in_memory": True})
    created = datetime.fromisoformat(quote["created_on"])
    workbook.set_properties({"title": f"Quote {quote['id']}", "created": created})
    book = Book(workbook)
    left = LineSheet(book, quote, standing, formulas=all(map(fits, _amounts(quote)))).write()
    write_table(book, takeoff_table(quote), _TEXTS)
    write_table(book, cuts_table(quote), _TEXTS)
    write_table(book, findings_table(quote), _TEXTS)
    state = [("State", standing)] if standing else []
    _write_notes(book, [*state, *notes(quote), *(("Workbook", sentence) for sentence in left)])
    workbook.close()
    return held.getvalue()


def _amounts(quote: Json) -> Iterator[Decimal]:
    """Give every amount that is to be multiplied or added up."""
    for line in quote["lines"]:
        yield from (number(line[key]["amount"]) for key in ("net", "tax", "unit_price"))
        yield number(line["quantity"])
    totals = quote["totals"]
    yield from (number(totals[key]["amount"]) for key in ("goods", "labour", "net", "tax", "gross"))


def _write_notes(book: Book, said: Sequence[tuple[str, str]]) -> None:
    sheet = book.sheet("Notes")
    sheet.set_column(0, 0, 14)
    sheet.set_column(1, 1, 110)
    for row, (heading, text) in enumerate(said):
        sheet.write_string(row, 0, heading, book.format(bold=True))
        book.write(sheet, row, 1, text, text_wrap=True)
        give_height(sheet, row, [(text, 110)])
