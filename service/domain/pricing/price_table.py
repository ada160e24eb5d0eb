"""Price tables: dated rows with quantity breaks, and which of them is in force.

The rows of a part that bear the latest date at or before the day are in force together; an older
break does not outlive them. Of those, the largest break that the quantity reaches is taken.
"""

from collections.abc import Mapping
from dataclasses import field
from datetime import date
from decimal import Decimal

from service.domain.record import record


@record(frozen=True, slots=True)
class PriceRow:
    """Price of one unit of a part; the unit is a UN/ECE Recommendation 20 code.

    Attributes:
        unit_price: List price; None where a rule makes it from the cost.
        cost: What the dealer pays for one unit, None where it is not said.
        min_quantity: Ordered quantity from which the row holds.
        pack_size: How many units are sold together, None where it is not said.
        tax_class: Which taxes apply; "" leaves it to the kind of line.
        effective_from: First day of the row, None for a row that was always in force.
    """

    sku: str
    unit_price: Decimal | None
    unit_of_measure: str
    cost: Decimal | None = field(default=None, kw_only=True)
    min_quantity: Decimal = field(default=Decimal(0), kw_only=True)
    pack_size: int | None = field(default=None, kw_only=True)
    tax_class: str = field(default="", kw_only=True)
    effective_from: date | None = field(default=None, kw_only=True)


@record(frozen=True, slots=True)
class TableVersion:
    """A stored version of a price table, which never changes.

    Attributes:
        active_from: First day it is in force, as known when it was looked up.
    """

    table_id: str
    version: int
    active_from: date | None = None


@record(frozen=True, slots=True)
class PriceTable:
    """All prices of one table, by SKU, in one currency (ISO 4217).

    Attributes:
        rows: Every row of a SKU, of any day and break, in any order.
        stored: The stored version it was read from, None for one sent with a request.
    """

    name: str
    currency: str
    rows: Mapping[str, tuple[PriceRow, ...]]
    stored: TableVersion | None = None

    def in_force(self, sku: str, on: date) -> tuple[PriceRow, ...]:
        """Give the rows of a part that are in force on a day, by rising break.

        Example:
            >>> row = PriceRow("A", Decimal(5), "C62", effective_from=date(2026, 3, 1))
            >>> PriceTable("", "USD", {"A": (row,)}).in_force("A", date(2026, 2, 28))
            ()
        """
        begun = [
            row
            for row in self.rows.get(sku, ())
            if row.effective_from is None or row.effective_from <= on
        ]
        if len(begun) < 2:
            return tuple(begun)
        latest = max(_begin(row) for row in begun)
        rows = (row for row in begun if _begin(row) == latest)
        return tuple(sorted(rows, key=lambda row: row.min_quantity))

    def price_row(self, sku: str, quantity: Decimal, on: date) -> PriceRow | None:
        """Give the row that prices an ordered quantity on a day, None where there is none.

        Example:
            >>> one = PriceRow("A", Decimal(5), "C62")
            >>> ten = PriceRow("A", Decimal(4), "C62", min_quantity=Decimal(10))
            >>> table = PriceTable("", "USD", {"A": (ten, one)})
            >>> [table.price_row("A", Decimal(n), date.max).unit_price for n in (9, 10)]
            [Decimal('5'), Decimal('4')]
        """
        reached = [row for row in self.in_force(sku, on) if row.min_quantity <= quantity]
        return reached[-1] if reached else None


def _begin(row: PriceRow) -> date:
    return row.effective_from or date.min
