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
from service.adapters.storage.run_ledger import LeaseLost, RunLedger
from service.adapters.storage.tables import events, quotes, repricings, run_chunks
from service.domain.pricing.life import State
from service.usecases.repricing.records import Outcome, RunState
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
        shop.runner.work(None, lambda: False)
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
    shop.runner.work(None, lambda: False)
    hold_each_once(shop, run, made)
    with pytest.raises(LeaseLost):
        shop.runner._keep(shop.books.dealer, stale, lost)
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
    shop.runner.work(None, lambda: False)
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
    shop.runner.work(None, lambda: False)
    results = shop.results(run)
    assert results.pop(made[0]).outcome is Outcome.CLOSED
    assert {one.outcome for one in results.values()} == {Outcome.CHANGED}
    assert set(results) == set(made[1:])
    assert shop.lives.life(came[0]).revision == 2


def test_a_piece_that_always_fails_is_given_up_and_the_run_says_so(place, monkeypatch):
    shop, _, _ = place
    run, made = with_quotes(shop, 20)
    write = keep_material.write_revisions

    def failing(books, connection, run, within, *more):
        if within.last_id == max(made):
            raise RuntimeError("no such luck")
        write(books, connection, run, within, *more)

    monkeypatch.setattr(keep_material, "write_revisions", failing)
    shop.runner.work(None, lambda: False)
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
