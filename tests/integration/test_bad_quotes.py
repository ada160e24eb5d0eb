"""Quotes that fail for a reason nobody foresaw: they stand alone, and all others are re-priced."""

import logging
from collections import Counter

import pytest
from sqlalchemy import select, update

from service.adapters.storage import careful, keep_material, migrate
from service.adapters.storage.engine import connect
from service.adapters.storage.run_ledger import RunLedger
from service.adapters.storage.tables import events, quote_orders, quotes, run_chunks
from service.usecases.outages import StoreUnavailable
from service.usecases.repricing.records import Outcome, Revisions, RunState
from tests.integration.databases import BOTH, url_of
from tests.repricing import Shop, rows


@pytest.fixture(params=BOTH)
def shop(request, tmp_path):
    with url_of(request.param, tmp_path) as url:
        engine = connect(url)
        migrate.upgrade(engine)
        yield Shop(engine, size=100)
        engine.dispose()


def with_quotes(shop, count):
    table = shop.table(drafts=[rows(), rows("1.07")])
    return table, sorted(shop.quote(table) for _ in range(count))


def corrupt(shop, *quote_ids, lines="[1,2"):
    with shop.engine.begin() as connection:
        bad = update(quote_orders).where(quote_orders.c.quote_id.in_(quote_ids))
        connection.execute(bad.values(lines=lines))


def counts(run):
    return {outcome.value: n for outcome, n in run.summary.outcomes.items() if n}


def hold_each_once(shop, run, good, bad):
    """Check that the good were re-priced once, the bad set aside, and each told of so."""
    results = shop.results(run)
    assert {one for one, came in results.items() if came.outcome is Outcome.FAILED} == set(bad)
    assert {one for one, came in results.items() if came.outcome is Outcome.CHANGED} == set(good)
    assert counts(run) == {"changed": len(good), "failed": len(bad)}
    revisions = [results[one].revision_id for one in good]
    change = sum(results[one].after.amount - results[one].before.amount for one in good)
    assert run.summary.change.amount == change
    with shop.engine.connect() as connection:
        made = select(quotes.c.id).where(quotes.c.run_id == run.id)
        assert sorted(connection.execute(made).scalars()) == sorted(revisions)
        told = select(events.c.subject).where(events.c.type == "evenbay.quote.repriced")
        assert Counter(connection.execute(told).scalars()) == Counter(revisions)


@pytest.mark.parametrize("place", [0, 50, 99], ids=["the first", "in the middle", "the last"])
@pytest.mark.parametrize("lines", ["[1,2", "[999999,1000000,5]"], ids=["torn", "unknown part"])
def test_a_quote_that_is_corrupt_stands_alone_and_all_others_are_repriced(shop, place, lines):
    table, made = with_quotes(shop, 100)
    corrupt(shop, made[place], lines=lines)
    run = shop.run(table)
    assert (run.state, run.progress.done, run.progress.failed) == (RunState.FINISHED, 1, 0)
    hold_each_once(shop, run, [one for one in made if one != made[place]], [made[place]])
    detail = shop.results(run)[made[place]].detail
    assert detail.startswith("It could not be worked out: ")


def test_those_that_fail_stay_what_they_are_and_the_next_run_looks_again(shop):
    table, made = with_quotes(shop, 20)
    with shop.engine.connect() as connection:
        whole = connection.execute(
            select(quote_orders.c.lines).where(quote_orders.c.quote_id == made[3])
        ).scalar_one()
    corrupt(shop, made[3])
    run = shop.run(table, revisions=Revisions.AS_BEFORE)
    assert counts(run) == {"changed": 19, "failed": 1}
    assert shop.lives.life(made[3]).decided == "issued"
    assert shop.results(run)[made[3]].revision_id == ""
    corrupt(shop, made[3], lines=whole)
    assert counts(shop.run(table)) == {"changed": 1, "unchanged": 19}


def test_work_for_a_few_corrupt_quotes_is_bounded(shop, monkeypatch):
    table, made = with_quotes(shop, 96)
    bad = made[10:13] + made[40:41] + made[-1:]
    corrupt(shop, *bad)
    priced, price = [], keep_material.candidates
    monkeypatch.setattr(
        keep_material,
        "candidates",
        lambda *args, **more: priced.append(found := price(*args, **more)) or found,
    )
    run = shop.run(table)
    hold_each_once(shop, run, [one for one in made if one not in bad], bad)
    # Two attempts at the whole, then halves of what fails, a quote alone thrice, and others tried.
    assert sum(map(len, priced)) < 8 * len(made)


