r"""Tables as comma-separated values, RFC 4180: CRLF, UTF-8, a heading row.

Texts stand in quotes and numbers bare, so that a reader that looks at the quotes tells one from
the other. A text that a spreadsheet would take for a formula is led by an apostrophe: those that
begin with = + - @, their full-width forms, a tab or a line end, and those that would begin a cell
where the separator is a semicolon. ``restored`` takes the apostrophe away again.

Source: IETF RFC 4180 (2005); what begins a formula follows OWASP, "CSV Injection".
"""

import csv
import io
import re
from collections.abc import Iterator
from decimal import Decimal

from service.adapters.sheets.tables import Cell, Table

_STRANGE = ((";", "semicolons"), ("\t", "tabs"))
_LEADS = "=+\\-@\uff1d\uff0b\uff0d\uff20\t\r\n"
_BEGIN = '(^|[;\t\r\n])((?:"|[^\\S\t\r\n])*)'
_RISKY = re.compile(f"{_BEGIN}('*[{_LEADS}])")
_NEUTRAL = re.compile(f"{_BEGIN}'('*[{_LEADS}])")


def neutralised(text: str) -> str:
    """Lead what would be a formula with an apostrophe.

    Example:
        >>> neutralised("=1+1"), neutralised("a;-b"), neutralised("5 - 3")
        ("'=1+1", "a;'-b", '5 - 3')
    """
    return _RISKY.sub(r"\1\2'\3", text)


def restored(text: str) -> str:
    """Undo ``neutralised``.

    Example:
        >>> restored("'=1+1"), restored(neutralised("'+"))
        ('=1+1', "'+")
    """
    return _NEUTRAL.sub(r"\1\2\3", text)


def render(table: Table) -> bytes:
    """Write a table."""
    rows = [",".join(_quoted(column) for column in table.columns)]
    rows += [",".join(map(_written, row)) for row in table.rows]
    return ("\r\n".join(rows) + "\r\n").encode("utf-8")


def _written(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return _quoted(neutralised(cell))
    return format(cell, "f") if isinstance(cell, Decimal) else str(cell)


def _quoted(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'


def strange_separator(text: str) -> str:
    r"""Name what parts the cells where it is no comma, "" where commas may.

    Example:
        >>> strange_separator("kind;length\nopen;12 ft"), strange_separator("kind,length")
        ('semicolons', '')
    """
    heading = text.removeprefix("\ufeff").lstrip().partition("\n")[0]
    found = (name for separator, name in _STRANGE if separator in heading)
    return "" if "," in heading else next(found, "")


def read(text: str) -> Iterator[tuple[int, list[str]]]:
    """Read rows with the line each begins on, texts as they were before they were neutralised.

    Raises:
        ValueError: A quote is not closed, or something follows one.
    """
    text = text.removeprefix("\ufeff")
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    begins = 1
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                yield begins, [restored(cell) for cell in row]
            begins = reader.line_num + 1
    except csv.Error as error:
        raise ValueError(f"line {begins}: {error}") from None
