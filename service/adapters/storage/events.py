"""The outbox of one dealer: events get their place, and each endpoint that listens its delivery."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, func

from service.adapters.storage.books import Books
from service.adapters.storage.tables import deliveries, events, webhooks
from service.domain.errors import EventNotFound
from service.usecases.events import DeliveryState, EventType

_AT_ONCE = 500


class SqlEvents:
    """What happened to what one dealer keeps."""

    def __init__(self, books: Books) -> None:
        self._books = books

    def page(self, after: int, most: int) -> list[tuple[int, bytes]]:
        """Give events behind a position, each with its own, oldest first."""
        self.place()
        query = (
            self._books.select(events.c.position, events.c.body)
            .where(events.c.position > after)
            .order_by(events.c.position)
            .limit(most)
        )
        with self._books.reading() as connection:
            return [(row.position, bytes(row.body)) for row in connection.execute(query)]

    def place(self) -> None:
        """Give every kept event its place, and each endpoint that listens to it a delivery."""
        unplaced = self._books.select(events.c.id).where(events.c.position.is_(None)).limit(1)
        with self._books.reading() as connection:
            if connection.execute(unplaced).one_or_none() is None:
                return
        with self._books.writing() as connection:
            connection.execute(self._books.lock_dealer())
            place_events(self._books, connection)

    def replay(self, event_id: str, at: datetime) -> int:
        """Send an event again to every endpoint that listens to its type."""
        with self._books.writing() as connection:
            connection.execute(self._books.lock_dealer())
            place_events(self._books, connection)
            query = self._books.select(*_PLACED).where(events.c.id == event_id)
            event = connection.execute(query).one_or_none()
            if event is None:
                raise EventNotFound(f"No event has the id {event_id}.")
            hearing = [one for one in _open(self._books, connection) if hears(one, event)]
            before = self._books.delete(deliveries).where(
                deliveries.c.event_id == event_id,
                deliveries.c.webhook_id.in_([one.id for one in hearing]),
            )
            connection.execute(before)
            rows = [delivery_row(one.id, event, at) for one in hearing]
            self._books.insert(connection, deliveries, rows)
            self._books.note(connection, at, "event.replayed", event_id, endpoints=len(rows))
        return len(hearing)


_PLACED = (events.c.id, events.c.at, events.c.type, events.c.subject, events.c.position)


def place_events(books: Books, connection: Connection) -> None:
    """Give every event that is kept a place; the dealer is locked meanwhile.

    An event that is kept later gets a later place, so that whoever has read up to a place misses
    nothing. What one subject went through keeps its order: it was entered in it.
    """
    query = (
        books.select(*_PLACED)
        .where(events.c.position.is_(None))
        .order_by(events.c.entered, events.c.id)
        .limit(_AT_ONCE)
    )
    highest = books.select(func.max(events.c.position), of=[events])
    position = connection.execute(highest).scalar() or 0
    hearing = _open(books, connection)
    while rows := connection.execute(query).all():
        told = []
        for row in rows:
            position += 1
            mine = books.update(events).where(events.c.id == row.id)
            connection.execute(mine.values(position=position))
            told += [
                delivery_row(one.id, row, row.at, position) for one in hearing if hears(one, row)
            ]
        books.insert(connection, deliveries, told)


def hears(webhook: Row[Any], event: Row[Any]) -> bool:
    """Tell whether an endpoint is sent an event."""
    if event.type == EventType.PING:
        return bool(event.subject == webhook.id)
    return event.type in webhook.types.split()


def delivery_row(
    webhook_id: str, event: Row[Any], at: datetime, position: int | None = None
) -> dict[str, Any]:
    """Give a delivery that has not been tried."""
    return {
        "webhook_id": webhook_id,
        "event_id": event.id,
        "subject": event.subject,
        "position": event.position if position is None else position,
        "state": DeliveryState.WAITING.value,
        "attempts": 0,
        "next_at": at,
        "last_error": "",
    }


def _open(books: Books, connection: Connection) -> Sequence[Row[Any]]:
    query = books.select(webhooks.c.id, webhooks.c.types)
    return connection.execute(query.where(webhooks.c.disabled_at.is_(None))).all()
