"""Quotes re-priced for tests: a stored table that becomes dearer, and the runs by it."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from itertools import count
from uuid import uuid4

import orjson

from service.adapters.storage.orders import read_order
from service.adapters.storage.price_tables import SqlPriceTables
from service.adapters.storage.quote_lives import SqlQuoteLives
from service.adapters.storage.run_work import SqlRunWork
from service.adapters.storage.runs import SqlRuns
from service.api.schemas.pricing import PriceRowSchema
from service.domain.pricing.price_table import PriceRow
from service.usecases.catalogue import Named, PriceDraft
from service.usecases.repricing.ports import ResultsWanted
from service.usecases.repricing.records import Revisions, RunWish, Which
from service.usecases.repricing.steer import begin_run
from tests.api.replay import request_bytes
from tests.serving import books_of

AT = datetime(2026, 1, 5, tzinfo=UTC)
NIGHT = datetime(2026, 12, 1, 2, 0, tzinfo=UTC)
DAY = date(2026, 12, 1)
_RUNS = count()
# By which every price rises alike, so that no other way to cut becomes the cheapest.
RISE = Decimal("1.1")


def stocked(engine, example="quote", **more):
    """Keep an example's prices in two versions, the second dearer; give the order by the first."""
    order = {**orjson.loads(request_bytes(example)), **more}
    table = order["price_table"]
    rows = [PriceRow(**row) for row in PriceRowSchema(many=True).load(table["rows"])]
    tables = SqlPriceTables(books_of(engine))
    named = Named(str(uuid4()), f"{example} {uuid4()}", AT, 1, 1)
    tables.add(named, PriceDraft(table["currency"], rows))
    tables.activate(named.id, 1, date(2026, 1, 1), 1, AT)
    dearer = [
        replace(row, unit_price=_risen(row.unit_price), cost=_risen(row.cost)) for row in rows
    ]
    tables.add_version(named.id, PriceDraft(table["currency"], dearer), 2, AT)
    return {**order, "price_table": {"stored": named.id, "version": 1}}


def by_new_prices(order, day=DAY):
    """Give an order as it is sent by somebody who quotes it by the dearer version."""
    return {**order, "price_table": {**order["price_table"], "version": 2}, "on": day.isoformat()}


def _dearer(row):
    return replace(row, unit_price=_risen(row.unit_price), cost=_risen(row.cost))


def _risen(price):
    return None if price is None else price * RISE


def reprice(engine, quote_id, *, issued=False, version=2):
    """Re-price a quote by a version of the table it was priced by; give the revision's id.

    Args:
        engine: Of the database.
        quote_id: The quote, a draft or issued.
        issued: Whether the revision is issued as the quote was, and replaces it; or a draft.
        version: Of the table.
    """
    books = books_of(engine)
    with books.reading() as connection:
        table_id = read_order(books, connection, quote_id).material.table_id
    at = NIGHT + timedelta(minutes=next(_RUNS))
    runs = SqlRuns(books)
    run = begin_run(
        RunWish(
            table_id,
            DAY,
            version,
            which=Which(series=SqlQuoteLives(books).life(quote_id).series),
            revisions=Revisions.AS_BEFORE if issued else Revisions.DRAFT,
        ),
        run_id=str(uuid4()),
        runs=runs,
        price_tables=SqlPriceTables(books),
        at=at,
    )
    SqlRunWork(engine, now=lambda: at).work(lambda: False)
    (result,) = runs.results(run.id, ResultsWanted(), None, 2)
    assert result.revision_id, result
    return result.revision_id
