"""Price tables as workbooks (ISO/IEC 29500): the first sheet, headings in its first row.

A workbook is a packed archive of XML, so that a small file may unpack to a huge one, and XML may
name outside files: declared sizes are added up before anything is unpacked, none is unpacked
beyond its own, and entities are refused (defusedxml).

Formulas are refused and not read by the value kept beside them: whoever wrote the file may have
put any value there, and a program that makes workbooks often puts none.
"""

import io
from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, time
from decimal import Decimal
from typing import Any
from zipfile import BadZipFile, ZipFile

import xlsxwriter
from openpyxl import load_workbook

from service.adapters.sheets.price_csv import bounded, headings, table_of
from service.adapters.sheets.workbook import Book, write_table
from service.domain.pricing.price_table import PriceRow
from service.usecases.price_sheets import (
    COLUMNS,
    MOST_ROWS,
    Complaint,
    SheetRow,
    UnreadablePrices,
    refuse,
)

MOST_UNPACKED = 50_000_000
MOST_PARTS = 500
_WIDEST = 2 * len(COLUMNS)  # columns looked at; the headings of any further ones are unknown
_LAST_ROW = 5 * MOST_ROWS
_MADE = datetime(2000, 1, 1, tzinfo=UTC)  # the same bytes for the same rows
_VALUE = "Write the value itself in place of the formula: copy, then paste values only."


def write(rows: Sequence[PriceRow], *, costs: bool) -> bytes:
    """Write rows as a workbook; texts are texts, whatever they look like."""
    held = io.BytesIO()
    workbook = xlsxwriter.Workbook(held, {"in_memory": True})
    workbook.set_properties({"title": "Prices", "created": _MADE.replace(tzinfo=None)})
    write_table(Book(workbook), table_of(rows, costs=costs))
    workbook.close()
    return held.getvalue()


def read(content: bytes) -> list[SheetRow]:
    """Read rows of a workbook's first sheet.

    Raises:
        UnreadablePrices: It is no workbook, too large when unpacked, or a cell holds no value.
    """
    _refuse_bombs(content)
    try:
        return _read(content)
    except UnreadablePrices:
        raise
    except Exception as error:  # a file of any make, in a reader that trusts what it reads
        raise _no_workbook() from error


def _refuse_bombs(content: bytes) -> None:
    try:
        with ZipFile(io.BytesIO(content)) as archive:
            parts = archive.infolist()
    except (BadZipFile, OSError, ValueError):
        raise _no_workbook() from None
    if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_UNPACKED:
        advice = "Copy the columns of prices to a new workbook and send that."
        raise refuse(0, "", "The workbook is too large when it is unpacked.", advice)


def _no_workbook() -> UnreadablePrices:
    advice = "Save it as an Excel workbook (.xlsx), without a password, or send CSV."
    return refuse(0, "", "This cannot be read as a workbook.", advice)


def _read(content: bytes) -> list[SheetRow]:
    book = load_workbook(io.BytesIO(content), read_only=True, keep_links=False)
    try:
        sheet = book.worksheets[0]
        sheet.reset_dimensions()  # what the file says of its size may be wrong
        return _rows(enumerate(sheet.iter_rows(max_col=_WIDEST), start=1))
    finally:
        book.close()


def _rows(lines: Iterator[tuple[int, Sequence[Any]]]) -> list[SheetRow]:
    names: list[str] = []
    said: list[Complaint] = []

    def found() -> Iterator[SheetRow]:
        nonlocal names
        for number, line in lines:
            if number > _LAST_ROW:
                advice = "Leave no empty rows between the prices."
                raise refuse(number, "", "Rows stand far below the others.", advice)
            if not names:
                cells = [_text(cell) for cell in line]
                if any(cells):
                    last = max(place for place, cell in enumerate(cells, start=1) if cell)
                    names = headings(number, cells[:last])
                continue
            yield _row(number, names, line, said)

    rows = bounded(found())
    if said:
        raise UnreadablePrices(said, rows)
    return rows


def _row(number: int, names: Sequence[str], line: Sequence[Any], said: list[Complaint]) -> SheetRow:
    cells = {}
    for place, cell in enumerate(line):
        if cell.value is None or cell.value == "":
            continue
        name = names[place] if place < len(names) else ""
        if not name:
            said.append(Complaint(number, "", "A cell stands under no heading.", "Leave it empty."))
        elif cell.data_type == "f":
            said.append(Complaint(number, name, "The cell holds a formula.", _VALUE))
        elif cell.data_type == "e":
            said.append(Complaint(number, name, f"The cell holds {cell.value}.", _VALUE))
        elif text := _text(cell):
            cells[name] = text
    return SheetRow(number, cells)


def _text(cell: Any) -> str:
    """Give the value of a cell as a CSV would have it.

    A number is the shortest decimal that the cell's binary number is nearest to, which is what a
    spreadsheet shows and what was typed.
    """
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, int | float):
        return format(Decimal(repr(value)).normalize(), "f")
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time() else value.isoformat()
    if isinstance(value, date):
        return value.isoformat()
    text = str(value)
    return text if text.strip() else ""
