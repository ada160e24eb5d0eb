"""Several workers on one run, some of them killed: each quote is re-priced exactly once."""

import os
import signal
import subprocess
import sys
import time
from collections import Counter
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import select, update

from service.adapters.storage import keep_material, migrate
from service.adapters.storage.books import Books
from service.adapters.storage.engine import connect
from service.adapters.storage.price_tables import SqlPriceTables
from service.adapters.storage.run_ledger import LeaseLost, RunLedger
from service.adapters.storage.run_prices import HeldPrices
from service.adapters.storage.tables import events, quotes, repricings, run_chunks
from service.domain.pricing.life import State
from service.usecases.repricing.records import Outcome, RunState
from service.usecases.repricing.turns import Turns
from tests.integration.databases import BOTH, url_of
from tests.repricing import Shop, rows

ROOT = Path(__file__).parents[2]
LEASE = timedelta(seconds=2)

# Works until nothing is left; "stuck" stops for good amid its first piece, all of it written.
WORKER = """
import sys, time
from datetime import timedelta
from pathlib import Path
from service.adapters.storage import keep_material, run_work
from service.adapters.storage.engine import connect
url, name, how, seconds, go = sys.argv[1:]
work = run_work.SqlRunWork(connect(url), lease=timedelta(seconds=float(seconds)), size=10)
if how == "stuck":
    write = keep_material.write_revisions
    def stuck(*args):
        write(*args)
        print("stuck", flush=True)
        time.sleep(600)
    keep_material.write_revisions = stuck
print("ready", flush=True)
while not Path(go).exists():
    time.sleep(0.01)
while work.step(name):
    time.sleep(0.02)
"""


@pytest.fixture(params=BOTH)
def place(request, tmp_path):
    with url_of(request.param, tmp_path) as url:
        engine = connect(url)
        migrate.upgrade(engine)
        yield Shop(engine, size=10), url, tmp_path / "go"
        engine.dispose()


@contextmanager
def started(url, name, go, how="works"):
    with subprocess.Popen(
        [sys.executable, "-c", WORKER, url, name, how, str(LEASE.total_seconds()), str(go)],
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    ) as process:
        try:
            assert process.stdout.readline() == "ready\n"
            yield process
        finally:
            process.kill()


def in_turns(shop):
    """Give a worker whose turns are one piece of work each."""
    return shop.worker(size=10, turns=Turns(time.monotonic, seconds=0.0))


def with_quotes(shop, count=60):
    table = shop.table(drafts=[rows(), rows("1.07")])
    made = [shop.quote(table) for _ in range(count)]
    run = shop.begin(table)
    assert shop.runner.step("planner")
    return run, made


def hold_each_once(shop, run, made):
    """Check that every quote was re-priced exactly once, to what it comes to by itself."""
    ended = shop.runs.run(run.id)
    assert (ended.state, ended.summary.outcomes[Outcome.CHANGED]) == (
        RunState.FINISHED,
        len(made),
    )
    results = shop.results(run)
    assert set(results) == set(made)
    with shop.engine.connect() as connection:
        revised = connection.execute(
            select(quotes.c.id, quotes.c.total_minor).where(quotes.c.run_id == run.id)
        ).all()
        told = connection.execute(
            select(events.c.subject).where(events.c.type == "evenbay.quote.repriced")
        )
        ended_told = connection.execute(
            select(events.c.id).where(events.c.type == "evenbay.run.finished")
        ).all()
        assert Counter(told.scalars()) == Counter(row.id for row in revised)
    totals = {result.revision_id: int(result.after.amount * 100) for result in results.values()}
    assert {row.id: row.total_minor for row in revised} == totals
    assert len(ended_told) == 1
    change = sum(r.after.amount - r.before.amount for r in results.values())
    assert ended.summary.change.amount == change


def owners(shop):
    with shop.engine.connect() as connection:
        return dict(connection.execute(select(run_chunks.c.number, run_chunks.c.owner)).all())


