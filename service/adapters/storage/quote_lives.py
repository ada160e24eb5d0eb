"""What is decided about quotes, and the offcuts they claim by it."""

from collections.abc import Callable
from dataclasses import fields
from datetime import datetime
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from sqlalchemy import Column, Connection, Row

from service.adapters.storage.books import Books
from service.adapters.storage.claims import settle_claims
from service.adapters.storage.orders import material_of
from service.adapters.storage.tables import offcuts, quote_lives, quote_remnants
from service.domain.errors import QuoteNotFound
from service.domain.pricing.life import QuoteLife, State, overtaken


class SqlQuoteLives:
    """Takes each step in one transaction that has locked the quote's row.

    That two quotes never claim one offcut is kept by the primary key of the claims: of two that
    insert at once the database makes one wait, and then refuses it.
    """

    def __init__(self, books: Books) -> None:
        self._books = books

    def life(self, quote_id: str) -> QuoteLife:
        """Give what is decided so far."""
        with self._books.reading() as connection:
            return self._read(connection, quote_id, lock=False)

    def change(
        self, quote_id: str, step: Callable[[QuoteLife], QuoteLife], at: datetime
    ) -> QuoteLife:
        """Take one step in the life of a quote, with the claims that follow from it."""
        with self._books.writing() as connection:
            before = self._read(connection, quote_id, lock=True)
            after = step(before)
            if after == before:
                return after
            overtake(self._books, connection, after, at)
            settle_claims(self._books, connection, after, at.date())
            if after.remnants_kept and not before.remnants_kept:
                self._keep_remnants(connection, quote_id, at)
            write_life(self._books, connection, after, at)
        return after

    def _read(self, connection: Connection, quote_id: str, *, lock: bool) -> QuoteLife:
        """Read a life; to lock it, with all of its series, by number so that none deadlock."""
        query = self._books.select(*life_columns()).where(quote_lives.c.quote_id == quote_id)
        row = connection.execute(query).one_or_none()
        if row is None:
            raise QuoteNotFound(f"No quote has the id {quote_id}.")
        if not lock:
            return life_of(row)
        series = quote_lives.c.series == row.series
        every = self._books.select(*life_columns()).where(series).order_by(quote_lives.c.revision)
        locked = [life_of(one) for one in connection.execute(every.with_for_update())]
        return next(life for life in locked if life.quote_id == quote_id)

    def _keep_remnants(self, connection: Connection, quote_id: str, at: datetime) -> None:
        mine = quote_remnants.c.quote_id == material_of(self._books, connection, quote_id)
        query = self._books.select(quote_remnants).where(mine)
        rows = [
            {
                "id": str(uuid5(NAMESPACE_URL, f"{quote_id}/remnants/{row.number}")),
                "created_at": at,
                "sku": row.sku,
                "length_nm": row.length_nm,
                "first_picket_nm": row.first_picket_nm,
                "value": "0",
                "note": row.note,
                "from_quote": quote_id,
            }
            for row in connection.execute(query)
        ]
        self._books.insert(connection, offcuts, rows)


def overtake(books: Books, connection: Connection, later: QuoteLife, at: datetime) -> None:
    """Give the earlier quotes of a series what follows for them from a later one's step."""
    if later.revision == 1:
        return
    query = (
        books.select(*life_columns())
        .where(quote_lives.c.series == later.series, quote_lives.c.revision < later.revision)
        .order_by(quote_lives.c.revision)
        .with_for_update()
    )
    for earlier in [life_of(row) for row in connection.execute(query)]:
        after = overtaken(earlier, later)
        if after != earlier:
            settle_claims(books, connection, after, at.date())
            write_life(books, connection, after, at)


def write_life(books: Books, connection: Connection, life: QuoteLife, at: datetime) -> None:
    """Keep a step, and note it in the audit trail."""
    changed = books.update(quote_lives).where(quote_lives.c.quote_id == life.quote_id)
    connection.execute(changed.values(**row_of(life), changed_at=at))
    books.note(connection, at, f"quote.{_named(life)}", life.quote_id, **told_of(life))


def life_columns() -> list[Column[Any]]:
    """Give the columns that ``life_of`` reads."""
    return [quote_lives.c[name] for name in _MEMBERS]


def life_of(row: Row[Any]) -> QuoteLife:
    """Read a life from its columns."""
    columns = {name: getattr(row, name) for name in _MEMBERS}
    return QuoteLife(**{**columns, "decided": State(columns["decided"])})


def row_of(life: QuoteLife) -> dict[str, Any]:
    """Give the columns of a life."""
    columns = {name: getattr(life, name) for name in _MEMBERS}
    return {**columns, "decided": life.decided.value, "series": life.series or life.quote_id}


def told_of(life: QuoteLife) -> dict[str, Any]:
    """Give what the audit trail and events tell of a quote besides its state."""
    told: dict[str, Any] = {"version": life.version, "revision": life.revision}
    told["series"] = life.series or life.quote_id
    return {**told, "replaced_by": life.replaced_by} if life.replaced_by else told


def _named(life: QuoteLife) -> str:
    return "cut" if life.sawn else life.decided.value


_MEMBERS = tuple(field.name for field in fields(QuoteLife))
