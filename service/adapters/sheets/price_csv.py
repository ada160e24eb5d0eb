"""Price tables as CSV (RFC 4180), and the headings that workbooks share with it."""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import islice

from service.adapters.sheets import csv_text
from service.adapters.sheets.tables import Cell, Table
from service.domain.pricing.price_table import PriceRow
from service.usecases.price_sheets import (
    COLUMNS,
    MOST_ROWS,
    NEEDED,
    Complaint,
    SheetRow,
    UnreadablePrices,
    refuse,
)

_UTF16 = (b"\xff\xfe", b"\xfe\xff")
_SAVE = 'Save the sheet as "CSV UTF-8", with commas between the cells.'
_PACKED = b"PK\x03\x04"


def table_of(rows: Sequence[PriceRow], *, costs: bool) -> Table:
    """Give rows as a table."""
    columns = tuple(name for name in COLUMNS if costs or name != "cost")
    return Table(
        "Prices", columns, tuple(tuple(_cell(row, name) for name in columns) for row in rows)
    )


def _cell(row: PriceRow, name: str) -> Cell:
    if name == "effective_from":
        return row.effective_from.isoformat() if row.effective_from else None
    found: Cell = getattr(row, name)
    return None if found == "" else found


def write(rows: Sequence[PriceRow], *, costs: bool) -> bytes:
    """Write rows as CSV."""
    return csv_text.render(table_of(rows, costs=costs))


def read(content: bytes) -> list[SheetRow]:
    """Read rows of a CSV.

    Raises:
        UnreadablePrices: It is no CSV in UTF-8, or its headings are not those of prices.
    """
    text = _text(content)
    _refuse_separator(text)
    lines = _lines(text)
    if not lines:
        raise refuse(0, "", "The file is empty.", f"Send the headings {', '.join(NEEDED)}, ...")
    number, heading = lines[0]
    names = headings(number, heading)
    uneven = [
        Complaint(
            at,
            "",
            f"{len(cells)} cells stand under {len(names)} headings.",
            "Give each row as many cells as there are headings; put a cell with a comma in quotes.",
        )
        for at, cells in lines[1:]
        if len(cells) != len(names)
    ]
    rows = (
        SheetRow(at, {name: cell for name, cell in zip(names, cells, strict=True) if cell.strip()})
        for at, cells in lines[1:]
        if len(cells) == len(names)
    )
    if uneven:
        raise UnreadablePrices(uneven, list(islice(rows, MOST_ROWS)))
    return bounded(rows)


def _text(content: bytes) -> str:
    if content.startswith(_PACKED):
        raise refuse(0, "", "This is a workbook, not CSV.", "Send it with the type of a workbook.")
    if content[:2] in _UTF16 or b"\0" in content[:400]:
        raise refuse(0, "", "The file is in UTF-16, or no text at all.", _SAVE)
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = content.count(b"\n", 0, error.start) + 1
        raise refuse(row, "", "A letter here is not in UTF-8.", _SAVE) from None


def _lines(text: str) -> list[tuple[int, list[str]]]:
    try:
        return list(csv_text.read(text))
    except ValueError as error:
        found = re.match(r"line (\d+): (.*)", str(error))
        row, why = (int(found[1]), found[2]) if found else (0, str(error))
        advice = "Close each quote, and write a quote within quotes twice."
        raise refuse(row, "", f"This is no CSV: {why}.", advice) from None


def _refuse_separator(text: str) -> None:
    """Name what parts the cells; the reader would complain of quotes far below."""
    parted = csv_text.strange_separator(text)
    if parted:
        raise refuse(1, "", f"The cells are parted by {parted}.", _SAVE)


def headings(row: int, cells: Sequence[str]) -> list[str]:
    """Give the columns that headings name; capitals, blanks and hyphens are as good.

    Raises:
        UnreadablePrices: A heading is unknown, missing or there twice.

    Example:
        >>> headings(1, ["SKU", "Unit of measure"])
        ['sku', 'unit_of_measure']
    """
    names = [re.sub(r"[\s-]+", "_", cell.strip().lower()) for cell in cells]
    said = [
        Complaint(row, cell, f"No column has the heading {cell!r}.", f"Use {', '.join(COLUMNS)}.")
        for name, cell in zip(names, cells, strict=True)
        if name not in COLUMNS
    ]
    said += [
        Complaint(row, name, "This heading stands here twice.", "Keep one of the columns.")
        for name, times in Counter(names).items()
        if times > 1 and name in COLUMNS
    ]
    said += [
        Complaint(row, name, "This column is missing.", "Add it, filled in for each row.")
        for name in NEEDED
        if name not in names
    ]
    if said:
        raise UnreadablePrices(said)
    return names


def bounded(rows: Iterator[SheetRow]) -> list[SheetRow]:
    """Take as many rows as a table may have, and at least one.

    Raises:
        UnreadablePrices: There are more, or none.
    """
    found: list[SheetRow] = []
    for row in rows:
        if not row.cells:
            continue
        if len(found) == MOST_ROWS:
            most = f"A table has at most {MOST_ROWS} rows."
            raise refuse(row.number, "", "There are too many rows.", most)
        found.append(row)
    if not found:
        raise refuse(0, "", "No row stands under the headings.", "Send at least one price.")
    return found