def test_two_processes_share_a_run(place):
    shop, url, go = place
    run, made = with_quotes(shop, 200)
    with started(url, "first", go) as first, started(url, "second", go) as second:
        go.touch()
        assert [first.wait(120), second.wait(120)] == [0, 0]
    hold_each_once(shop, run, made)
    assert set(owners(shop).values()) == {"first", "second"}


def test_what_a_killed_worker_was_writing_is_done_by_another(place):
    shop, url, go = place
    run, made = with_quotes(shop)
    go.touch()
    with started(url, "doomed", go, "stuck") as doomed:
        assert doomed.stdout.readline() == "stuck\n"
        os.kill(doomed.pid, signal.SIGKILL)
        doomed.wait(30)
    with shop.engine.connect() as connection:
        assert connection.execute(select(repricings)).all() == []
    deadline = time.monotonic() + 60
    while shop.runs.run(run.id).finished_at is None and time.monotonic() < deadline:
        shop.runner.work(lambda: False)
        time.sleep(0.2)
    hold_each_once(shop, run, made)
    with shop.engine.connect() as connection:
        attempts = connection.execute(select(run_chunks.c.attempts)).scalars().all()
    assert sorted(attempts) == [1, 1, 1, 1, 1, 2]


def test_who_lost_a_lease_writes_nothing(place):
    shop, _, _ = place
    run, made = with_quotes(shop, 20)
    stale = RunLedger(shop.books, timedelta(0))
    lost = stale.claim(run.id, "stale")
    shop.later(seconds=1)
    time.sleep(0.01)
    shop.runner.work(lambda: False)
    hold_each_once(shop, run, made)
    with pytest.raises(LeaseLost):
        shop.runner._keep(stale, lost, shop.runner._held.of(shop.books, run))
    stale.give_back(lost, "too late")
    hold_each_once(shop, run, made)
    assert set(owners(shop).values()) != {"stale"}


def test_who_lost_a_lease_amid_its_work_takes_all_of_it_back(place, monkeypatch):
    """Between pricing and the end somebody else's name is put on the piece of work."""
    shop, _, _ = place
    run, made = with_quotes(shop, 20)
    write = keep_material.write_revisions

    def meddled(books, connection, *more):
        write(books, connection, *more)
        connection.execute(update(run_chunks).values(owner="other", attempts=7))

    monkeypatch.setattr(keep_material, "write_revisions", meddled)
    assert shop.runner.step("me")
    with shop.engine.connect() as connection:
        assert connection.execute(select(repricings)).all() == []
        assert connection.execute(select(quotes).where(quotes.c.run_id == run.id)).all() == []
    monkeypatch.undo()
    with shop.engine.begin() as connection:
        connection.execute(update(run_chunks).values(state="waiting"))
    shop.runner.work(lambda: False)
    hold_each_once(shop, run, made)


def test_nobody_takes_over_from_one_who_is_writing(place):
    shop, _, _ = place
    if shop.engine.dialect.name != "postgresql":
        pytest.skip("on SQLite one transaction writes at a time")
    run, _ = with_quotes(shop, 10)
    mine, other = (RunLedger(shop.books, timedelta(0)) for _ in range(2))
    claim = mine.claim(run.id, "me")
    with shop.books.writing() as connection:
        mine.fence(connection, claim)
        assert other.claim(run.id, "other") is None
    assert other.claim(run.id, "other").attempts == 2


def test_a_revision_that_comes_between_makes_a_piece_be_done_again(place, monkeypatch):
    shop, _, _ = place
    if shop.engine.dialect.name != "postgresql":
        pytest.skip("on SQLite one transaction writes at a time")
    run, made = with_quotes(shop, 10)
    table, write, came = run.prices.table_id, keep_material.write_revisions, []

    def late(*args):
        if not came:
            life = {"series": made[0], "revision": 2, "decided": State.DRAFT}
            came.append(shop.quote(table, life=life, at=shop.later(seconds=1)))
        write(*args)

    monkeypatch.setattr(keep_material, "write_revisions", late)
    shop.runner.work(lambda: False)
    results = shop.results(run)
    assert results.pop(made[0]).outcome is Outcome.CLOSED
    assert {one.outcome for one in results.values()} == {Outcome.CHANGED}
    assert set(results) == set(made[1:])
    assert shop.lives.life(came[0]).revision == 2


