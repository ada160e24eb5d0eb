"""A quote as a workbook whose amounts are numbers and whose totals are formulas.

The formulas round where the service rounds: the net of a line and each tax of a line, half up to
the minor unit. Each carries the service's own figure, shown until the workbook is recomputed.

Trap: a product of two decimals that lies halfway, such as 1.1 x 1.15, comes out of binary numbers
a hair below or above, by less than 4.5 parts in 10^16. Raised by one part in 10^15 it lies on the
right side, and no product of up to 14 digits that is not halfway gets there. A product of more
digits stays the service's figure without a formula, and the notes name its line.
"""

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Context, Decimal

import xlsxwriter
from xlsxwriter.utility import xl_rowcol_to_cell
from xlsxwriter.worksheet import Worksheet

from service.adapters.sheets.tables import (
    Json,
    cuts_table,
    findings_table,
    lines_table,
    notes,
    number,
    takeoff_table,
)
from service.adapters.sheets.workbook import Book, fits, give_height, title, write_table

_SHOWN = "number kind sku description length quantity unit unit_price".split()
_QUANTITY, _PRICE, _NET = 5, 7, 8
_WIDTHS = (9, 8, 14, 52, 12, 10, 10, 15, 17)
_TEXT_COLUMNS = (1, 2, 3, 4, 6)
_HEAD = 5  # row of the headings; the rates of the taxes stand above it
_PRODUCT_DIGITS = 14
_EXACT = Context(prec=100)
_TEXTS = frozenset({"description", "elements", "rule", "note", "material"})
Figure = tuple[str, Decimal]


def render(quote: Json) -> bytes:
    """Write a stored quote as a workbook, the same bytes for the same quote."""
    held = io.BytesIO()
    workbook = xlsxwriter.Workbook(held, {"in_memory": True})
    created = datetime.fromisoformat(quote["created_on"])
    workbook.set_properties({"title": f"Quote {quote['id']}", "created": created})
    book = Book(workbook)
    left = _LineSheet(book, quote).write()
    write_table(book, takeoff_table(quote), _TEXTS)
    write_table(book, cuts_table(quote), _TEXTS)
    write_table(book, findings_table(quote), _TEXTS)
    _write_notes(book, [*notes(quote), *(("Workbook", sentence) for sentence in left)])
    workbook.close()
    return held.getvalue()


@dataclass(frozen=True, slots=True)
class _Tax:
    name: str
    rate: Decimal
    column: int


