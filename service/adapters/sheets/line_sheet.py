"""The sheet of a workbook that holds the priced lines and their totals."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from xlsxwriter.utility import xl_rowcol_to_cell

from service.adapters.sheets.formulas import Rounding
from service.adapters.sheets.tables import Json, discount_of, lines_table, number
from service.adapters.sheets.workbook import Book, fits, give_height, title

_SHOWN = "number kind sku description length quantity unit unit_price".split()
_DESCRIPTION, _QUANTITY, _PRICE, _AMOUNT, _DISCOUNT, _NET = 3, 5, 7, 8, 9, 10
_WIDTHS = (9, 9, 14, 52, 12, 10, 10, 15, 16, 14, 17)
_TEXT_COLUMNS = (1, 2, 3, 4, 6)
_HEAD = 5  # row of the headings; the rates of the taxes stand above it
_KINDS = {"goods": "goods", "labour": "labour", "charges": "charge"}


@dataclass(frozen=True, slots=True)
class _Tax:
    name: str
    rate: Decimal
    column: int


class LineSheet:
    """The sheet while it is being written."""

    def __init__(self, book: Book, quote: Json, standing: str = "", *, formulas: bool) -> None:
        """Lay out the columns; without formulas everything is a figure."""
        self.book, self.quote, self.standing, self.formulas = book, quote, standing, formulas
        terms = quote.get("terms", {})
        gross = number(quote["totals"]["gross"]["amount"])
        places = max(0, -int(gross.as_tuple().exponent))
        self.currency: str = quote["totals"]["gross"]["currency"]
        self.rounding = Rounding(places, terms.get("half") == "even")
        self.included: bool = terms.get("prices_include_tax", False)
        self.taxed_alone = not self.included and terms.get("tax_per", "line") == "line"
        taxes = enumerate(quote["totals"]["taxes"], start=_NET + 1)
        self.taxes = [_Tax(tax["name"], number(tax["rate"]), column) for column, tax in taxes]
        self.tax_column = _NET + 1 + len(self.taxes)
        self.first, self.last = _HEAD + 1, _HEAD + len(quote["lines"])
        self.sheet = book.sheet("Quote lines")
        self.figures: dict[str, list[str]] = {}

    def write(self) -> Sequence[str]:
        """Write it; give what must be said about it."""
        self._write_head()
        table = lines_table(self.quote)
        places = [table.columns.index(name) for name in _SHOWN]
        lines = zip(self.quote["lines"], table.rows, strict=True)
        for row, (line, cells) in enumerate(lines, start=self.first):
            for column, place in enumerate(places[:_PRICE]):
                look = {"text_wrap": True} if column == _DESCRIPTION else {}
                self.book.write(self.sheet, row, column, cells[place], **look)
            give_height(self.sheet, row, [(line["description"], _WIDTHS[_DESCRIPTION])])
            self._write_amounts(row, line)
        self._write_totals()
        self._set_up_print()
        return list(self._said())

    def _write_head(self) -> None:
        quote = self.quote
        heading = self.book.format(bold=True, font_size=14)
        self.sheet.write_string(0, 0, f"Quote {quote['id']}", heading)
        self.book.write(self.sheet, 1, 0, quote["reference"])
        table = quote["price_table"]
        prices = f"Prices: {table['name']}, in {table['currency']}, as on {quote['on']}"
        taxed = ", tax included" if self.included else ""
        valid = f"; valid until {quote['valid_until']}" if quote.get("valid_until") else ""
        self.book.write(self.sheet, 2, 0, prices + taxed + valid)
        if self.standing:
            self.book.write(self.sheet, 3, 0, self.standing, bold=True)
        names = [*map(title, _SHOWN), "Amount", "Discount", "Net"]
        names += [*(tax.name for tax in self.taxes), "Tax", "Gross"]
        self.sheet.set_row(_HEAD, 31)
        for column, name in enumerate(names):
            of_texts = column in _TEXT_COLUMNS
            self.book.heading(self.sheet, _HEAD, column, name, of_texts=of_texts)
        look = self.book.format(num_format="0.######%", align="right")
        for tax in self.taxes:
            self.sheet.write_number(_HEAD - 1, tax.column, tax.rate, look)

    def _write_amounts(self, row: int, line: Json) -> None:
        price, quantity = number(line["unit_price"]["amount"]), number(line["quantity"])
        places = max(self.rounding.places, -int(price.as_tuple().exponent))
        self._put(row, _PRICE, "", price, places)
        net = number(line["net"]["amount"])
        amount = number(line["amount"]["amount"]) if "amount" in line else net
        product = self.rounding.product(_cell(row, _QUANTITY), _cell(row, _PRICE))
        known = self.rounding.gives(quantity, price, amount)
        self._put(row, _AMOUNT, self._checked(product, "Amounts", line, known=known), amount)
        off = discount_of(line)
        if off:
            self._put(row, _DISCOUNT, "", -off)
        less = f"-{_cell(row, self.tax_column)}" if self.included else ""
        left = self.rounding.sum(f"{_cell(row, _AMOUNT)}+{_cell(row, _DISCOUNT)}{less}")
        self._put(row, _NET, left, net)
        self._write_taxes(row, line, net)

    def _write_taxes(self, row: int, line: Json, net: Decimal) -> None:
        borne = {(tax["name"], number(tax["rate"])): tax for tax in line["taxes"]}
        for tax in self.taxes:
            found = borne.get((tax.name, tax.rate))
            if found:
                amount = number(found["amount"]["amount"])
                rate = xl_rowcol_to_cell(_HEAD - 1, tax.column, row_abs=True, col_abs=True)
                share = self.rounding.product(_cell(row, _NET), rate)
                known = self.taxed_alone and self.rounding.gives(net, tax.rate, amount)
                share = self._checked(share, tax.name, line, known=known)
                self._put(row, tax.column, share, amount)
        every = f"SUM({_cell(row, _NET + 1)}:{_cell(row, self.tax_column - 1)})"
        total = self.rounding.sum(every) if self.taxes else ""
        tax_amount = number(line["tax"]["amount"])
        self._put(row, self.tax_column, total, tax_amount)
        both = self.rounding.sum(f"{_cell(row, _NET)}+{_cell(row, self.tax_column)}")
        self._put(row, self.tax_column + 1, both, net + tax_amount)

    def _checked(self, formula: str, what: str, line: Json, *, known: bool) -> str:
        """Give a formula that comes to the service's figure, else none and a word about it."""
        if not known:
            self.figures.setdefault(what, []).append(str(line["number"]))
        return formula if known else ""

    def _put(
        self, row: int, column: int, formula: str, amount: Decimal, places: int | None = None
    ) -> None:
        shown = self.rounding.places if places is None else places
        look = self.book.money(self.currency, shown)
        if not fits(amount):
            self.book.write(self.sheet, row, column, amount)
        elif formula and self.formulas:
            self.sheet.write_formula(row, column, f"={formula}", look, amount)
        else:
            self.sheet.write_number(row, column, amount, look)

    def _write_totals(self) -> None:
        row, bold = self.last + 2, self.book.format(bold=True)
        placed: dict[str, str] = {}
        for name, formula, amount in self._sums(self.quote["totals"], placed):
            self.sheet.write_string(row, _DESCRIPTION, name, bold)
            self._put(row, _NET, formula, amount)
            placed[name] = _cell(row, _NET)
            row += 1

    def _sums(self, totals: Json, placed: dict[str, str]) -> Iterator[tuple[str, str, Decimal]]:
        """Give the name, formula and figure of each total; each is placed before the next."""
        rounded, kinds, nets = self.rounding.sum, self._column(1), self._column(_NET)
        named = {name: kind for name, kind in _KINDS.items() if name in totals}
        for name, kind in named.items():
            found = rounded(f'SUMIF({kinds},"{kind}",{nets})') if nets else ""
            yield name.capitalize(), found, number(totals[name]["amount"])
        net = "+".join(placed[name.capitalize()] for name in named)
        yield "Net", rounded(net), number(totals["net"]["amount"])
        cells = []
        for tax, printed in zip(self.taxes, totals["taxes"], strict=True):
            name = f"{tax.name} {format((tax.rate * 100).normalize(), 'f')} %"
            column = self._column(tax.column)
            found = rounded(f"SUM({column})") if column else ""
            yield name, found, number(printed["amount"]["amount"])
            cells.append(placed[name])
        yield "Tax", rounded("+".join(cells)) if cells else "", number(totals["tax"]["amount"])
        gross = rounded(f"{placed['Net']}+{placed['Tax']}")
        yield f"Total {self.currency}", gross, number(totals["gross"]["amount"])

    def _column(self, column: int) -> str:
        """Give the range of a column over the lines, "" without lines."""
        if self.last < self.first:
            return ""
        return f"{_cell(self.first, column)}:{_cell(self.last, column)}"

    def _set_up_print(self) -> None:
        for column, width in enumerate([*_WIDTHS, *(15 for _ in self.taxes), 15, 17]):
            self.sheet.set_column(column, column, width)
        self.sheet.freeze_panes(_HEAD + 1, 0)
        self.sheet.repeat_rows(_HEAD)

    def _said(self) -> Iterator[str]:
        if not self.formulas:
            yield (
                "An amount has more than 15 digits, which no spreadsheet holds exactly. It stands "
                "as text, and all sums are given as figures without formulas."
            )
            return
        for what, numbers in self.figures.items():
            lines = "all lines" if len(numbers) == self.last - _HEAD else ", ".join(numbers)
            yield f"{what}: figures without a formula on {lines}."


def _cell(row: int, column: int) -> str:
    name: str = xl_rowcol_to_cell(row, column)
    return name
