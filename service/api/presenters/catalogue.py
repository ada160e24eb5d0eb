"""What a dealer keeps to quote by, as plain dicts."""

from decimal import Decimal

from service.api.presenters.values import Json, decimal
from service.domain.pricing.price_changes import PriceChanges, RowChange, percent, told
from service.domain.pricing.price_table import PriceRow
from service.usecases.catalogue import Named, PriceVersion, Version


def present_named(named: Named, address: str) -> Json:
    """Give an entry of a list."""
    return {
        "id": named.id,
        "name": named.name,
        "created_at": named.created_at.isoformat(timespec="seconds"),
        "latest": named.latest,
        "links": {"self": f"{address}/{named.id}"},
    }


def present_version(version: Version) -> Json:
    """Give what a version says of itself."""
    return {
        "version": version.number,
        "created_at": version.created_at.isoformat(timespec="seconds"),
        "note": version.note,
    }


def present_price_version(held: PriceVersion) -> Json:
    """Give a version of a price table without its rows."""
    return {
        **present_version(held.version),
        "currency": held.currency,
        "active_from": held.active_from.isoformat() if held.active_from else None,
        "row_count": held.row_count,
    }


def present_price_table(held: PriceVersion, address: str) -> Json:
    """Give a table with one of its versions."""
    here = f"{address}/{held.named.id}"
    rows = f"{here}/versions/{held.version.number}/rows"
    links = {"self": here, "rows": rows, "csv": f"{rows}.csv", "xlsx": f"{rows}.xlsx"}
    return {
        **present_named(held.named, address),
        "version": present_price_version(held),
        "links": links,
    }


def present_row(row: PriceRow) -> Json:
    """Give a row; what it does not say is null."""
    return {
        "sku": row.sku,
        "unit_price": _or_none(row.unit_price),
        "unit_of_measure": row.unit_of_measure,
        "cost": _or_none(row.cost),
        "min_quantity": decimal(row.min_quantity),
        "pack_size": row.pack_size,
        "tax_class": row.tax_class,
        "effective_from": row.effective_from.isoformat() if row.effective_from else None,
    }


def present_price_changes(
    table_id: str, numbers: tuple[int, int], changes: PriceChanges, currencies: tuple[str, str]
) -> Json:
    """Give what differs between two versions.

    Args:
        table_id: Id of the table.
        numbers: Of the older and the newer version.
        changes: Rows.
        currencies: Of both.
    """
    old, new = currencies
    other = [] if old == new else [f"The currency is {new} in place of {old}."]
    return {
        "table": table_id,
        "since": numbers[0],
        "version": numbers[1],
        "words": [*other, *told(changes)],
        "added": [present_row(row) for row in changes.added],
        "removed": [present_row(row) for row in changes.removed],
        "changed": [_change(one) for one in changes.changed],
    }


def _change(change: RowChange) -> Json:
    rise = percent(change.old.unit_price, change.new.unit_price)
    return {
        "before": present_row(change.old),
        "after": present_row(change.new),
        "members": list(change.members),
        "unit_price_percent": _or_none(rise),
    }


def _or_none(value: Decimal | None) -> str | None:
    return None if value is None else decimal(value)
