"""The endpoints of one dealer, their secrets, and what was or is to be sent to them."""

import base64
import secrets
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, literal_column

from service.adapters.storage.books import Books
from service.adapters.storage.events import place_events
from service.adapters.storage.moments import utc
from service.adapters.storage.resent import Resending
from service.adapters.storage.tables import deliveries, events, webhooks
from service.domain.errors import TooLarge, WebhookNotFound
from service.usecases.conditions import Matches, demand_seen
from service.usecases.events import (
    Delivery,
    DeliveryState,
    EventType,
    Range,
    Resent,
    Webhook,
    WebhookWish,
)

MOST_WEBHOOKS = 20
SECRET_PREFIX = "whsec_"  # noqa: S105 (it leads secrets, and is none)
_SECRET_BYTES = 32  # Standard Webhooks: 24 to 64
_SHOWN = [column for column in webhooks.c if column.name not in ("dealer", "secret", "old_secret")]


class SqlWebhooks:
    """Endpoints that one dealer's events are sent to."""

    def __init__(self, books: Books) -> None:
        self._books = books

    def add(self, webhook_id: str, wish: WebhookWish, at: datetime) -> tuple[Webhook, str]:
        """Keep an endpoint, which is sent what happens from now on."""
        secret = new_secret()
        row = {
            "id": webhook_id,
            "url": wish.url,
            "types": "\n".join(wish.types),
            "note": wish.note,
            "created_at": at,
            "secret": secret,
        }
        with self._books.writing() as connection:
            connection.execute(self._books.lock_dealer())
            held = connection.execute(self._books.select(webhooks.c.id)).all()
            if len(held) >= MOST_WEBHOOKS:
                raise TooLarge(f"There are {MOST_WEBHOOKS} endpoints already; remove one.")
            place_events(self._books, connection)  # what has happened is not told to it
            self._books.insert(connection, webhooks, [row])
            self._books.note(connection, at, "webhook.added", webhook_id)
        return Webhook(webhook_id, wish, at), secret

    def webhook(self, webhook_id: str) -> Webhook:
        """Give one endpoint."""
        with self._books.reading() as connection:
            return self._one(connection, webhook_id)

    def all(self) -> list[Webhook]:
        """Give all endpoints, oldest first."""
        query = self._books.select(*_SHOWN).order_by(webhooks.c.created_at, webhooks.c.id)
        with self._books.reading() as connection:
            return [_webhook(row) for row in connection.execute(query)]

    def remove(self, webhook_id: str, at: datetime, matches: Matches | None = None) -> None:
        """Forget an endpoint, and what was to be sent to it."""
        with self._books.writing() as connection:
            connection.execute(self._books.lock_dealer())
            mine = self._books.select(webhooks.c.id).where(webhooks.c.id == webhook_id)
            connection.execute(mine.with_for_update())
            demand_seen(matches, self._one(connection, webhook_id).tag, "This endpoint")
            sent = self._books.delete(deliveries).where(deliveries.c.webhook_id == webhook_id)
            connection.execute(sent)
            connection.execute(self._books.delete(webhooks).where(webhooks.c.id == webhook_id))
            self._books.note(connection, at, "webhook.removed", webhook_id)

    def rotate(self, webhook_id: str, at: datetime, until: datetime) -> tuple[Webhook, str]:
        """Give a new secret; the old one signs too until a time."""
        secret = new_secret()
        change = {"old_secret": webhooks.c.secret, "secret": secret, "old_until": until}
        return self._change(webhook_id, at, "webhook.rotated", change), secret

    def enable(self, webhook_id: str, at: datetime) -> Webhook:
        """Send to an endpoint again that had said it was gone."""
        awake = {"disabled_at": None, "failures": 0, "paused_until": None}
        return self._change(webhook_id, at, "webhook.enabled", awake)

    def ping(self, webhook_id: str, at: datetime) -> str:
        """Send a ping to an endpoint; its id is given."""
        with self._books.writing() as connection:
            self._one(connection, webhook_id)
            mine = self._books.update(webhooks).where(webhooks.c.id == webhook_id)
            connection.execute(mine.values(paused_until=None))  # who asks wants to know now
            return self._books.tell(connection, at, EventType.PING, webhook_id, {})

    def resend(self, webhook_id: str, wanted: Range, at: datetime) -> Resent:
        """Send an endpoint again what it listens to, oldest first, so many at once."""
        with self._books.writing() as connection:
            connection.execute(self._books.lock_dealer())
            self._one(connection, webhook_id)
            mine = self._books.select(webhooks.c.id, webhooks.c.types)
            row = connection.execute(mine.where(webhooks.c.id == webhook_id)).one()
            resent = Resending(self._books, connection, row).send(wanted, at)
            self._books.note(connection, at, "webhook.resent", webhook_id, events=resent.count)
        return resent

    def deliveries(
        self, webhook_id: str, state: DeliveryState | None, before: int | None, most: int
    ) -> list[Delivery]:
        """Give what was or is to be sent to an endpoint, newest first."""
        query = (
            self._books.select(deliveries, events.c.type)
            .where(deliveries.c.event_id == events.c.id, deliveries.c.webhook_id == webhook_id)
            .order_by(deliveries.c.position.desc())
            .limit(most)
        )
        if state is not None:
            query = query.where(deliveries.c.state == state.value)
        if state not in (None, DeliveryState.DELIVERED):
            # Said as the partial index says it, for SQLite.
            query = query.where(deliveries.c.state != literal_column("'delivered'"))
        if before is not None:
            query = query.where(deliveries.c.position < before)
        with self._books.reading() as connection:
            self._one(connection, webhook_id)
            return [_delivery(row) for row in connection.execute(query)]

    def _change(
        self, webhook_id: str, at: datetime, action: str, change: dict[str, Any]
    ) -> Webhook:
        with self._books.writing() as connection:
            self._one(connection, webhook_id)
            mine = self._books.update(webhooks).where(webhooks.c.id == webhook_id)
            connection.execute(mine.values(change))
            self._books.note(connection, at, action, webhook_id)
            return self._one(connection, webhook_id)

    def _one(self, connection: Connection, webhook_id: str) -> Webhook:
        query = self._books.select(*_SHOWN).where(webhooks.c.id == webhook_id)
        row = connection.execute(query).one_or_none()
        if row is None:
            raise WebhookNotFound(f"No endpoint has the id {webhook_id}.")
        return _webhook(row)


def new_secret() -> str:
    """Make a secret as the Standard Webhooks scheme writes it."""
    return SECRET_PREFIX + base64.b64encode(secrets.token_bytes(_SECRET_BYTES)).decode()


def _webhook(row: Row[Any]) -> Webhook:
    types = tuple(EventType(one) for one in row.types.split())
    wish = WebhookWish(row.url, types, row.note)
    return Webhook(
        id=row.id,
        wish=wish,
        created_at=utc(row.created_at),
        disabled_at=row.disabled_at and utc(row.disabled_at),
        old_until=row.old_until and utc(row.old_until),
        paused_until=row.paused_until and utc(row.paused_until),
    )


def _delivery(row: Row[Any]) -> Delivery:
    return Delivery(
        event_id=row.event_id,
        type=row.type,
        subject=row.subject,
        position=row.position,
        state=DeliveryState(row.state),
        attempts=row.attempts,
        next_at=utc(row.next_at),
        last_at=row.last_at and utc(row.last_at),
        last_status=row.last_status,
        last_error=row.last_error,
    )
