"""Re-pricing runs on real databases: what comes of each quote, and what is written of it."""

from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from sqlalchemy import exists, select, update

from service.adapters.storage import light_revisions, migrate, run_ledger, runs
from service.adapters.storage.engine import connect
from service.adapters.storage.orders import read_order
from service.adapters.storage.tables import events, metadata, quote_lives, quotes, repricings
from service.domain.errors import RunClosed, StaleState, UnknownReference
from service.domain.pricing.life import State, accept, decline
from service.usecases.repricing.records import (
    ANY_PRICES,
    Outcome,
    Revisions,
    RunState,
    Thresholds,
    Which,
    cancel,
    pause,
    resume,
)
from service.usecases.repricing.steer import steer_run
from tests.integration.databases import BOTH, url_of
from tests.repricing import DAY, GOODS, RULES, SKUS, Shop, minor, rows

# Tables from which no foreign key leads, and what their rows belong to by which column.
OWNED = {
    "quotes": ("dealer", "dealers"),
    "events": ("dealer", "dealers"),
    "quote_lives": ("quote_id", "quotes"),
    "quote_orders": ("quote_id", "quotes"),
    "repricings": ("run_id", "repricing_runs"),
}


@pytest.fixture(params=BOTH)
def shop(request, tmp_path):
    with url_of(request.param, tmp_path) as url:
        engine = connect(url)
        migrate.upgrade(engine)
        yield Shop(engine)
        engine.dispose()


def everything(shop):
    """Give every row of every table, but for runs and the trail."""
    aside = {"repricing_runs", "run_chunks", "repricings", "audit", "events"}
    with shop.engine.connect() as connection:
        return {
            table.name: sorted(map(tuple, connection.execute(select(table))), key=repr)
            for table in metadata.sorted_tables
            if table.name not in aside
        }


def lives(shop):
    with shop.engine.connect() as connection:
        found = connection.execute(select(quote_lives)).all()
    return {life.quote_id: life for life in found}


def order_of(shop, quote_id):
    with shop.engine.connect() as connection:
        return read_order(shop.books, connection, quote_id)


def strays(shop):
    """Give the names of tables, one for each of their rows that belongs to nothing."""
    found = []
    for name, (column, owner) in OWNED.items():
        table, owners = metadata.tables[name], metadata.tables[owner]
        own = owners.c.id == table.c[column]
        if "dealer" in owners.c:
            own &= owners.c.dealer == table.c.dealer
        with shop.engine.connect() as connection:
            found += [name for _ in connection.execute(select(table).where(~exists().where(own)))]
    return found


def counts(run):
    return {outcome.value: n for outcome, n in run.summary.outcomes.items() if n}


def test_every_quote_is_revised_to_what_it_comes_to_one_by_one(shop):
    table = shop.table(drafts=[rows(), rows("1.07")])
    made = [shop.quote(table) for _ in range(23)]
    before = everything(shop)
    run = shop.run(table)
    assert (run.state, run.progress.chunks, run.progress.done) == (RunState.FINISHED, 4, 4)
    assert counts(run) == {"changed": 23}
    assert strays(shop) == []
    results = shop.results(run)
    assert set(results) == set(made)
    after, changed = lives(shop), Counter()
    for quote_id, result in results.items():
        kept = order_of(shop, quote_id)
        priced = shop.priced(table, 2, kept.material.lines)
        assert result.after == priced.totals.gross
        assert result.before == kept.total
        revision = order_of(shop, result.revision_id)
        assert revision.total == priced.totals.gross
        assert revision.material_of == quote_id
        assert (revision.material.table_id, revision.material.version) == (table, 2)
        for old, new, line in zip(
            kept.material.lines, revision.material.lines, priced.lines, strict=True
        ):
            assert (new.part, new.quantity, new.amount) == (
                old.part, old.quantity, line.amount.amount
            )  # fmt: skip
            changed[old.part] += new.amount - old.amount
        life = after[result.revision_id]
        assert (life.decided, life.revision, life.series) == ("draft", 2, quote_id)
        assert after[quote_id].decided == "issued"
    for name, held in before.items():
        assert set(held) <= set(everything(shop)[name]), f"rows of {name} were overwritten"
    assert run.summary.change == replace(
        run.summary.after, amount=sum(r.after.amount - r.before.amount for r in results.values())
    )
    drove = {(p.kind, p.sku, p.name): p.change.amount for p in run.summary.parts}
    assert drove == {(p.kind, p.sku, p.name): change for p, change in changed.items() if change}


