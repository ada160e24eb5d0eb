"""Price tables that come and go as sheets: what readers give, and what is wrong with a sheet."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from service.domain.pricing.price_table import PriceRow

MOST_ROWS = 20_000
# Named as the members of a row are in JSON; the heading of a sheet holds them.
COLUMNS = (
    "sku",
    "unit_price",
    "unit_of_measure",
    "cost",
    "min_quantity",
    "pack_size",
    "tax_class",
    "effective_from",
)
NEEDED = ("sku", "unit_of_measure")


@dataclass(frozen=True, slots=True)
class SheetRow:
    """A row as it stands in a sheet.

    Attributes:
        number: Of the row in the sheet, from 1; of a CSV, of its first line.
        cells: What is not empty, by column.
    """

    number: int
    cells: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Complaint:
    """What is wrong in one place of a sheet.

    Attributes:
        row: As people count it, from 1 for the headings; 0 for the whole file.
        column: Name of the column, "" for the whole row.
        detail: What is wrong.
        advice: What would do.
    """

    row: int
    column: str
    detail: str
    advice: str


class UnreadablePrices(Exception):
    """A sheet of prices of which nothing is kept.

    Attributes:
        complaints: What is wrong.
        rows: What could be read all the same, so that it can be complained of at once.
    """

    def __init__(self, complaints: Sequence[Complaint], rows: Sequence[SheetRow] = ()) -> None:
        super().__init__("; ".join(f"row {one.row}: {one.detail}" for one in complaints[:5]))
        self.complaints = tuple(complaints)
        wrong = {one.row for one in complaints}
        self.rows = tuple(row for row in rows if row.number not in wrong)


class PriceReader(Protocol):
    """Reads the rows of a sheet."""

    def __call__(self, content: bytes) -> list[SheetRow]:
        """Read a row of headings and what stands under it.

        Raises:
            UnreadablePrices: It is no such file, or its headings or the form of a cell are wrong.
        """
        ...


class PriceWriter(Protocol):
    """Writes rows as a sheet."""

    def __call__(self, rows: Sequence[PriceRow], *, costs: bool) -> bytes:
        """Write rows, with the column of costs or without."""
        ...


def refuse(row: int, column: str, detail: str, advice: str) -> UnreadablePrices:
    """Give the refusal of one complaint."""
    return UnreadablePrices([Complaint(row, column, detail, advice)])
