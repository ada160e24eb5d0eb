"""Moments as databases give them back."""

from datetime import UTC, datetime
from typing import overload


@overload
def utc(moment: datetime) -> datetime: ...
@overload
def utc(moment: datetime | None) -> datetime | None: ...
def utc(moment: datetime | None) -> datetime | None:
    """Give a kept moment its zone: SQLite gives it back without; all are kept in UTC.

    Example:
        >>> utc(datetime(2026, 11, 25, 9, 30)).isoformat()
        '2026-11-25T09:30:00+00:00'
    """
    return moment if moment is None or moment.tzinfo else moment.replace(tzinfo=UTC)