@pytest.mark.parametrize("name", ["quote_lives", "quote_orders", "repricings"])
def test_a_row_that_belongs_to_nothing_is_seen(shop, name):
    table = shop.table(drafts=[rows(), rows("1.07")])
    shop.quote(table)
    run = shop.run(table)
    assert strays(shop) == []
    (result,) = shop.results(run).values()
    strange = metadata.tables[name]
    of_run = strange.c.get("run_id", strange.c.quote_id)
    mine = of_run.in_([run.id, result.revision_id])
    with shop.engine.begin() as connection:
        connection.execute(update(strange).where(mine).values(dealer="nobody"))
    assert strays(shop) == [name]


def test_a_revision_that_is_no_quote_leaves_nothing_behind(shop, monkeypatch):
    table = shop.table(drafts=[rows(), rows("1.07")])
    shop.quote(table)
    before, copy = everything(shop), light_revisions._copy_quotes
    monkeypatch.setattr(light_revisions, "_copy_quotes", lambda *all: copy(*all) - 1)
    run = shop.run(table)
    assert (run.state, run.progress.failed) == (RunState.FAILED, 1)
    assert (everything(shop), strays(shop)) == (before, [])


def test_the_same_run_again_changes_nothing(shop):
    table = shop.table(drafts=[rows(), rows("1.07")])
    for _ in range(9):
        shop.quote(table)
    shop.run(table)
    before = everything(shop)
    again = shop.run(table)
    assert counts(again) == {"unchanged": 9}
    assert everything(shop) == before
    assert shop.results(again) == {}


def test_a_run_asked_for_twice_by_one_id_begins_once(shop):
    table = shop.table(drafts=[rows(), rows("1.07")])
    first = shop.begin(table, run_id="nightly")
    second = shop.begin(table, run_id="nightly", dry_run=True)
    assert (second.created_at, second.wish.dry_run) == (first.created_at, False)
    assert len(shop.runs.page(None, 10)) == 1


def test_a_dry_run_says_all_and_revises_nothing(shop):
    table = shop.table(drafts=[rows(), rows("1.07")])
    for _ in range(9):
        shop.quote(table)
    before = everything(shop)
    dry = shop.run(table, dry_run=True)
    assert everything(shop) == before
    assert not any(result.revision_id for result in shop.results(dry).values())
    wet = shop.run(table)
    assert dry.summary == wet.summary
    assert [r.after for r in shop.results(dry).values()] == [
        r.after for r in shop.results(wet).values()
    ]


def test_what_is_no_longer_open_or_not_looked_for_is_left_alone(shop):
    table = shop.table(drafts=[rows(), rows("1.07")])
    other = shop.table("autumn", drafts=[rows()])
    wanted = shop.quote(table, life={"decided": State.DRAFT})
    shop.quote(table, life={"decided": State.ACCEPTED})
    shop.quote(table, life={"decided": State.DECLINED})
    shop.quote(table, life={"valid_until": DAY - timedelta(days=1)})
    shop.quote(other)
    overtaken = shop.quote(table)
    newest = shop.quote(table, life={"series": overtaken, "revision": 2})
    run = shop.run(table)
    assert set(shop.results(run)) == {wanted, newest}
    assert counts(run) == {"changed": 2}


