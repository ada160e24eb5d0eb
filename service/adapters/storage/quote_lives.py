"""What is decided about quotes, and the offcuts they claim by it."""

from collections.abc import Callable, Sequence
from datetime import date, datetime
from uuid import NAMESPACE_URL, uuid5

from sqlalchemy import Connection
from sqlalchemy.exc import IntegrityError

from service.adapters.storage.books import Books
from service.adapters.storage.repositories import row_of
from service.adapters.storage.tables import (
    offcut_claims,
    offcuts,
    quote_lives,
    quote_offcuts,
    quote_remnants,
)
from service.domain.errors import OffcutTaken, QuoteNotFound
from service.domain.pricing.life import QuoteLife, State

_COLUMNS = [column for column in quote_lives.c if column.name not in ("dealer", "changed_at")]


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
            self._settle_claims(connection, after, at.date())
            if after.remnants_kept and not before.remnants_kept:
                self._keep_remnants(connection, quote_id, at)
            changed = self._books.update(quote_lives).where(quote_lives.c.quote_id == quote_id)
            connection.execute(changed.values(**row_of(after), changed_at=at))
            self._books.note(connection, at, f"quote.{_named(after)}", quote_id)
        return after

    def _read(self, connection: Connection, quote_id: str, *, lock: bool) -> QuoteLife:
        query = self._books.select(*_COLUMNS).where(quote_lives.c.quote_id == quote_id)
        row = connection.execute(query.with_for_update() if lock else query).one_or_none()
        if row is None:
            raise QuoteNotFound(f"No quote has the id {quote_id}.")
        columns = row._asdict()
        return QuoteLife(**{**columns, "decided": State(columns["decided"])})

    def _settle_claims(self, connection: Connection, life: QuoteLife, day: date) -> None:
        """Make the claims of a quote those that its life gives it."""
        mine = offcut_claims.c.quote_id == life.quote_id
        hold = life.hold
        if hold is None:
            connection.execute(self._books.delete(offcut_claims).where(mine))
            return
        wanted = self._books.select(quote_offcuts.c.offcut_id).where(
            quote_offcuts.c.quote_id == life.quote_id
        )
        have = self._books.select(offcut_claims.c.offcut_id).where(mine)
        ids = sorted(connection.execute(wanted).scalars())
        held = set(connection.execute(have).scalars())
        self._claim(connection, life.quote_id, [one for one in ids if one not in held], day)
        kept = self._books.update(offcut_claims).where(mine)
        connection.execute(kept.values(until=hold.until, used=hold.used))

    def _claim(self, connection: Connection, quote_id: str, ids: Sequence[str], day: date) -> None:
        """Claim offcuts by their ids' order, so that two that claim the same never deadlock."""
        for offcut_id in ids:
            over = (offcut_claims.c.offcut_id == offcut_id) & (offcut_claims.c.until < day)
            connection.execute(self._books.delete(offcut_claims).where(over))
            row = {"offcut_id": offcut_id, "quote_id": quote_id, "until": None, "used": False}
            try:
                self._books.insert(connection, offcut_claims, [row])
            except IntegrityError:
                raise OffcutTaken(
                    f"The offcut {offcut_id} of this quote is claimed by another quote, or gone.",
                    advice="Make the quote again; it is then cut from what is left.",
                ) from None

    def _keep_remnants(self, connection: Connection, quote_id: str, at: datetime) -> None:
        mine = quote_remnants.c.quote_id == quote_id
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


def _named(life: QuoteLife) -> str:
    return "cut" if life.sawn else life.decided.value
