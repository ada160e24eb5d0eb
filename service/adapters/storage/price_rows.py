"""Rows of prices as columns: decimals are whole millionths, exact on both databases."""

from decimal import Decimal
from typing import Any

from sqlalchemy import Row

from service.domain.pricing.price_table import PriceRow

SCALE = 6  # decimals kept; the fields of a request take no more
LARGEST = 10**9  # above every amount and quantity a request may state


def millionths(value: Decimal) -> int:
    """Give a decimal as whole millionths.

    Raises:
        ValueError: It is finer or larger than what is kept.

    Example:
        >>> millionths(Decimal("12.40"))
        12400000
    """
    scaled = value.scaleb(SCALE)
    whole = int(scaled)
    if whole != scaled or not 0 <= value < LARGEST:
        raise ValueError(f"{value} is no amount of up to 9 digits and {SCALE} decimals")
    return whole


def from_millionths(whole: int) -> Decimal:
    """Give whole millionths as a decimal without idle zeros.

    Example:
        >>> from_millionths(12_400_000), from_millionths(120_000_000)
        (Decimal('12.4'), Decimal('120'))
    """
    units, rest = divmod(whole, 10**SCALE)
    return Decimal(f"{units}.{rest:06d}".rstrip("0").rstrip("."))


def columns_of(row: PriceRow) -> dict[str, Any]:
    """Give the columns of a row."""
    return {
        "sku": row.sku,
        "unit_of_measure": row.unit_of_measure,
        "pack_size": row.pack_size,
        "min_quantity": millionths(row.min_quantity),
        "unit_price": None if row.unit_price is None else millionths(row.unit_price),
        "cost": None if row.cost is None else millionths(row.cost),
        "tax_class": row.tax_class,
        "effective_from": row.effective_from,
    }


def row_of(row: Row[Any]) -> PriceRow:
    """Give the record of a row."""
    return PriceRow(
        sku=row.sku,
        unit_price=None if row.unit_price is None else from_millionths(row.unit_price),
        unit_of_measure=row.unit_of_measure,
        cost=None if row.cost is None else from_millionths(row.cost),
        min_quantity=from_millionths(row.min_quantity),
        pack_size=row.pack_size,
        tax_class=row.tax_class,
        effective_from=row.effective_from,
    )


def key_of(row: PriceRow) -> list[str]:
    """Give what a row says as texts, first what tells rows of a table apart."""
    kept = columns_of(row)
    names = ("sku", "effective_from", "min_quantity", "unit_of_measure", "pack_size")
    return [
        "" if kept[n] is None else str(kept[n]) for n in (*names, "unit_price", "cost", "tax_class")
    ]