def test_a_filter_leaves_others_alone(shop):
    table = shop.table(drafts=[rows(), rows("1.07")])
    other = shop.table("autumn", drafts=[rows("1.5")])
    by_reference = shop.quote(table, reference="Owl Court", life={"decided": State.DRAFT})
    by_other = shop.quote(other)
    sent = shop.quote(table, by="", version=0)
    old = shop.quote(table, at=shop.now - timedelta(days=9))
    books = shop.quote(table, outside_reference="J-17")

    def looked_at(**which):
        return set(shop.results(shop.run(table, which=Which(**which), dry_run=True)))

    assert looked_at() == {by_reference, old, books}
    assert looked_at(reference="Owl Court") == {by_reference}
    assert looked_at(states=frozenset({State.DRAFT})) == {by_reference}
    assert looked_at(outside_reference="J-17") == {books}
    assert looked_at(series=books) == {books}
    assert looked_at(made_to=DAY - timedelta(days=9)) == {old}
    assert looked_at(made_from=DAY) == {by_reference, books}
    assert looked_at(priced_by="autumn") == {by_other}
    assert looked_at(priced_by=ANY_PRICES) == {by_reference, by_other, sent, old, books}
    with pytest.raises(UnknownReference, match="No price table is kept under 'winter'"):
        shop.begin(table, which=Which(priced_by="winter"))


def test_quotes_that_cannot_be_priced_are_told_apart(shop):
    table = shop.table(drafts=[rows(), rows("1.07", without=SKUS[:1])])
    euros = shop.table("euro", drafts=[rows()], currency="EUR")
    lines = shop.lines()
    without = shop.quote(table, lines=[replace(lines[0], part=GOODS[0]), lines[-1]])
    unkept = shop.quote(table, unkept=True)
    foreign = shop.quote(euros)
    good = shop.quote(table, lines=[replace(lines[0], part=GOODS[3])])
    run = shop.run(table, which=Which(priced_by=ANY_PRICES))
    results = shop.results(run)
    assert {q: r.outcome.value for q, r in results.items()} == {
        without: "no-price", unkept: "not-kept", foreign: "other-currency", good: "changed"
    }  # fmt: skip
    assert results[without].detail == SKUS[0]
    assert run.summary.without_price == ((SKUS[0], 1),)
    assert {r.revision_id for r in results.values()} == {"", results[good].revision_id}


def test_thresholds_leave_small_changes_alone(shop):
    dear = [replace(row, unit_price=row.unit_price * 2) if row.sku == SKUS[0] else row
            for row in rows()]  # fmt: skip
    table = shop.table(drafts=[rows(), dear])
    lines = shop.lines()
    little = [replace(lines[0], part=GOODS[0], quantity=Decimal(1)),
              replace(lines[1], part=GOODS[5], quantity=Decimal(90))]  # fmt: skip
    much = [replace(lines[0], part=GOODS[0], quantity=Decimal(50))]
    same = [replace(lines[0], part=GOODS[5], quantity=Decimal(50))]
    quotes_ = [shop.quote(table, lines=one) for one in (little, much, same)]

    def came(**limits):
        run = shop.run(table, thresholds=Thresholds(**limits), dry_run=True)
        found = shop.results(run)
        return [found[q].outcome.value if q in found else "unchanged" for q in quotes_], run

    assert came()[0] == ["changed", "changed", "unchanged"]
    assert came(change_rate=Decimal("0.02"))[0] == ["under-threshold", "changed", "unchanged"]
    # 7.35 and 0.53 of tax become 14.70 and 1.07: 7.89 more.
    assert came(change_amount=Decimal("7.89"))[0] == ["under-threshold", "changed", "unchanged"]
    assert came(change_amount=Decimal("7.88"))[0] == ["changed", "changed", "unchanged"]
    floored, run = came(change_rate=Decimal(9), margin_under=Decimal("0.99"))
    assert floored == ["changed", "changed", "unchanged"]
    assert run.summary.under_floor == 3
    assert set(shop.results(run, under_floor=True)) == set(quotes_)


