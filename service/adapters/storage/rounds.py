"""Whose turn it is: the ids of dealers and endpoints that a deliverer has work for.

It reads across dealers, ids and nothing else; the work is done in each dealer's own books.
"""

from datetime import date, datetime

from sqlalchemy import Engine, exists, literal_column, select

from service.adapters.storage.tables import deliveries, events, quote_lives, webhooks
from service.usecases.events import DeliveryState


def dealers_with_news(engine: Engine) -> list[str]:
    """Give the dealers with events that no endpoint was looked up for yet."""
    listens = exists().where(webhooks.c.dealer == events.c.dealer, webhooks.c.disabled_at.is_(None))
    query = select(events.c.dealer).where(events.c.position.is_(None), listens).distinct()
    with engine.execution_options(reading=True).connect() as connection:
        return list(connection.execute(query).scalars())


def dealers_with_lapsed(engine: Engine, day: date) -> list[str]:
    """Give the dealers with quotes whose last day has passed unseen."""
    unseen = quote_lives.c.lapsed_at.is_(None)
    query = select(quote_lives.c.dealer).where(unseen, quote_lives.c.valid_until < day)
    with engine.execution_options(reading=True).connect() as connection:
        return list(connection.execute(query.distinct()).scalars())


def webhooks_due(engine: Engine, at: datetime) -> list[tuple[str, str]]:
    """Give dealer and id of each endpoint that something is due for."""
    due = exists().where(
        deliveries.c.dealer == webhooks.c.dealer,
        deliveries.c.webhook_id == webhooks.c.id,
        deliveries.c.state == literal_column(f"'{DeliveryState.WAITING.value}'"),
        deliveries.c.next_at <= at,
    )
    query = select(webhooks.c.dealer, webhooks.c.id).where(webhooks.c.disabled_at.is_(None), due)
    with engine.execution_options(reading=True).connect() as connection:
        return [(row.dealer, row.id) for row in connection.execute(query)]
