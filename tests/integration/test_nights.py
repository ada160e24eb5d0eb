"""Nightly runs on real databases: each begins once, whoever looks, and none keeps another's."""

import logging
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, time, timedelta
from threading import Barrier

import orjson
import pytest
from sqlalchemy import select

from service.adapters.storage import migrate
from service.adapters.storage.engine import connect
from service.adapters.storage.rounds import dealers_with_schedule
from service.adapters.storage.schedules import SqlSchedules
from service.adapters.storage.tables import audit, events
from service.adapters.workers.nights import Nights
from service.api.schemas.repricing import read_nightly
from service.usecases.repricing.schedule import Attempt, Schedule, run_id_of
from tests.integration.databases import BOTH, url_of
from tests.repricing import Shop, rows

SET = datetime(2026, 11, 25, 20, 0, tzinfo=UTC)
STRUCK = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)  # 02:00 in Denver
TONIGHT = STRUCK.date()


@pytest.fixture(params=BOTH)
def engine(request, tmp_path):
    with url_of(request.param, tmp_path) as url:
        engine = connect(url)
        migrate.upgrade(engine)
        yield engine
        engine.dispose()


def shop_with_schedule(engine, dealer="Larkmere Deck & Rail", table="spring", **wish):
    shop = Shop(engine, dealer)
    kept = shop.table("spring", table_id=f"table of {dealer}", drafts=[rows()])
    shop.tables.activate(kept, 1, SET.date(), 1, SET)
    wish = {"price_table": {"stored": table}, **wish}
    put(shop, Schedule(time(2), "America/Denver", wish, SET))
    return shop


def put(shop, schedule):
    SqlSchedules(shop.books).change(schedule, shop.now, None)


def failures(shop):
    """Give what a dealer was told of runs that could not begin."""
    query = select(events.c.subject, events.c.body).where(
        events.c.dealer == shop.books.dealer, events.c.type == "evenbay.nightly_run.failed"
    )
    with shop.engine.connect() as connection:
        found = connection.execute(query).all()
    return [(subject, orjson.loads(body)["data"]) for subject, body in found]


def looker(engine, at):
    return Nights(engine, read_nightly, now=lambda: at)


def runs_of(shop):
    return [run.id for run in shop.runs.page(None, 10)]


def test_it_begins_once_for_each_night(engine):
    shop = shop_with_schedule(engine, note="every night", dry_run=True)
    nights = looker(engine, STRUCK)
    for minutes, begun in ((-1, 0), (0, 1), (1, 0), (600, 0), (24 * 60, 1), (24 * 60 + 1, 0)):
        nights.now = lambda minutes=minutes: STRUCK + timedelta(minutes=minutes)
        assert nights.begin_due() == begun, f"{minutes} minutes after its hour"
    days = (TONIGHT, TONIGHT + timedelta(days=1))
    assert set(runs_of(shop)) == {run_id_of(shop.books.dealer, day) for day in days}
    run = shop.runs.run(run_id_of(shop.books.dealer, TONIGHT))
    assert (run.wish.note, run.wish.dry_run, run.wish.on) == ("every night", True, TONIGHT)
    assert run.planned_to == STRUCK


def test_the_schedule_tells_of_its_last_attempt(engine):
    shop = shop_with_schedule(engine)
    schedules = SqlSchedules(shop.books)
    assert schedules.last() is None
    tag = schedules.revision()
    looker(engine, STRUCK).begin_due()
    looker(engine, STRUCK + timedelta(hours=1)).begin_due()
    first = Attempt(TONIGHT, STRUCK, run_id_of(shop.books.dealer, TONIGHT), "", tag)
    assert schedules.last() == first
    tomorrow = STRUCK + timedelta(days=1)
    looker(engine, tomorrow).begin_due()
    assert schedules.last().at == tomorrow
    assert schedules.revision() == tag, "who changes the schedule need not have seen it"
    assert failures(shop) == []


