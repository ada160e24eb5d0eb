"""What every sheet of a workbook shares: formats, exact numbers, plain tables.

A cell of a workbook is a binary number of 15 sure decimal digits. A longer decimal is written as
text, so that nothing is lost and nothing is added up by mistake; ``fits`` tells which.
"""

import re
from collections.abc import Iterable
from decimal import Decimal
from math import ceil
from typing import Any

import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from service.adapters.sheets.tables import Cell, Table

SURE_DIGITS = 15
_LONGEST_TEXT = 32_767
_WIDEST = 60
_LINE_HEIGHT, _HEADING_HEIGHT, _HIGHEST = 14.5, 31, 409
_RISKY = re.compile("\\s*[=+\\-@\uff1d\uff0b\uff0d\uff20]")
_CODE = re.compile("[A-Z]{3}")


def fits(value: Decimal, digits: int = SURE_DIGITS) -> bool:
    """Tell whether a decimal has so few digits that a binary number holds it.

    Example:
        >>> fits(Decimal("123456789012.345")), fits(Decimal("1234567890123.456"))
        (True, False)
    """
    return len(value.normalize().as_tuple().digits) <= digits


class Book:
    """A workbook that is being written, with its formats."""

    def __init__(self, workbook: xlsxwriter.Workbook) -> None:
        self._workbook = workbook
        self._kept: dict[tuple[tuple[str, Any], ...], Format] = {}

    def format(self, **properties: Any) -> Format:
        """Give the format with these properties, made once."""
        key = tuple(sorted(properties.items()))
        if key not in self._kept:
            self._kept[key] = self._workbook.add_format({"valign": "top", **properties})
        return self._kept[key]

    def money(self, currency: str, places: int, **more: Any) -> Format:
        """Give the format of an amount: the currency's code, its decimals, digits in threes."""
        code = currency if _CODE.fullmatch(currency) else ""
        figures = "#,##0" + (f".{'0' * places}" if places else "")
        return self.format(num_format=f"[${code}] {figures}" if code else figures, **more)

    def sheet(self, name: str) -> Worksheet:
        """Add a sheet that prints across, one page wide, with its heading on every page."""
        sheet = self._workbook.add_worksheet(name)
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        sheet.set_footer(f"&L{name}&RPage &P of &N")
        return sheet

    def write(self, sheet: Worksheet, row: int, column: int, cell: Cell, **look: Any) -> None:
        """Write a cell: numbers as numbers, texts as texts whatever they look like."""
        if cell is None:
            return
        if isinstance(cell, str):
            quoted = {"quote_prefix": True} if _RISKY.match(cell) else {}
            text = cell[:_LONGEST_TEXT]
            sheet.write_string(
                row, column, text, self.format(**{**look, **quoted, "align": "left", "indent": 1})
            )
        elif fits(Decimal(cell)):
            sheet.write_number(row, column, Decimal(cell), self.format(**look))
        else:
            sheet.write_string(row, column, format(cell, "f"), self.format(align="right"))

    def heading(
        self, sheet: Worksheet, row: int, column: int, name: str, *, of_texts: bool
    ) -> None:
        """Letter the heading of a column, on the side its cells stand on."""
        side: dict[str, Any] = {"align": "left", "indent": 1} if of_texts else {"align": "right"}
        look = self.format(bold=True, bottom=1, text_wrap=True, **side)
        sheet.write_string(row, column, name, look)


def give_height(sheet: Worksheet, row: int, texts: Iterable[tuple[Cell, float]]) -> None:
    """Make a row high enough for texts that are broken at the widths of their columns."""
    lines = max((ceil(len(str(text or "")) / (width - 3)) for text, width in texts), default=1)
    if lines > 1:
        sheet.set_row(row, min(lines * _LINE_HEIGHT, _HIGHEST))


def write_table(book: Book, table: Table, wrapped: frozenset[str] = frozenset()) -> None:
    """Write a table as a sheet of its own.

    Args:
        book: Where.
        table: What.
        wrapped: Columns whose texts are broken over lines.
    """
    sheet = book.sheet(table.name)
    widths = [min(_width(table, column), _WIDEST) for column in range(len(table.columns))]
    sheet.set_row(0, _HEADING_HEIGHT)
    for column, name in enumerate(table.columns):
        sheet.set_column(column, column, widths[column])
        of_texts = any(isinstance(cells[column], str) for cells in table.rows)
        book.heading(sheet, 0, column, title(name), of_texts=of_texts)
        look = {"text_wrap": True} if name in wrapped else {}
        for row, cells in enumerate(table.rows, start=1):
            book.write(sheet, row, column, cells[column], **look)
    for row, cells in enumerate(table.rows, start=1):
        broken = [(cells[i], widths[i]) for i, name in enumerate(table.columns) if name in wrapped]
        give_height(sheet, row, broken)
    sheet.freeze_panes(1, 0)
    sheet.repeat_rows(0)
    if table.rows:
        sheet.autofilter(0, 0, len(table.rows), len(table.columns) - 1)


def _width(table: Table, column: int) -> float:
    """Count the characters that a column asks for."""
    cells = (row[column] for row in table.rows)
    longest = max((0 if cell is None else len(str(cell)) for cell in cells), default=0)
    heading = max(len(word) for word in title(table.columns[column]).split())
    return max(longest, heading) + 3.5


def title(name: str) -> str:
    """Give the heading of a column.

    Example:
        >>> title("bar_length_mm"), title("unit_price"), title("sku")
        ('Bar length mm', 'Unit price', 'SKU')
    """
    return "SKU" if name == "sku" else name.replace("_", " ").capitalize()
