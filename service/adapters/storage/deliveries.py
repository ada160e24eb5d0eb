"""The round of a deliverer through one dealer's books: what is due is claimed, sent, noted.

A claim is a lease: a deliverer that dies leaves its parcels behind, and after the lease another
one sends them again with the same id. Several deliverers share the work: with PostgreSQL each
skips the rows that another one has locked; SQLite lets one write at a time.
"""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, func, literal_column

from service.adapters.storage.books import Books
from service.adapters.storage.moments import utc
from service.adapters.storage.quote_lives import life_columns, life_of, told_of
from service.adapters.storage.tables import deliveries, events, quote_lives, webhooks
from service.domain.pricing.life import State, state_on
from service.usecases.events import DeliveryState, Parcel, Receipt
from service.usecases.patience import rest_after

_AT_ONCE = 200
# Written out, because SQLite uses a partial index for no parameter.
_WAITING = deliveries.c.state == literal_column(f"'{DeliveryState.WAITING.value}'")


_CLAIMED = (
    deliveries.c.event_id,
    deliveries.c.subject,
    deliveries.c.position,
    deliveries.c.attempts,
)


class SqlRound:
    """What a deliverer does for one dealer."""

    def __init__(self, books: Books) -> None:
        self._books = books

    def claim(self, webhook_id: str, at: datetime, lease: timedelta, most: int) -> list[Parcel]:
        """Take what is due for an endpoint; of each subject only what comes first."""
        query = (
            self._books.select(*_CLAIMED)
            .where(deliveries.c.webhook_id == webhook_id, _WAITING, deliveries.c.next_at <= at)
            .where(deliveries.c.position == self._first())
            .order_by(deliveries.c.next_at, deliveries.c.position)
            .limit(most)
            .with_for_update(skip_locked=True)
        )
        with self._books.writing() as connection:
            due = connection.execute(query).all()
            for row in due:
                mine = self._books.update(deliveries).where(
                    deliveries.c.webhook_id == webhook_id, deliveries.c.event_id == row.event_id
                )
                connection.execute(mine.values(attempts=row.attempts + 1, next_at=at + lease))
            return self._parcels(connection, webhook_id, due, at) if due else []

    def note(self, parcel: Parcel, receipt: Receipt, at: datetime, wait: timedelta | None) -> None:
        """Note what became of a parcel, unless its claim has run out.

        Args:
            parcel: As it was claimed.
            receipt: What the endpoint made of it.
            at: When.
            wait: Until the next attempt; None to give up.
        """
        state, due = DeliveryState.DELIVERED, at
        if receipt.error:
            state = DeliveryState.WAITING if wait else DeliveryState.DEAD
            due = at + (wait or timedelta())
        mine = self._books.update(deliveries).where(
            deliveries.c.webhook_id == parcel.webhook_id,
            deliveries.c.event_id == parcel.event_id,
            deliveries.c.attempts == parcel.attempts,
            _WAITING,
        )
        with self._books.writing() as connection:
            noted = connection.execute(
                mine.values(
                    state=state.value,
                    next_at=due,
                    last_at=at,
                    last_status=receipt.status,
                    last_error=receipt.error,
                )
            )
            if noted.rowcount:
                self._put_off(connection, parcel, due)
                self._rest(connection, parcel.webhook_id, receipt, at)
            if receipt.gone:
                self._disable(connection, parcel.webhook_id, at)

    def lapse(self, day: date, at: datetime) -> int:
        """Tell, once, of each quote that was issued that its last day has passed.

        Args:
            day: The day, UTC.
            at: When this is.

        Returns:
            How many quotes were looked at; none is looked at again.
        """
        query = (
            self._books.select(*life_columns())
            .where(quote_lives.c.lapsed_at.is_(None), quote_lives.c.valid_until < day)
            .order_by(quote_lives.c.valid_until, quote_lives.c.quote_id)
            .limit(_AT_ONCE)
            .with_for_update(skip_locked=True)
        )
        with self._books.writing() as connection:
            over = [life_of(row) for row in connection.execute(query)]
            for life in over:
                mine = self._books.update(quote_lives)
                mine = mine.where(quote_lives.c.quote_id == life.quote_id)
                connection.execute(mine.values(lapsed_at=at))
                if state_on(life, day) is State.EXPIRED and life.decided is not State.DRAFT:
                    told = told_of(life)
                    self._books.note(connection, at, "quote.expired", life.quote_id, **told)
        return len(over)

    def _put_off(self, connection: Connection, parcel: Parcel, due: datetime) -> None:
        """Let what waits behind a parcel be due with it, so that nobody looks at it before."""
        behind = self._books.update(deliveries).where(
            deliveries.c.webhook_id == parcel.webhook_id,
            deliveries.c.subject == parcel.subject,
            deliveries.c.position > parcel.position,
            deliveries.c.attempts == 0,
            _WAITING,
        )
        connection.execute(behind.values(next_at=due))

    def _rest(
        self, connection: Connection, webhook_id: str, receipt: Receipt, at: datetime
    ) -> None:
        """Leave an endpoint alone that fails again and again, or asks for it."""
        mine = self._books.update(webhooks).where(webhooks.c.id == webhook_id)
        if not receipt.error:
            change = {"failures": 0, "paused_until": None}
            connection.execute(mine.where(webhooks.c.failures > 0).values(change))
            return
        counted = mine.values(failures=webhooks.c.failures + 1).returning(webhooks.c.failures)
        failures = connection.execute(counted).scalar()
        rest = rest_after(failures, receipt) if failures else None
        if rest:
            connection.execute(mine.values(paused_until=at + rest))

    def _first(self) -> Any:
        """Give the place of what waits first of the same subject."""
        ahead = deliveries.alias()
        first = self._books.select(func.min(ahead.c.position), of=[ahead]).where(
            ahead.c.webhook_id == deliveries.c.webhook_id,
            ahead.c.subject == deliveries.c.subject,
            ahead.c.state == literal_column(f"'{DeliveryState.WAITING.value}'"),
        )
        return first.correlate(deliveries).scalar_subquery()

    def _parcels(
        self, connection: Connection, webhook_id: str, due: Sequence[Row[Any]], at: datetime
    ) -> list[Parcel]:
        mine = self._books.select(webhooks).where(webhooks.c.id == webhook_id)
        endpoint = connection.execute(mine).one()
        old = endpoint.old_secret if endpoint.old_until and utc(endpoint.old_until) > at else None
        wanted = events.c.id.in_([row.event_id for row in due])
        query = self._books.select(events.c.id, events.c.body).where(wanted)
        bodies = {row.id: bytes(row.body) for row in connection.execute(query)}
        return [
            Parcel(
                dealer=self._books.dealer,
                webhook_id=webhook_id,
                event_id=row.event_id,
                subject=row.subject,
                position=row.position,
                url=endpoint.url,
                secrets=[secret for secret in (endpoint.secret, old) if secret],
                body=bodies[row.event_id],
                attempts=row.attempts + 1,
            )
            for row in due
        ]

    def _disable(self, connection: Connection, webhook_id: str, at: datetime) -> None:
        """Send nothing more to an endpoint; what waits for it is given up."""
        open_still = self._books.update(webhooks).where(
            webhooks.c.id == webhook_id, webhooks.c.disabled_at.is_(None)
        )
        if connection.execute(open_still.values(disabled_at=at)).rowcount:
            self._books.note(connection, at, "webhook.disabled", webhook_id, status=410)
        waiting = self._books.update(deliveries).where(
            deliveries.c.webhook_id == webhook_id, _WAITING
        )
        gone = {"state": DeliveryState.DEAD.value, "last_error": "The endpoint is gone (410)."}
        connection.execute(waiting.values(gone))
