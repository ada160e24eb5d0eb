"""What is decided about quotes, and the offcuts they claim by it."""

from collections.abc import Callable, Sequence
from datetime import date, datetime
from uuid import NAMESPACE_URL, uuid5

from sqlalchemy import Connection, Engine, delete, insert, select, update
from sqlalchemy.exc import IntegrityError

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

_COLUMNS = [column for column in quote_lives.c if column.name != "changed_at"]


class SqlQuoteLives:
    """Takes each step in one transaction that has locked the quote's row.

    That two quotes never claim one offcut is kept by the primary key of the claims: of two that
    insert at once the database makes one wait, and then refuses it.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._reading = engine.execution_options(reading=True)

    def life(self, quote_id: str) -> QuoteLife:
        """Give what is decided so far."""
        with self._reading.connect() as connection:
            return _read(connection, quote_id, lock=False)

    def change(
        self, quote_id: str, step: Callable[[QuoteLife], QuoteLife], at: datetime
    ) -> QuoteLife:
        """Take one step in the life of a quote, with the claims that follow from it."""
        with self._engine.begin() as connection:
            before = _read(connection, quote_id, lock=True)
            after = step(before)
            if after == before:
                return after
            _settle_claims(connection, after, at.date())
            if after.remnants_kept and not before.remnants_kept:
                _keep_remnants(connection, quote_id, at)
            mine = quote_lives.c.quote_id == quote_id
            connection.execute(
                update(quote_lives).where(mine).values(**row_of(after), changed_at=at)
            )
        return after


def _read(connection: Connection, quote_id: str, *, lock: bool) -> QuoteLife:
    query = select(*_COLUMNS).where(quote_lives.c.quote_id == quote_id)
    row = connection.execute(query.with_for_update() if lock else query).one_or_none()
    if row is None:
        raise QuoteNotFound(f"No quote has the id {quote_id}.")
    columns = row._asdict()
    return QuoteLife(**{**columns, "decided": State(columns["decided"])})


def _settle_claims(connection: Connection, life: QuoteLife, day: date) -> None:
    """Make the claims of a quote those that its life gives it."""
    mine = offcut_claims.c.quote_id == life.quote_id
    hold = life.hold
    if hold is None:
        connection.execute(delete(offcut_claims).where(mine))
        return
    wanted = select(quote_offcuts.c.offcut_id).where(quote_offcuts.c.quote_id == life.quote_id)
    ids = sorted(connection.execute(wanted).scalars())
    held = set(connection.execute(select(offcut_claims.c.offcut_id).where(mine)).scalars())
    _claim(connection, life.quote_id, [one for one in ids if one not in held], day)
    connection.execute(update(offcut_claims).where(mine).values(until=hold.until, used=hold.used))


def _claim(connection: Connection, quote_id: str, ids: Sequence[str], day: date) -> None:
    """Claim offcuts in the order of their ids, so that two that claim the same never deadlock."""
    for offcut_id in ids:
        over = (offcut_claims.c.offcut_id == offcut_id) & (offcut_claims.c.until < day)
        connection.execute(delete(offcut_claims).where(over))
        row = {"offcut_id": offcut_id, "quote_id": quote_id, "until": None, "used": False}
        try:
            connection.execute(insert(offcut_claims), row)
        except IntegrityError:
            raise OffcutTaken(
                f"The offcut {offcut_id} of this quote is claimed by another quote, or gone.",
                advice="Make the quote again; it is then cut from what is left.",
            ) from None


def _keep_remnants(connection: Connection, quote_id: str, at: datetime) -> None:
    query = select(quote_remnants).where(quote_remnants.c.quote_id == quote_id)
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
    if rows:
        connection.execute(insert(offcuts), rows)