def test_as_before_an_issued_revision_replaces_and_a_draft_stays_one(shop):
    table = shop.table(drafts=[rows(), rows("1.07")])
    issued, draft = shop.quote(table), shop.quote(table, life={"decided": State.DRAFT})
    run = shop.run(table, revisions=Revisions.AS_BEFORE)
    after, results = lives(shop), shop.results(run)
    new = results[issued].revision_id
    assert (after[issued].decided, after[issued].replaced_by) == ("replaced", new)
    assert (after[issued].version, after[new].decided) == (2, "issued")
    assert after[draft].decided == after[results[draft].revision_id].decided == "draft"
    with shop.engine.connect() as connection:
        told = connection.execute(select(events.c.type, events.c.subject)).all()
    said = Counter((kind.removeprefix("evenbay."), subject) for kind, subject in told)
    assert said == Counter(
        [
            ("quote.issued", issued),
            ("quote.replaced", issued),
            ("quote.repriced", new),
            ("quote.issued", new),
            ("quote.repriced", results[draft].revision_id),
            ("run.finished", run.id),
        ]
    )


def test_what_is_decided_while_a_run_goes_is_left_as_it_is(shop):
    table = shop.table(drafts=[rows(), rows("1.07")])
    made = [shop.quote(table) for _ in range(5)]
    run = shop.begin(table)
    assert shop.runner.step("me"), "planned"
    shop.later(seconds=1)
    shop.lives.change(made[0], lambda life: accept(life, DAY), shop.now)
    shop.lives.change(made[1], lambda life: decline(life, DAY), shop.now)
    late = shop.quote(table, life={"series": made[2], "revision": 2, "decided": State.DRAFT})
    shop.runner.work(lambda: False)
    run = shop.runs.run(run.id)
    results = shop.results(run)
    closed = {q for q, r in results.items() if r.outcome is Outcome.CLOSED}
    assert closed == set(made[:3])
    assert set(results) - closed == set(made[3:])
    assert late not in results
    assert [results[q].detail for q in made[:3]] == ["accepted", "declined", "revised"]


def test_a_draft_that_a_decision_came_after_is_left_as_it_is(shop):
    table = shop.table(drafts=[rows(), rows("1.07")])
    taken, refused, waiting = (shop.quote(table) for _ in range(3))
    first = shop.results(shop.run(table))
    shop.later(seconds=1)
    shop.lives.change(taken, lambda life: accept(life, DAY), shop.now)
    shop.lives.change(refused, lambda life: decline(life, DAY), shop.now)
    shop.later(seconds=1)
    offer = {"series": refused, "revision": 3, "decided": State.DRAFT}
    newer = shop.quote(table, life=offer)
    again = shop.run(table, version=1)
    assert counts(again) == {"changed": 1, "unchanged": 1}
    assert set(shop.results(again)) == {first[waiting].revision_id}
    last = shop.run(table)
    revised = {newer, shop.results(again)[first[waiting].revision_id].revision_id}
    assert set(shop.results(last)) == revised


def test_dealers_are_apart(shop):
    table = shop.table(drafts=[rows(), rows("1.07")])
    mine = shop.quote(table)
    theirs = Shop(shop.engine, "Osprey Railing")
    their_table = theirs.table(table_id=table, drafts=[rows(), rows("3")])
    their_quote = theirs.quote(their_table, name=mine)
    run = shop.run(table)
    lines = order_of(shop, mine).material.lines
    assert shop.results(run)[mine].after == shop.priced(table, 2, lines).totals.gross
    assert theirs.runs.page(None, 10) == []
    with shop.engine.connect() as connection:
        dealers = connection.execute(select(repricings.c.dealer)).scalars().all()
        new = connection.execute(select(quotes.c.dealer).where(quotes.c.run_id == run.id))
        assert set(dealers) == set(new.scalars()) == {shop.books.dealer}
    assert their_quote == mine