class _LineSheet:
    """The sheet of lines and totals while it is being written."""

    def __init__(self, book: Book, quote: Json) -> None:
        self.book, self.quote = book, quote
        self.currency: str = quote["totals"]["gross"]["currency"]
        gross = number(quote["totals"]["gross"]["amount"])
        self.places = max(0, -int(gross.as_tuple().exponent))
        taxes = quote["totals"]["taxes"]
        self.taxes = [
            _Tax(tax["name"], number(tax["rate"]), _NET + 1 + i) for i, tax in enumerate(taxes)
        ]
        self.tax_column = _NET + 1 + len(taxes)
        self.first = _HEAD + 1
        self.last = _HEAD + len(quote["lines"])
        self.sheet: Worksheet = book.sheet("Quote lines")
        self.formulas = all(fits(amount) for amount in _amounts(quote))
        self.fixed: list[str] = []

    def write(self) -> Sequence[str]:
        """Write it; give what must be said about it."""
        self._write_head()
        table = lines_table(self.quote)
        places = [table.columns.index(name) for name in _SHOWN]
        for row, (line, cells) in enumerate(
            zip(self.quote["lines"], table.rows, strict=True), start=self.first
        ):
            for column, place in enumerate(places[:_PRICE]):
                look = {"text_wrap": True} if _SHOWN[column] == "description" else {}
                self.book.write(self.sheet, row, column, cells[place], **look)
            give_height(self.sheet, row, [(line["description"], _WIDTHS[3])])
            self._write_amounts(row, line)
        self._write_totals()
        self._print_set_up()
        return list(self._said())

    def _write_head(self) -> None:
        quote, bold = self.quote, self.book.format(bold=True, font_size=14)
        self.sheet.write_string(0, 0, f"Quote {quote['id']}", bold)
        self.book.write(self.sheet, 1, 0, quote["reference"])
        table = quote["price_table"]
        prices = f"Prices: {table['name']}, in {table['currency']}, as on {quote['on']}"
        valid = f"; valid until {quote['valid_until']}" if quote.get("valid_until") else ""
        self.book.write(self.sheet, 2, 0, prices + valid)
        names = [title(name) for name in _SHOWN] + ["Net"]
        names += [tax.name for tax in self.taxes] + ["Tax"]
        self.sheet.set_row(_HEAD, 31)
        for column, name in enumerate(names):
            of_texts = column in _TEXT_COLUMNS
            self.book.heading(self.sheet, _HEAD, column, name, of_texts=of_texts)
        for tax in self.taxes:
            look = self.book.format(num_format="0.######%", align="right")
            self.sheet.write_number(_HEAD - 1, tax.column, tax.rate, look)

    def _write_amounts(self, row: int, line: Json) -> None:
        price, quantity = number(line["unit_price"]["amount"]), number(line["quantity"])
        places = max(self.places, -int(price.as_tuple().exponent))
        self._put(row, _PRICE, "", price, places)
        net = number(line["net"]["amount"])
        product = self._product(_cell(row, _QUANTITY), _cell(row, _PRICE))
        self._put(row, _NET, self._safe(product, quantity, price, line), net)
        borne = {(tax["name"], number(tax["rate"])): tax for tax in line["taxes"]}
        for tax in self.taxes:
            found = borne.get((tax.name, tax.rate))
            if found:
                rate = xl_rowcol_to_cell(_HEAD - 1, tax.column, row_abs=True, col_abs=True)
                share = self._product(_cell(row, _NET), rate)
                amount = number(found["amount"]["amount"])
                self._put(row, tax.column, self._safe(share, net, tax.rate, line), amount)
        ends = _cell(row, _NET + 1), _cell(row, self.tax_column - 1)
        total = f"ROUND(SUM({ends[0]}:{ends[1]}),{self.places})" if self.taxes else ""
        self._put(row, self.tax_column, total, number(line["tax"]["amount"]))

    def _product(self, one: str, other: str) -> str:
        """Give the formula of a rounded product; the factor keeps what is half a half."""
        return f"ROUND({one}*{other}*(1+1E-15),{self.places})"

    def _safe(self, formula: str, one: Decimal, other: Decimal, line: Json) -> str:
        """Give the formula of a product that spreadsheets round rightly, else none."""
        if fits(_EXACT.multiply(one, other), _PRODUCT_DIGITS):
            return formula
        if str(line["number"]) not in self.fixed:
            self.fixed.append(str(line["number"]))
        return ""

    def _put(
        self, row: int, column: int, formula: str, amount: Decimal, places: int | None = None
    ) -> None:
        look = self.book.money(self.currency, self.places if places is None else places)
        if not fits(amount):
            self.book.write(self.sheet, row, column, amount)
        elif formula and self.formulas:
            self.sheet.write_formula(row, column, f"={formula}", look, amount)
        else:
            self.sheet.write_number(row, column, amount, look)

    def _write_totals(self) -> None:
        totals, row = self.quote["totals"], self.last + 2
        bold = self.book.format(bold=True)
        placed: dict[str, str] = {}
        for name, formula, amount in self._sums(totals, placed):
            self.sheet.write_string(row, 3, name, bold)
            self._put(row, _NET, formula, amount)
            placed[name] = _cell(row, _NET)
            row += 1

    def _sums(self, totals: Json, placed: dict[str, str]) -> Iterator[tuple[str, str, Decimal]]:
        """Give the name, formula and figure of each total; each is placed before the next."""
        kinds, nets = self._column(1), self._column(_NET)
        for name in ("goods", "labour"):
            found = f'ROUND(SUMIF({kinds},"{name}",{nets}),{self.places})' if nets else ""
            yield name.capitalize(), found, number(totals[name]["amount"])
        net = f"{placed['Goods']}+{placed['Labour']}"
        yield "Net", self._rounded(net), number(totals["net"]["amount"])
        cells = []
        for tax, printed in zip(self.taxes, totals["taxes"], strict=True):
            name = f"{tax.name} {format((tax.rate * 100).normalize(), 'f')} %"
            column = self._column(tax.column)
            found = self._rounded(f"SUM({column})") if column else ""
            yield name, found, number(printed["amount"]["amount"])
            cells.append(placed[name])
        found = self._rounded("+".join(cells)) if cells else ""
        yield "Tax", found, number(totals["tax"]["amount"])
        gross = self._rounded(f"{placed['Net']}+{placed['Tax']}")
        yield f"Total {self.currency}", gross, number(totals["gross"]["amount"])

    def _rounded(self, formula: str) -> str:
        return f"ROUND({formula},{self.places})"

    def _column(self, column: int) -> str:
        """Give the range of a column over the lines, "" without lines."""
        if self.last < self.first:
            return ""
        return f"{_cell(self.first, column)}:{_cell(self.last, column)}"

    def _print_set_up(self) -> None:
        for column, width in enumerate([*_WIDTHS, *(15 for _ in self.taxes), 15]):
            self.sheet.set_column(column, column, width)
        self.sheet.freeze_panes(_HEAD + 1, 0)
        self.sheet.repeat_rows(_HEAD)

    def _said(self) -> Iterator[str]:
        if not self.formulas:
            yield (
                "An amount has more than 15 digits, which no spreadsheet holds exactly. It stands "
                "as text, and all sums are given as figures without formulas."
            )
        elif self.fixed:
            lines = ", ".join(self.fixed)
            yield f"Amounts given as figures without a formula, for their many digits: {lines}."


def _amounts(quote: Json) -> Iterator[Decimal]:
    """Give every amount that is to be added up."""
    for line in quote["lines"]:
        yield from (number(line[key]["amount"]) for key in ("net", "tax", "unit_price"))
        yield number(line["quantity"])
    totals = quote["totals"]
    yield from (number(totals[key]["amount"]) for key in ("goods", "labour", "net", "tax", "gross"))


def _cell(row: int, column: int) -> str:
    name: str = xl_rowcol_to_cell(row, column)
    return name


def _write_notes(book: Book, said: Sequence[tuple[str, str]]) -> None:
    sheet = book.sheet("Notes")
    sheet.set_column(0, 0, 14)
    sheet.set_column(1, 1, 110)
    for row, (heading, text) in enumerate(said):
        sheet.write_string(row, 0, heading, book.format(bold=True))
        book.write(sheet, row, 1, text, text_wrap=True)
        give_height(sheet, row, [(text, 110)])
