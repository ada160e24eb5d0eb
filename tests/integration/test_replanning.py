"""Runs that plan quotes anew, on real databases: as if each had been revised by hand."""

from decimal import Decimal

import orjson
import pytest
from sqlalchemy import select

from service.adapters.storage import migrate, replan_material
from service.adapters.storage.price_tables import SqlPriceTables
from service.adapters.storage.run_work import SqlRunWork
from service.adapters.storage.runs import SqlRuns
from service.adapters.storage.tables import events, quotes, run_chunks
from service.api.replanning import Replanning
from service.domain.errors import UnbuildableLayout
from service.usecases.catalogue import PriceDraft
from service.usecases.repricing.ports import ResultsWanted
from service.usecases.repricing.records import Mode, Revisions, RunState, RunWish
from service.usecases.repricing.steer import begin_run
from tests.integration.databases import BOTH, url_of
from tests.repriced import DAY, by_new_prices, stocked
from tests.serving import books_of, client_of, migrated_app

JSON = "application/json"


class Yard:
    """A service, an order by kept prices, and a worker that plans anew."""

    def __init__(self, app):
        self.app, self.engine = app, app.extensions["evenbay"].engine
        self.client = client_of(app)
        self.books = books_of(self.engine)
        self.order = stocked(self.engine)
        self.table = self.order["price_table"]["stored"]
        self.worker = SqlRunWork(self.engine, size=2, replan=Replanning(lambda: app))
        self.runs = SqlRuns(self.books)

    def post(self, path="/v1/quotes", body=None, status=201):
        sent = orjson.dumps(body or self.order)
        made = self.client.post(path, data=sent, content_type=JSON)
        assert made.status_code == status, made.data
        return made.json

    def begin(self, **wish):
        number = len(self.runs.page(None, 99)) + 1
        return begin_run(
            RunWish(self.table, DAY, wish.pop("version", 2), Mode.REPLAN_MATERIAL, **wish),
            run_id=f"run-{number}",
            runs=self.runs,
            price_tables=SqlPriceTables(self.books),
            at=self.worker.now(),
        )

    def run(self, **wish):
        begun = self.begin(**wish)
        self.worker.work(lambda: False)
        return self.runs.run(begun.id)

    def results(self, run):
        found = self.runs.results(run.id, ResultsWanted(), None, 100)
        return {one.quote_id: one for one in found}

    def revised(self, run):
        with self.engine.connect() as connection:
            mine = select(quotes.c.id).where(quotes.c.run_id == run.id)
            return set(connection.execute(mine).scalars())


@pytest.fixture(params=BOTH)
def yard(request, tmp_path):
    with url_of(request.param, tmp_path) as url:
        app = migrated_app(url=url, rate_per_minute=0)
        migrate.upgrade(app.extensions["evenbay"].engine)
        yield Yard(app)
        app.extensions["evenbay"].engine.dispose()


def counts(run):
    return {outcome.value: n for outcome, n in run.summary.outcomes.items() if n}


def test_a_quote_comes_to_what_a_revision_by_hand_does(yard):
    first, second = yard.post()["id"], yard.post(body={**yard.order, "draft": True})["id"]
    by_hand = yard.post(body=by_new_prices(yard.order))
    run = yard.run()
    assert (run.state, counts(run)) == (RunState.FINISHED, {"changed": 2, "unchanged": 1})
    results = yard.results(run)
    assert set(results) == {first, second}
    for quote_id, result in results.items():
        revision = yard.client.get(f"/v1/quotes/{result.revision_id}").json
        assert revision["totals"] == by_hand["totals"]
        assert revision["cut_plans"] == by_hand["cut_plans"]
        assert (revision["revises"], revision["revision"]) == (quote_id, 2)
        assert Decimal(revision["totals"]["gross"]["amount"]) == result.after.amount
        state = yard.client.get(f"/v1/quotes/{result.revision_id}/state").json
        assert state["state"] == "draft"
        again = yard.client.post(f"/v1/quotes/{result.revision_id}/recompute").json
        assert again["same"] is True
    assert run.summary.change.amount == sum(
        result.after.amount - result.before.amount for result in results.values()
    )
    assert run.summary.parts
    with yard.engine.connect() as connection:
        told = connection.execute(select(events.c.type)).scalars().all()
    assert told.count("evenbay.quote.repriced") == 2
    again = yard.run()
    assert counts(again) == {"unchanged": 3}
    assert yard.revised(again) == set()


