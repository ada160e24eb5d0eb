"""The run that begins by itself every night: when, by whose clock, and what it is to do.

It belongs to the day on which its hour strikes at the dealer's. Its id follows from dealer and
day, so that it begins once, however many look and however often. A night on which nobody looked
is made up for within half a day, past midnight too, and not later; of an hour that a clock skips
or strikes twice the first moment counts (PEP 495).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Any, Protocol
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from service.domain.errors import QuotingError
from service.usecases.conditions import Matches

MOST_LATE = timedelta(hours=12)
_NIGHTS = UUID("6f1b7e3a-5c58-4f0e-9a55-0f6f3a1f8a54")  # a namespace of our own


@dataclass(frozen=True, slots=True)
class Schedule:
    """A run that begins every day.

    Attributes:
        at: Hour on the dealer's clock.
        time_zone: Of that clock, a name of the IANA database such as "America/Denver".
        run: The run, as it would be asked for.
        set_at: When this was set, UTC; an hour that struck before begins nothing.
        revision: Counts its changes.
    """

    at: time
    time_zone: str
    run: Mapping[str, Any]
    set_at: datetime
    revision: int = 0

    def struck(self, day: date) -> datetime:
        """Give the moment at which its hour strikes on a day, UTC."""
        return datetime.combine(day, self.at, ZoneInfo(self.time_zone)).astimezone(UTC)


@dataclass(frozen=True, slots=True)
class Attempt:
    """What came of beginning the run of a day.

    Attributes:
        day: On which its hour struck at the dealer's.
        at: When, UTC.
        run_id: Of the run; where it could not begin, the id it would have had.
        problem: Why it could not begin, in plain words; "" where it did.
        revision: Of the schedule.
    """

    day: date
    at: datetime
    run_id: str
    problem: str
    revision: int


class UnreadableWish(Exception):
    """What was scheduled is no run that this version of the service reads."""


class Schedules(Protocol):
    """Where a dealer's schedule is kept."""

    def schedule(self) -> Schedule | None:
        """Give the schedule, None where there is none."""
        ...

    def revision(self) -> int:
        """Count the changes of what is or was there; 0 before the first."""
        ...

    def last(self) -> Attempt | None:
        """Give the last attempt to begin a run, None before the first."""
        ...

    def change(self, new: Schedule | None, at: datetime, matches: Matches | None) -> None:
        """Keep another schedule, or none.

        Raises:
            StaleState: The one there is is not the one that was seen.
        """
        ...


def due_day(schedule: Schedule, now: datetime) -> date | None:
    """Give the day whose run is to begin, or has begun already; None for none.

    Example:
        >>> made = datetime(2026, 11, 1, tzinfo=UTC)
        >>> nightly = Schedule(time(2), "America/Denver", {}, made)
        >>> [due_day(nightly, datetime(2026, 11, 25, hour, tzinfo=UTC)) for hour in (8, 9)]
        [None, datetime.date(2026, 11, 25)]
    """
    today = now.astimezone(ZoneInfo(schedule.time_zone)).date()
    for day in (today, today - timedelta(days=1)):
        struck = schedule.struck(day)
        if struck <= now:
            return day if schedule.set_at < struck and now - struck < MOST_LATE else None
    return None


def problem_of(error: Exception) -> str:
    """Say in plain words why a run cannot begin; of what nobody foresaw only the name is told.

    Example:
        >>> problem_of(ZeroDivisionError("112.50"))
        'It failed for a reason that nobody foresaw (ZeroDivisionError).'
    """
    if isinstance(error, QuotingError):
        return f"{error.detail} {error.advice}".rstrip()
    if isinstance(error, UnreadableWish):
        return str(error)
    return f"It failed for a reason that nobody foresaw ({type(error).__name__})."


def next_at(schedule: Schedule, now: datetime) -> datetime:
    """Give the moment at which the next run begins, UTC."""
    day = now.astimezone(ZoneInfo(schedule.time_zone)).date()
    today = schedule.struck(day)
    return today if today > now else schedule.struck(day + timedelta(days=1))


def run_id_of(dealer: str, day: date) -> str:
    """Give the id of a dealer's run of a day.

    Example:
        >>> run_id_of("d", date(2026, 11, 25)) == run_id_of("d", date(2026, 11, 25))
        True
    """
    return str(uuid5(_NIGHTS, f"{dealer}/{day.isoformat()}"))