def test_what_is_done_of_a_failing_range_is_kept_when_its_worker_dies(shop, monkeypatch):
    table, made = with_quotes(shop, 40)
    corrupt(shop, made[30])
    run = shop.begin(table)
    advance, kept = RunLedger.advance, []

    def dying(self, connection, claim, tallies, done_to):
        if len(kept) == 2:
            raise StoreUnavailable("gone")
        kept.append(done_to)
        advance(self, connection, claim, tallies, done_to)

    monkeypatch.setattr(RunLedger, "advance", dying)
    with pytest.raises(StoreUnavailable):
        shop.runner.work(lambda: False)
    monkeypatch.undo()
    assert kept == [made[19], made[29]]
    with shop.engine.begin() as connection:
        connection.execute(update(run_chunks).values(state="waiting"))
    shop.runner.work(lambda: False)
    ended = shop.runs.run(run.id)
    hold_each_once(shop, ended, [one for one in made if one != made[30]], [made[30]])


def everything_fails(monkeypatch, error):
    def failing(*_args):
        raise error

    monkeypatch.setattr(keep_material, "read_orders", failing)


@pytest.mark.parametrize("error", [RuntimeError(), MemoryError(), OSError("no room")], ids=repr)
def test_what_fails_for_all_is_no_fault_of_the_quotes(shop, monkeypatch, error):
    table, _ = with_quotes(shop, 40)
    everything_fails(monkeypatch, error)
    run = shop.run(table)
    assert (run.state, run.progress.failed, counts(run)) == (RunState.FAILED, 1, {})
    assert run.reason == f"1 pieces of work failed: {type(error).__name__} in piece 1"
    assert shop.results(run) == {}


def test_what_fails_for_all_from_some_moment_on_is_no_fault_of_the_quotes(shop, monkeypatch):
    table, made = with_quotes(shop, 200)
    run = shop.begin(table)
    assert shop.runner.step("me")
    assert shop.runner.step("me")
    everything_fails(monkeypatch, RuntimeError())
    shop.runner.work(lambda: False)
    ended = shop.runs.run(run.id)
    assert (ended.state, counts(ended)) == (RunState.FAILED, {"changed": 100})
    assert set(shop.results(run)) == set(made[:100])


@pytest.mark.parametrize("error", [MemoryError(), OSError("no room")], ids=repr)
def test_a_machine_that_fails_at_one_quote_is_not_held_against_it(shop, monkeypatch, error):
    table, made = with_quotes(shop, 40)
    corrupt(shop, made[7], lines="[13,13,13]")
    read = keep_material.read_orders

    def failing(texts, *more):
        if "[13,13,13]" in texts:
            raise error
        return read(texts, *more)

    monkeypatch.setattr(keep_material, "read_orders", failing)
    run = shop.run(table)
    assert (run.state, run.summary.outcomes[Outcome.FAILED]) == (RunState.FAILED, 0)


def test_a_database_that_is_away_is_waited_for(shop, monkeypatch):
    table, made = with_quotes(shop, 10)
    everything_fails(monkeypatch, StoreUnavailable("away"))
    run = shop.begin(table)
    assert shop.runner.step("me")
    for _ in range(6):
        with pytest.raises(StoreUnavailable):
            shop.runner.step("me")
        with shop.engine.begin() as connection:
            connection.execute(update(run_chunks).values(state="waiting"))
    monkeypatch.undo()
    shop.runner.work(lambda: False)
    assert counts(shop.runs.run(run.id)) == {"changed": len(made)}


def test_where_too_many_fail_the_piece_does(shop, monkeypatch, caplog):
    table, made = with_quotes(shop, 40)
    corrupt(shop, *made[5:25])
    monkeypatch.setattr(careful, "MOST_SET_ASIDE", 6)
    with caplog.at_level(logging.ERROR, "service"):
        run = shop.run(table)
    assert (run.state, run.progress.failed) == (RunState.FAILED, 1)
    assert counts(run) == {"changed": 5, "failed": 6}
    assert sum("could not be priced" in one.message for one in caplog.records) == 6


def test_a_quote_alone_in_its_range_is_held_against_the_other_ranges(shop):
    table, made = with_quotes(shop, 101)
    corrupt(shop, made[-1])
    run = shop.run(table)
    assert run.progress.chunks == 2
    hold_each_once(shop, run, made[:-1], made[-1:])
    only, (alone,) = with_quotes(Shop(shop.engine, "Osprey Railing"), 1)
    other = Shop(shop.engine, "Osprey Railing")
    corrupt(other, alone)
    failed = other.run(only)
    assert (failed.state, counts(failed)) == (RunState.FAILED, {})