def test_a_piece_that_always_fails_is_given_up_and_the_run_says_so(place, monkeypatch):
    shop, _, _ = place
    run, made = with_quotes(shop, 20)
    write, last_ten = keep_material.write_revisions, set(sorted(made)[10:])

    def failing(books, connection, run, within, *more):
        if within.last_id in last_ten:
            raise RuntimeError("no such luck")
        write(books, connection, run, within, *more)

    monkeypatch.setattr(keep_material, "write_revisions", failing)
    shop.runner.work(lambda: False)
    ended = shop.runs.run(run.id)
    assert (ended.state, ended.progress.done, ended.progress.failed) == (RunState.FAILED, 1, 1)
    assert ended.reason == "1 pieces of work failed: RuntimeError in piece 2"
    assert ended.summary.outcomes[Outcome.CHANGED] == 10
    monkeypatch.undo()
    again = shop.run(run.prices.table_id)
    assert (again.state, again.summary.outcomes[Outcome.CHANGED]) == (RunState.FINISHED, 10)


def test_whoever_comes_late_to_a_planned_run_does_not_look_its_quotes_over(place, monkeypatch):
    shop, _, _ = place
    run, _ = with_quotes(shop, 20)
    looked = []
    monkeypatch.setattr(Books, "look_over", lambda *tables: looked.append(tables))
    assert not RunLedger(shop.books, LEASE).plan(run.id, 10, shop.now)
    assert looked == []


def test_a_short_run_is_not_kept_waiting_by_a_long_one_of_another_dealer(place):
    shop, _, _ = place
    run, made = with_quotes(shop, 200)
    worker, other = in_turns(shop), Shop(shop.engine, "Osprey Railing")
    assert worker.step("me")
    table = other.table(drafts=[rows(), rows("1.07")])
    theirs = [other.quote(table) for _ in range(20)]
    short, pieces = other.begin(table), 0
    while other.runs.run(short.id).finished_at is None:
        assert worker.step("me")
        pieces += 1
    assert shop.runs.run(run.id).progress.done <= 1 + pieces / 2
    assert pieces <= 2 * 4, "planned, two pieces, finished"
    worker.work(lambda: False)
    assert set(shop.results(run)) == set(made)
    assert set(other.results(short)) == set(theirs)


def test_runs_of_one_dealer_follow_each_other(place):
    shop, _, _ = place
    run, _ = with_quotes(shop, 30)
    later = shop.begin(run.prices.table_id)
    in_turns(shop).work(lambda: False)
    first, second = shop.runs.run(run.id), shop.runs.run(later.id)
    assert first.summary.outcomes[Outcome.CHANGED] == 30
    assert second.state is RunState.FINISHED
    assert second.summary.quotes == 0, "none that the first revised meanwhile"


def test_those_who_take_turns_read_their_prices_once(place, monkeypatch):
    shop, _, _ = place
    read, table_of = Counter(), SqlPriceTables.priced
    monkeypatch.setattr(
        SqlPriceTables,
        "priced",
        lambda self, version: read.update([self._books.dealer]) or table_of(self, version),
    )
    shops = [shop, *(Shop(shop.engine, name) for name in ("Osprey Railing", "Wren Decks"))]
    runs = [with_quotes(one, 30)[0] for one in shops]
    read.clear()
    in_turns(shop).work(lambda: False)
    assert [one.runs.run(run.id).state for one, run in zip(shops, runs, strict=True)] == (
        [RunState.FINISHED] * 3
    )
    assert read == Counter(one.books.dealer for one in shops)


def test_only_the_prices_of_a_few_runs_are_held(place):
    shop, _, _ = place
    table = shop.table(drafts=[rows()])
    runs, held = [shop.begin(table, version=1) for _ in range(6)], HeldPrices()
    first = [held.of(shop.books, run) for run in runs]
    again = [held.of(shop.books, run) for run in (*runs[2:], runs[0], runs[2])]
    kept = [one is before for one, before in zip(again, (*first[2:], *first[::2]), strict=False)]
    assert kept == [True] * 4 + [False] * 2, "the one used longest ago goes"
