"""Revisions of many quotes at once, written without their documents.

Of a revision that a run makes, request and answer are empty until somebody reads them: they are
then written from those of the quote whose order it has, and kept. All else is copied here, by the
database, from the quote it revises.
"""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Connection, and_

from service import __version__
from service.adapters.storage.books import Books
from service.adapters.storage.light_records import Result, Revised
from service.adapters.storage.repriced_events import repriced_events
from service.adapters.storage.run_candidates import Range
from service.adapters.storage.tables import (
    events,
    quote_lives,
    quote_orders,
    quotes,
    repricings,
)
from service.domain.pricing.life import State
from service.usecases.repricing.records import Revisions, Run

_RESULT = (
    "quote_id",
    "outcome",
    "total_before",
    "currency",
    "total_after",
    "revision_id",
    "margin_ppm",
    "under_floor",
    "detail",
)  # as the members of ``Result``


def keep_results(
    books: Books, connection: Connection, run_id: str, results: Sequence[Result]
) -> None:
    """Keep what came of quotes."""
    if results:
        of_each = dict(zip(_RESULT, zip(*results, strict=True), strict=True))
        books.insert_alike(connection, repricings, {"run_id": run_id}, of_each)


def write_revisions(
    books: Books,
    connection: Connection,
    run: Run,
    within: Range,
    revised: Sequence[Revised],
    at: datetime,
) -> None:
    """Write the revisions whose results are kept already, and tell of them.

    Args:
        books: Of the dealer.
        connection: Of the transaction, in which all results of the range are.
        run: Which makes them.
        within: The range they are of.
        revised: The revisions.
        at: When.
    """
    if not revised:
        return
    copied = _copy_quotes(books, connection, run, within, at)
    if copied != len(revised):  # so that each life and order has its quote
        raise RuntimeError(f"{copied} of {len(revised)} revisions of run {run.id} were copied")
    _begin_lives(books, connection, run, revised, at)
    _write_orders(books, connection, run, revised, at)
    if run.wish.revisions is Revisions.AS_BEFORE:
        _replace(books, connection, run, within, at)
    entered = {"entered": books.next_entered(connection), "at": at}
    told = repriced_events(books.dealer, run, revised, at)
    books.insert_alike(connection, events, entered, told)


def _write_orders(
    books: Books, connection: Connection, run: Run, revised: Sequence[Revised], at: datetime
) -> None:
    same = {
        "created_at": at,
        "price_table": run.prices.table_id,
        "price_version": run.prices.version,
        "priced_on": run.wish.on,
        "currency": run.prices.currency,
    }
    of_each: dict[str, Sequence[Any]] = {
        "quote_id": [one.result.revision_id for one in revised],
        "rules": [one.quote.rules for one in revised],
        "total_minor": [one.result.after for one in revised],
        "material_of": [one.quote.material_of for one in revised],
        "lines": [one.amounts for one in revised],
    }
    books.insert_alike(connection, quote_orders, same, of_each)


def _of_run(run: Run, within: Range) -> ColumnElement[bool]:
    mine = repricings.c
    return and_(
        mine.run_id == run.id,
        within.has(mine.quote_id),
        mine.revision_id.is_not(None),
    )


def _copy_quotes(
    books: Books, connection: Connection, run: Run, within: Range, at: datetime
) -> int:
    """Make quotes of the revisions that the results of a range name; give how many."""
    copied = ("reference", "codes", "currency", "customer", "customer_name", "outside_reference")
    values: dict[str, Any] = {
        "id": repricings.c.revision_id,
        "created_at": at,
        "service_version": __version__,
        "price_table": run.prices.table_name,
        "total_minor": repricings.c.total_after,
        "request": b"",
        "answer": b"",
        "run_id": run.id,
        **{name: quotes.c[name] for name in copied},
    }
    rows = books.select(quotes.c.id, of=[quotes, repricings]).where(
        _of_run(run, within), quotes.c.id == repricings.c.quote_id
    )
    return books.insert_from(connection, quotes, values, rows)


def _begin_lives(
    books: Books, connection: Connection, run: Run, revised: Sequence[Revised], at: datetime
) -> None:
    draft = State.DRAFT.value
    same = {
        "version": 1,
        "changed_at": at,
        "sawn": False,
        "remnants_kept": False,
        "replaced_by": "",
    }
    as_before = run.wish.revisions is Revisions.AS_BEFORE
    of_each: dict[str, Sequence[Any]] = {
        "quote_id": [one.result.revision_id for one in revised],
        "decided": [one.quote.decided if as_before else draft for one in revised],
        "valid_until": [one.quote.valid_until for one in revised],
        "series": [one.quote.series for one in revised],
        "revision": [one.quote.revision + 1 for one in revised],
    }
    books.insert_alike(connection, quote_lives, same, of_each)


def _replace(books: Books, connection: Connection, run: Run, within: Range, at: datetime) -> None:
    """Of an issued quote its issued revision takes the place; a draft stays what it is."""
    same = and_(
        repricings.c.dealer == quote_lives.c.dealer,
        repricings.c.quote_id == quote_lives.c.quote_id,
    )
    mine = books.update(quote_lives).where(
        same, _of_run(run, within), quote_lives.c.decided == State.ISSUED.value
    )
    connection.execute(
        mine.values(
            decided=State.REPLACED.value,
            replaced_by=repricings.c.revision_id,
            version=quote_lives.c.version + 1,
            changed_at=at,
        )
    )