def test_a_dry_run_revises_nothing(yard):
    yard.post()
    run = yard.run(dry_run=True)
    assert counts(run) == {"changed": 1}
    assert yard.revised(run) == set()
    again = yard.run()
    assert run.summary.parts == again.summary.parts != ()


def test_as_before_an_issued_one_is_replaced(yard):
    quote_id = yard.post()["id"]
    run = yard.run(revisions=Revisions.AS_BEFORE)
    new = yard.results(run)[quote_id].revision_id
    states = [yard.client.get(f"/v1/quotes/{one}/state").json["state"] for one in (quote_id, new)]
    assert states == ["replaced", "issued"]


def test_a_part_without_a_price_and_a_refusal_are_told(yard, monkeypatch):
    yard.post()
    tables = SqlPriceTables(yard.books)
    few = tables.rows(yard.table, 1)[1:]
    tables.add_version(yard.table, PriceDraft("USD", few), 3, yard.worker.now())
    run = yard.run(version=3)
    assert counts(run) == {"no-price": 1}
    assert run.summary.without_price

    def refused(*_args):
        raise UnbuildableLayout("It cannot be built.")

    monkeypatch.setattr(Replanning, "quote", refused)
    run = yard.run()
    ((_, result),) = yard.results(run).items()
    assert (result.outcome.value, result.detail) == ("refused", "It cannot be built.")


def test_a_quote_that_nobody_foresaw_keeps_no_others(yard, monkeypatch, caplog):
    made = [yard.post()["id"] for _ in range(4)]
    work_out, bad = Replanning.quote, min(made)

    def failing(self, dealer, run, quote_id, at):
        if quote_id == bad:
            raise ZeroDivisionError
        return work_out(self, dealer, run, quote_id, at)

    monkeypatch.setattr(Replanning, "quote", failing)
    run = yard.run()
    assert (run.state, counts(run)) == (RunState.FINISHED, {"changed": 3, "failed": 1})
    assert yard.results(run)[bad].detail == "It could not be worked out: ZeroDivisionError"
    assert sum(one.exc_info is not None for one in caplog.records) == 5, "every attempt is told"


def test_what_fails_for_all_is_no_fault_of_the_quotes(yard, monkeypatch):
    for _ in range(4):
        yard.post()

    def failing(*_args):
        raise ZeroDivisionError

    monkeypatch.setattr(Replanning, "quote", failing)
    run = yard.run()
    assert (run.state, run.progress.failed, counts(run)) == (RunState.FAILED, 2, {})


def test_a_piece_that_was_left_is_taken_up_where_it_was_left(yard, monkeypatch):
    made = [yard.post()["id"] for _ in range(4)]
    run = yard.begin()
    assert yard.worker.step("me")
    kept, keep = [], replan_material.keep_results

    def dying(books, connection, run_id, results):
        keep(books, connection, run_id, results)
        kept.append(results[0].quote_id)
        if len(kept) == 2:
            raise MemoryError

    monkeypatch.setattr(replan_material, "keep_results", dying)
    assert yard.worker.step("me")
    assert len(yard.results(run)) == 1
    monkeypatch.undo()
    yard.worker.work(lambda: False)
    run = yard.runs.run(run.id)
    assert (run.state, counts(run)) == (RunState.FINISHED, {"changed": 4})
    results = yard.results(run)
    assert set(results) == set(made)
    assert {one.revision_id for one in results.values()} == yard.revised(run)
    with yard.engine.connect() as connection:
        assert sum(connection.execute(select(run_chunks.c.attempts)).scalars()) == 3


def test_what_is_decided_while_it_is_worked_out_stands(yard, monkeypatch):
    made = [yard.post()["id"] for _ in range(2)]
    work_out = Replanning.quote

    def meanwhile(self, dealer, run, quote_id, at):
        quote = work_out(self, dealer, run, quote_id, at)
        step = "accept" if quote_id == made[0] else "decline"
        yard.post(f"/v1/quotes/{quote_id}/{step}", {}, 200)
        return quote

    monkeypatch.setattr(Replanning, "quote", meanwhile)
    run = yard.run()
    results = yard.results(run)
    assert {q: (r.outcome.value, r.detail) for q, r in results.items()} == {
        made[0]: ("closed", "accepted"),
        made[1]: ("closed", "declined"),
    }
    assert yard.revised(run) == set()


def test_who_cannot_plan_anew_leaves_it_to_others(yard):
    yard.post()
    run = yard.begin()
    assert SqlRunWork(yard.engine).work(lambda: False) == 0
    assert yard.runs.run(run.id).state is RunState.PLANNED
