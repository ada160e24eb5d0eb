"""Events sent to an endpoint again, many at once, as after an outage of the receiver."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, literal_column

from service.adapters.storage.books import Books
from service.adapters.storage.events import place_events
from service.adapters.storage.old_events import gone_to
from service.adapters.storage.tables import deliveries, events
from service.domain.errors import EventsGone
from service.usecases.events import DeliveryState, EventType, Range, Resent

AT_ONCE = 10_000


class Resending:
    """Sends again what an endpoint listens to, oldest first, in the books of one dealer."""

    def __init__(self, books: Books, connection: Connection, webhook: Row[Any]) -> None:
        self._books, self._connection, self._webhook = books, connection, webhook

    def send(self, wanted: Range, at: datetime) -> Resent:
        """Send some events again.

        Raises:
            EventsGone: Some of what is wanted is no longer kept.
        """
        place_events(self._books, self._connection)
        query = self._dead(wanted) if wanted.dead_only else self._kept(wanted)
        found = self._connection.execute(query.limit(AT_ONCE + 1)).all()
        chosen = [row.id for row in found[:AT_ONCE]]
        self._again(chosen, at)
        more = len(found) > AT_ONCE
        return Resent(len(chosen), found[AT_ONCE - 1].position if more else None)

    def _kept(self, wanted: Range) -> Select[Any]:
        """Give what is fed and not on its way already."""
        gone = gone_to(self._books, self._connection)
        if wanted.after is not None and wanted.after < gone:
            raise EventsGone("Some of what happened after this cursor is no longer kept.")
        waiting = self._books.select(deliveries.c.event_id).where(
            deliveries.c.webhook_id == self._webhook.id,
            deliveries.c.state == literal_column(f"'{DeliveryState.WAITING.value}'"),
        )
        heard = set(self._webhook.types.split()) - {EventType.PING.value}
        query = self._books.select(events.c.id, events.c.position).where(
            events.c.position > max(gone, wanted.after or 0),
            events.c.type.in_(heard),
            events.c.id.not_in(waiting),
        )
        if wanted.since is not None:
            query = query.where(events.c.at >= wanted.since)
        return query.order_by(events.c.position)

    def _dead(self, wanted: Range) -> Select[Any]:
        """Give what was never taken."""
        query = self._books.select(events.c.id, events.c.position, of=[events, deliveries]).where(
            deliveries.c.event_id == events.c.id,
            deliveries.c.webhook_id == self._webhook.id,
            deliveries.c.state == literal_column(f"'{DeliveryState.DEAD.value}'"),
            # Said as the partial index says it, for SQLite.
            deliveries.c.state != literal_column(f"'{DeliveryState.DELIVERED.value}'"),
            deliveries.c.position > (wanted.after or 0),
        )
        if wanted.since is not None:
            query = query.where(events.c.at >= wanted.since)
        return query.order_by(deliveries.c.position)

    def _again(self, ids: Sequence[str], at: datetime) -> None:
        """Make a delivery anew of each of some events."""
        for begin in range(0, len(ids), 500):  # fewer than any database takes parameters
            part = ids[begin : begin + 500]
            before = self._books.delete(deliveries).where(
                deliveries.c.webhook_id == self._webhook.id, deliveries.c.event_id.in_(part)
            )
            self._connection.execute(before)
            values = {
                "webhook_id": self._webhook.id,
                "event_id": events.c.id,
                "subject": events.c.subject,
                "position": events.c.position,
                "state": DeliveryState.WAITING.value,
                "attempts": 0,
                "next_at": at,
                "last_error": "",
            }
            rows = self._books.select(events.c.id).where(events.c.id.in_(part))
            self._books.insert_from(self._connection, deliveries, values, rows)