@pytest.mark.parametrize(
    ("wish", "problem"),
    [
        (
            {"price_table": {"stored": "spring", "version": 7}},
            "No price table is kept under 'spring' with a version 7. "
            "GET /v1/price-tables lists what is kept.",
        ),
        (
            {"price_table": {"stored": "spring"}, "quotes": {"priced_by": "winter"}},
            "No price table is kept under 'winter'. GET /v1/price-tables lists what is kept.",
        ),
        (
            {"price_table": {"stored": "spring"}, "quotes": {"states": ["sold"]}, "mode": "all"},
            "This version of the service does not read mode, quotes of the run that is scheduled. "
            "Set it again with PUT /v1/repricing-schedule.",
        ),
    ],
    ids=["version gone", "table of the quotes gone", "unreadable"],
)
def test_why_a_run_could_not_begin_is_said_in_plain_words(engine, wish, problem):
    shop = shop_with_schedule(engine, **wish)
    assert looker(engine, STRUCK).begin_due() == 0
    last = SqlSchedules(shop.books).last()
    assert (last.day, last.at, last.problem) == (TONIGHT, STRUCK, problem)
    assert [told["problem"] for _, told in failures(shop)] == [problem]


def test_several_whose_run_cannot_begin_tell_of_it_once(engine):
    shop = shop_with_schedule(engine, table="autumn")
    together = Barrier(4)

    def look(_):
        together.wait(10)
        return looker(engine, STRUCK).begin_due()

    with ThreadPoolExecutor(4) as pool:
        assert sum(pool.map(look, range(4))) == 0
    assert len(failures(shop)) == 1


def test_several_that_look_at_once_begin_it_once(engine):
    shop = shop_with_schedule(engine)
    together = Barrier(4)

    def look(number):
        together.wait(10)
        return looker(engine, STRUCK + timedelta(microseconds=number)).begin_due()

    with ThreadPoolExecutor(4) as pool:
        assert sum(pool.map(look, range(4))) == 1
    assert len(runs_of(shop)) == 1
    with engine.connect() as connection:
        told = connection.execute(select(audit.c.who).where(audit.c.action == "run.planned")).all()
    assert [row.who for row in told] == ["nightly run"]


def test_a_clock_that_is_set_back_begins_nothing_again(engine):
    shop = shop_with_schedule(engine)
    assert looker(engine, STRUCK + timedelta(hours=3)).begin_due() == 1
    for hours in (-1, 0, 1):
        assert looker(engine, STRUCK + timedelta(hours=hours)).begin_due() == 0
    assert len(runs_of(shop)) == 1


def test_a_schedule_set_after_its_hour_waits_for_the_next_night(engine):
    shop = shop_with_schedule(engine)
    put(shop, Schedule(time(1), "America/Denver", {"price_table": {"stored": "spring"}}, STRUCK))
    assert looker(engine, STRUCK + timedelta(hours=1)).begin_due() == 0
    assert looker(engine, STRUCK + timedelta(hours=23)).begin_due() == 1


def test_a_schedule_that_is_removed_begins_nothing(engine):
    shop = shop_with_schedule(engine)
    put(shop, None)
    assert dealers_with_schedule(engine) == [shop.books.dealer], "it is known to have had one"
    assert looker(engine, STRUCK).begin_due() == 0


def test_one_that_cannot_begin_keeps_no_other_and_is_told_of_once(engine, caplog):
    wrong = shop_with_schedule(engine, "Osprey Railing", table="autumn")
    good = [shop_with_schedule(engine, name) for name in ("A. Rail", "Z. Rail")]
    nights = looker(engine, STRUCK)
    with caplog.at_level(logging.ERROR, "service"):
        assert nights.begin_due() == 2
        assert nights.begin_due() == 0
    assert [len(runs_of(shop)) for shop in (wrong, *good)] == [0, 1, 1]
    assert [record.message for record in caplog.records] == [
        f"a nightly run of {wrong.books.dealer} cannot begin: UnknownReference"
    ]
    missing = "No price table is kept under 'autumn' in force on 2026-11-26."
    late = STRUCK + timedelta(minutes=1)
    assert looker(engine, late).begin_due() == 0, "nor do others who look tell of it again"
    for shop in good:
        assert failures(shop) == []
    ((subject, told),) = failures(wrong)
    assert told == {
        "id": run_id_of(wrong.books.dealer, TONIGHT),
        "href": "/v1/repricing-schedule",
        "problem": f"{missing} GET /v1/price-tables lists what is kept.",
    }
    assert subject == told["id"]
    # Set right before its new hour strikes, it begins on the same day.
    wish = {"price_table": {"stored": "spring"}}
    put(wrong, Schedule(time(3), "America/Denver", wish, STRUCK + timedelta(minutes=5)))
    nights.now = lambda: STRUCK + timedelta(hours=1)
    assert nights.begin_due() == 1
    assert len(runs_of(wrong)) == 1
    last = SqlSchedules(wrong.books).last()
    assert (last.day, last.run_id, last.problem) == (TONIGHT, *runs_of(wrong), "")
    assert len(failures(wrong)) == 1
