"""What differs between two versions of a price table, in rows and in words.

A row is the same row where part, first day and break are the same.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from datetime import date
from decimal import Context, Decimal

from service.domain.pricing.price_table import PriceRow

Key = tuple[str, date, Decimal]
_COMPARED = tuple(
    one.name
    for one in fields(PriceRow)
    if one.name not in ("sku", "effective_from", "min_quantity")
)
_WIDE = Context(prec=100)


@dataclass(frozen=True, slots=True)
class RowChange:
    """A row that both versions have, and that says something else in the newer one.

    Attributes:
        members: Names of what differs.
    """

    old: PriceRow
    new: PriceRow
    members: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PriceChanges:
    """Rows by part, day and break."""

    added: tuple[PriceRow, ...]
    removed: tuple[PriceRow, ...]
    changed: tuple[RowChange, ...]


def price_changes(old: Iterable[PriceRow], new: Iterable[PriceRow]) -> PriceChanges:
    """Compare two versions, whatever the order of their rows.

    Example:
        >>> one = PriceRow("A", Decimal(10), "C62")
        >>> dearer = PriceRow("A", Decimal(11), "C62")
        >>> price_changes([one], [dearer]).changed[0].members
        ('unit_price',)
    """
    before, after = _by_key(old), _by_key(new)
    both = sorted(before.keys() & after.keys())
    pairs = [(before[key], after[key]) for key in both if before[key] != after[key]]
    return PriceChanges(
        added=tuple(after[key] for key in sorted(after.keys() - before.keys())),
        removed=tuple(before[key] for key in sorted(before.keys() - after.keys())),
        changed=tuple(RowChange(one, other, _differing(one, other)) for one, other in pairs),
    )


def percent(old: Decimal | None, new: Decimal | None) -> Decimal | None:
    """Give by how much a price rose, to a hundredth of a percent; None where none is reckoned.

    Example:
        >>> percent(Decimal("12.40"), Decimal("13.02")), percent(Decimal(0), Decimal(1))
        (Decimal('5.00'), None)
    """
    if not old or new is None:
        return None
    return (_WIDE.divide(new - old, old) * 100).quantize(Decimal("0.01"))


def told(changes: PriceChanges) -> tuple[str, ...]:
    """Say what changed, a sentence for each row.

    Example:
        >>> told(price_changes([PriceRow("A", Decimal(10), "C62")], []))
        ('A is gone.',)
    """
    return (
        *(f"{_name(row)} is new." for row in changes.added),
        *(f"{_name(row)} is gone." for row in changes.removed),
        *(
            f"{_name(one.new)}: {'; '.join(_member(one, m) for m in one.members)}."
            for one in changes.changed
        ),
    )


def _member(change: RowChange, member: str) -> str:
    old, new = getattr(change.old, member), getattr(change.new, member)
    rise = percent(old, new) if member in ("unit_price", "cost") else None
    by = "" if rise is None else f" ({rise:+f} %)"
    return f"{member} from {_said(old)} to {_said(new)}{by}"


def _said(value: object) -> str:
    return "nothing" if value in (None, "") else str(value)


def _name(row: PriceRow) -> str:
    parts = [row.sku]
    if row.min_quantity:
        parts.append(f"from {row.min_quantity}")
    if row.effective_from:
        parts.append(f"as of {row.effective_from}")
    return " ".join(parts)


def _differing(old: PriceRow, new: PriceRow) -> tuple[str, ...]:
    return tuple(name for name in _COMPARED if getattr(old, name) != getattr(new, name))


def _by_key(rows: Iterable[PriceRow]) -> Mapping[Key, PriceRow]:
    return {(row.sku, row.effective_from or date.min, row.min_quantity): row for row in rows}