def test_a_run_rests_goes_on_and_is_ended_between_pieces(shop):
    table = shop.table(drafts=[rows(), rows("1.07")])
    for _ in range(20):
        shop.quote(table)
    run = shop.begin(table)

    def steer(step, **more):
        return steer_run(run.id, step, runs=shop.runs, at=shop.now, **more)

    assert steer(pause).state is RunState.PAUSED
    assert not shop.runner.step("me")
    assert steer(resume).state is RunState.PLANNED
    assert shop.runner.step("me")
    assert shop.runner.step("me")
    held = steer(pause)
    assert (held.progress.done, held.progress.chunks, held.progress.quotes) == (1, 3, 20)
    assert not shop.runner.step("me")
    with pytest.raises(StaleState):
        steer(resume, matches=lambda tag: tag == "1-planned")
    assert steer(resume, matches=lambda tag: tag == held.tag).state is RunState.RUNNING
    assert shop.runner.step("me")
    ended = steer(cancel)
    assert (ended.state, ended.finished_at) == (RunState.CANCELLED, None)
    assert shop.runner.work(lambda: False) == 1
    ended = shop.runs.run(run.id)
    assert (ended.state, ended.finished_at) == (RunState.CANCELLED, shop.now)
    assert (ended.progress.done, counts(ended)) == (2, {"changed": 14})
    assert len(shop.results(ended)) == 14
    with pytest.raises(RunClosed):
        steer(lambda held: pause(held))
    assert not shop.runner.step("me")
    with shop.engine.connect() as connection:
        told = connection.execute(select(events).where(events.c.subject == run.id)).all()
    assert len(told) == 1


def test_the_last_day_of_the_calendar_ends_no_time(shop):
    table = shop.table(drafts=[rows(), rows("1.07")])
    shop.quote(table)
    run = shop.run(table, which=Which(made_from=date.min, made_to=date.max))
    assert counts(run) == {"changed": 1}


def test_a_run_that_cannot_be_planned_keeps_no_other_and_is_given_up(shop, monkeypatch):
    table = shop.table(drafts=[rows(), rows("1.07")])
    shop.quote(table)
    bad, good = shop.begin(table), shop.begin(table, dry_run=True)
    plan = run_ledger.ranges

    def failing(books, connection, run, size):
        if run.id == bad.id:
            raise RuntimeError("no such luck")
        return plan(books, connection, run, size)

    monkeypatch.setattr(run_ledger, "ranges", failing)
    shop.runner.work(lambda: False)
    assert shop.runs.run(good.id).state is RunState.FINISHED
    ended = shop.runs.run(bad.id)
    assert (ended.state, ended.finished_at) == (RunState.FAILED, shop.now)
    assert ended.reason == "It could not be planned: RuntimeError"
    with shop.engine.connect() as connection:
        told = connection.execute(select(events).where(events.c.subject == bad.id)).all()
    assert [one.type for one in told] == ["evenbay.run.finished"]
    with pytest.raises(RunClosed):
        steer_run(bad.id, resume, runs=shop.runs, at=shop.now)


def test_what_the_pieces_came_to_is_added_up_once_at_the_end(shop, monkeypatch):
    table = shop.table(drafts=[rows(), rows("1.07")])
    for _ in range(20):
        shop.quote(table)
    run = shop.begin(table)
    while shop.runs.run(run.id).progress.done < 3:
        assert shop.runner.step("me")
    read, added = runs.read_tallies, []
    monkeypatch.setattr(runs, "read_tallies", lambda text: added.append(text) or read(text))
    assert shop.runner.step("me")
    assert len(added) == 3
    ended = shop.runs.run(run.id)
    assert (ended.state, counts(ended)) == (RunState.FINISHED, {"changed": 20})


def test_a_run_without_quotes_is_finished_at_once(shop):
    table = shop.table(drafts=[rows(), rows("1.07")])
    run = shop.run(table)
    assert (run.state, run.progress.chunks, run.summary.quotes) == (RunState.FINISHED, 0, 0)


def test_rules_of_a_quote_stay_its_own(shop):
    table = shop.table(drafts=[rows(), rows("1.07")])
    untaxed = replace(RULES, taxes=())
    lines = shop.lines()
    both = [shop.quote(table, lines=lines, settings=one) for one in (RULES, untaxed)]
    results = shop.results(shop.run(table))
    for quote_id, rules in zip(both, (RULES, untaxed), strict=True):
        wanted = shop.priced(table, 2, lines, rules).totals.gross
        assert minor(results[quote_id].after) == minor(wanted)
        assert order_of(shop, results[quote_id].revision_id).material.settings == rules
