"""The row that prices each item of an order, or every reason why there is none."""

from collections.abc import Iterable, Mapping
from datetime import date

from service.domain.errors import NoPriceInForce
from service.domain.pricing.price_table import PriceRow, PriceTable
from service.domain.takeoff.parts import Item

_ROWS = ("price_table", "rows")


def rows_for(items: Iterable[Item], table: PriceTable, on: date) -> Mapping[str, PriceRow]:
    """Find the row in force for each item at its ordered quantity, by SKU.

    Raises:
        NoPriceInForce: Parts have no price on that day or at that quantity, or one for another
            unit or pack; all of one complaint are named together.
    """
    wanted = tuple(items)
    found = {item.sku: table.price_row(item.sku, item.ordered, on) for item in wanted}
    _refuse_missing(wanted, found, table, on)
    rows = {sku: row for sku, row in found.items() if row is not None}
    _refuse_other_units(wanted, rows, table)
    _refuse_other_packs(wanted, rows, table)
    return rows


def _refuse_missing(
    items: Iterable[Item], found: Mapping[str, PriceRow | None], table: PriceTable, on: date
) -> None:
    missing = tuple(dict.fromkeys(item.sku for item in items if found[item.sku] is None))
    if not missing:
        return
    known = [sku for sku in missing if sku in table.rows]
    reason = ""
    if known:
        reason = f" ({', '.join(known)}: no row is in force on {on} for the quantity ordered)"
    raise NoPriceInForce(
        f"The price table {table.name} has no price for {', '.join(missing)}{reason}.",
        skus=missing,
        where=_ROWS,
        advice="Add a row for each of them.",
    )


def _refuse_other_units(
    items: Iterable[Item], rows: Mapping[str, PriceRow], table: PriceTable
) -> None:
    other = {
        item.sku: f"{item.sku} is ordered in {item.unit_of_measure} and priced per "
        f"{rows[item.sku].unit_of_measure}"
        for item in items
        if rows[item.sku].unit_of_measure != item.unit_of_measure
    }
    if other:
        raise NoPriceInForce(
            f"The price table {table.name} prices parts in another unit: "
            f"{'; '.join(other.values())}.",
            skus=tuple(other),
            where=_ROWS,
            advice="Give the part and its price row the same unit of measure.",
        )


def _refuse_other_packs(
    items: Iterable[Item], rows: Mapping[str, PriceRow], table: PriceTable
) -> None:
    other = {
        item.sku: f"{item.sku} is ordered in packs of {item.pack_size} and sold in packs of "
        f"{rows[item.sku].pack_size}"
        for item in items
        if rows[item.sku].pack_size not in (None, item.pack_size)
    }
    if other:
        raise NoPriceInForce(
            f"The price table {table.name} sells parts in other packs: "
            f"{'; '.join(other.values())}.",
            skus=tuple(other),
            where=_ROWS,
            advice="Give the part and its price row the same pack_size.",
        )
