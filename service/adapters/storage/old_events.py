"""What happened long ago goes: a feed ends somewhere, and so does what became of its deliveries.

Events go in the order of the feed, a batch at a time, so that it always begins at one place,
``dealers.events_gone``, and whoever read no further can be told. What was never taken stays longer,
with its event, to be replayed.
"""

from datetime import datetime

from sqlalchemy import Connection

from service.adapters.storage.books import Books
from service.adapters.storage.moments import utc
from service.adapters.storage.tables import deliveries, events, webhooks
from service.usecases.events import DeliveryState

_AT_ONCE = 1_000
_TOO_OLD = {
    "state": DeliveryState.DEAD.value,
    "last_error": "It was not taken as long as the event was kept.",
}


class SqlOldEvents:
    """The events of one dealer from their end."""

    def __init__(self, books: Books) -> None:
        self._books = books

    def sweep(self, before: datetime, dead_before: datetime) -> bool:
        """Let some go that are old.

        Args:
            before: Events from before are no longer fed.
            dead_before: From before that, not even what was never taken is kept.

        Returns:
            Whether there may be more.
        """
        with self._books.writing() as connection:
            connection.execute(self._books.lock_dealer())
            gone = gone_to(self._books, connection)
            last = self._last(connection, gone, None, before)
            if last:
                self._end(connection, gone, last)
                connection.execute(self._books.update_dealer().values(events_gone=last))
            longest = self._last(connection, 0, gone, dead_before)
            if longest:
                self._forget(connection, longest)
        return bool(last or longest)

    def _last(
        self, connection: Connection, after: int, most: int | None, before: datetime
    ) -> int | None:
        """Give the place of the last of the first events that are old; the newest of all stays.

        Places are counted on from the newest, and given once.
        """
        query = self._books.select(events.c.position, events.c.at).where(events.c.position > after)
        if most is not None:
            query = query.where(events.c.position <= most)
        query = query.order_by(events.c.position).limit(_AT_ONCE + 1)
        last, rows = None, connection.execute(query).all()
        for row in rows[:_AT_ONCE] if most is not None else rows[:-1]:
            if utc(row.at) >= before:
                break
            last = row.position
        return last

    def _end(self, connection: Connection, after: int, last: int) -> None:
        """Let events go but for those that were not taken everywhere, which are given up."""
        state, hooks = deliveries.c.state, self._hooks(connection)
        for hook in hooks:
            mine = (
                deliveries.c.webhook_id == hook,
                deliveries.c.position > after,
                deliveries.c.position <= last,
            )
            taken = state == DeliveryState.DELIVERED.value
            connection.execute(self._books.delete(deliveries).where(*mine, taken))
            waiting = state == DeliveryState.WAITING.value
            late = self._books.update(deliveries).where(*mine, waiting)
            connection.execute(late.values(_TOO_OLD))
        untaken = self._books.select(deliveries.c.event_id).where(
            deliveries.c.webhook_id.in_(hooks),
            deliveries.c.position > after,
            deliveries.c.position <= last,
        )
        old = (events.c.position > after, events.c.position <= last)
        kept = events.c.id.in_(untaken)
        connection.execute(self._books.delete(events).where(*old, ~kept))

    def _forget(self, connection: Connection, last: int) -> None:
        for hook in self._hooks(connection):
            mine = (deliveries.c.webhook_id == hook, deliveries.c.position <= last)
            connection.execute(self._books.delete(deliveries).where(*mine))
        connection.execute(self._books.delete(events).where(events.c.position <= last))

    def _hooks(self, connection: Connection) -> list[str]:
        return list(connection.execute(self._books.select(webhooks.c.id)).scalars())


def gone_to(books: Books, connection: Connection) -> int:
    """Give the place up to which the events of a dealer are no longer fed."""
    row = connection.execute(books.select_dealer()).one()
    gone: int = row.events_gone
    return gone
