"""When a nightly run is due, by clocks that skip an hour and strike one twice.

The days and hours on which clocks change are those of the IANA time zone database: America/Denver
on 2026-03-08 at 02:00 and 2026-11-01 at 02:00, America/Havana on 2026-03-08 at 00:00. Which moment
an hour means that is skipped or comes twice is said by PEP 495 for ``fold=0``.
"""

from datetime import UTC, date, datetime, time, timedelta

import pytest

from service.usecases.repricing.schedule import (
    MOST_LATE,
    Schedule,
    due_day,
    next_at,
    run_id_of,
)

LONG_AGO = datetime(2026, 1, 1, tzinfo=UTC)


def nightly(at, zone="America/Denver", set_at=LONG_AGO):
    return Schedule(time.fromisoformat(at), zone, {}, set_at)


def moment(text):
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def minutes_due(schedule, first, hours=30):
    """Give each day that is due at some minute from a moment on, with its first minute."""
    found = {}
    for minute in range(hours * 60):
        now = first + timedelta(minutes=minute)
        day = due_day(schedule, now)
        if day is not None:
            found.setdefault(day, now)
    return found


@pytest.mark.parametrize(
    ("at", "zone", "day", "struck"),
    [
        pytest.param("02:00", "America/Denver", "2026-11-25", "2026-11-25 09:00", id="winter"),
        pytest.param("02:00", "America/Denver", "2026-07-01", "2026-07-01 08:00", id="summer"),
        pytest.param(
            "02:30",
            "America/Denver",
            "2026-03-08",
            "2026-03-08 09:30",
            id="skipped: 03:30 is shown",
        ),
        pytest.param(
            "01:30",
            "America/Denver",
            "2026-11-01",
            "2026-11-01 07:30",
            id="struck twice: the first",
        ),
        pytest.param(
            "00:30", "America/Havana", "2026-03-08", "2026-03-08 05:30", id="skipped at midnight"
        ),
        pytest.param("23:59", "Asia/Kolkata", "2026-11-25", "2026-11-25 18:29", id="half an hour"),
        pytest.param("00:00", "Pacific/Auckland", "2026-11-25", "2026-11-24 11:00", id="ahead"),
    ],
)
def test_it_begins_when_its_hour_strikes_there(at, zone, day, struck):
    schedule, struck = nightly(at, zone), moment(struck)
    assert due_day(schedule, struck - timedelta(seconds=1)) != date.fromisoformat(day)
    assert due_day(schedule, struck) == date.fromisoformat(day)
    assert next_at(schedule, struck - timedelta(seconds=1)) == struck
    assert next_at(schedule, struck) > struck


@pytest.mark.parametrize("at", ["00:00", "01:30", "02:00", "02:30", "03:00", "23:59"])
@pytest.mark.parametrize("changing", ["2026-03-07", "2026-10-31"])
def test_each_day_has_one_night_though_the_clock_changes(at, changing):
    first = moment(f"{changing} 12:00")
    days = minutes_due(nightly(at), first, hours=72)
    whole = [d for d, since in days.items() if since > first]
    assert whole == [min(whole) + timedelta(days=n) for n in range(len(whole))]
    assert len(whole) == 3
    assert len({run_id_of("a dealer", day) for day in days}) == len(days)


def test_who_looks_late_begins_it_past_midnight_too_but_not_half_a_day_later():
    schedule, struck = nightly("23:50"), moment("2026-11-26 06:50")
    day = date(2026, 11, 25)
    assert due_day(schedule, struck + timedelta(minutes=11)) == day
    assert due_day(schedule, struck + MOST_LATE - timedelta(seconds=1)) == day
    assert due_day(schedule, struck + MOST_LATE) is None


def test_an_hour_that_struck_before_the_schedule_was_set_begins_nothing():
    struck = moment("2026-11-25 09:00")
    assert due_day(nightly("02:00", set_at=struck), struck + timedelta(hours=1)) is None
    later = nightly("02:00", set_at=struck - timedelta(seconds=1))
    assert due_day(later, struck) == date(2026, 11, 25)


def test_runs_of_other_dealers_and_days_have_other_ids():
    day = date(2026, 11, 25)
    ids = {run_id_of(dealer, day + timedelta(days=n)) for dealer in ("a", "b") for n in (0, 1)}
    assert len(ids) == 4
