"""The outbox of one dealer: events get their place, and each endpoint that listens its delivery."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, func

from service.adapters.storage.books import Books
from service.adapters.storage.old_events import gone_to
from service.adapters.storage.tables import deliveries, events, webhooks
from service.domain.errors import EventNotFound, EventsGone
from service.usecases.events import DeliveryState, EventType

_AT_ONCE = 10_000


class SqlEvents:
    """What happened to what one dealer keeps."""

    def __init__(self, books: Books) -> None:
        self._books = books

    def page(self, after: int | None, most: int) -> list[tuple[int, bytes]]:
        """Give events behind a position, each with its own, oldest first; None for all kept.

        Of very many events that nobody has asked for yet, only some get their place at once; who
        goes on asking gets the others.
        """
        self.place()
        with self._books.reading() as connection:
            begin = gone_to(self._books, connection) if after is None else after
            query = (
                self._books.select(events.c.position, events.c.body)
                .where(events.c.position > begin)
                .order_by(events.c.position)
                .limit(most)
            )
            found = [(row.position, bytes(row.body)) for row in connection.execute(query)]
            # Looked at last, because events go while others read.
            if after is not None and after < gone_to(self._books, connection):
                raise EventsGone(
                    "Some of what happened after this cursor is no longer kept.",
                    advice="Leave the cursor out to go on from the oldest event that is, and read "
                    "anew what you follow: what happened in between is not told again.",
                )
        return found

    def place(self) -> bool:
        """Give kept events their place, and each endpoint that listens to them a delivery.

        Returns:
            Whether there may be more: of very many, only some are placed at once, so that what
            else is due is not kept waiting.
        """
        unplaced = self._books.select(events.c.id).where(events.c.position.is_(None)).limit(1)
        with self._books.reading() as connection:
            if connection.execute(unplaced).one_or_none() is None:
                return False
        with self._books.writing() as connection:
            connection.execute(self._books.lock_dealer())
            more = _place_some(self._books, connection) == _AT_ONCE
            if more:
                self._books.look_over(connection, deliveries)
        return more

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
    while _place_some(books, connection):
        pass


def _place_some(books: Books, connection: Connection) -> int:
    """Give the first events that have none a place, and say how many those are."""
    some = (
        books.select(events.c.dealer, events.c.entered, events.c.id)
        .where(events.c.position.is_(None))
        .order_by(events.c.entered, events.c.id)
        .limit(_AT_ONCE)
        .subquery()
    )
    place = func.row_number().over(order_by=(some.c.entered, some.c.id)).label("place")
    first = books.select(some.c.dealer, some.c.id, place, of=[some]).subquery()
    placed_before = events.c.position.is_not(None)
    highest = books.select(func.max(events.c.position), of=[events]).where(placed_before)
    before = connection.execute(highest).scalar() or 0
    same = (events.c.dealer == first.c.dealer) & (events.c.id == first.c.id)
    placed = books.update(events).where(same).values(position=before + first.c.place)
    count = connection.execute(placed).rowcount
    for one in _open(books, connection) if count else ():
        _deliver(books, connection, one, before)
    return count


def _deliver(books: Books, connection: Connection, webhook: Row[Any], before: int) -> None:
    """Make a delivery of each event behind a place that an endpoint listens to."""
    pinged = (events.c.type == EventType.PING.value) & (events.c.subject == webhook.id)
    heard = pinged | events.c.type.in_(set(webhook.types.split()) - {EventType.PING.value})
    values = {
        "webhook_id": webhook.id,
        "event_id": events.c.id,
        "subject": events.c.subject,
        "position": events.c.position,
        "state": DeliveryState.WAITING.value,
        "attempts": 0,
        "next_at": events.c.at,
        "last_error": "",
    }
    rows = books.select(events.c.id).where(events.c.position > before, heard)
    books.insert_from(connection, deliveries, values, rows)


def hears(webhook: Row[Any], event: Row[Any]) -> bool:
    """Tell whether an endpoint is sent an event."""
    if event.type == EventType.PING:
        return bool(event.subject == webhook.id)
    return event.type in webhook.types.split()


def delivery_row(webhook_id: str, event: Row[Any], at: datetime) -> dict[str, Any]:
    """Give a delivery that has not been tried."""
    return {
        "webhook_id": webhook_id,
        "event_id": event.id,
        "subject": event.subject,
        "position": event.position,
        "state": DeliveryState.WAITING.value,
        "attempts": 0,
        "next_at": at,
        "last_error": "",
    }


def _open(books: Books, connection: Connection) -> Sequence[Row[Any]]:
    query = books.select(webhooks.c.id, webhooks.c.types)
    return connection.execute(query.where(webhooks.c.disabled_at.is_(None))).all()
