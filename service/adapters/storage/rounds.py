"""Whose turn it is: the ids of dealers, endpoints and runs that there is work for.

It reads across dealers, ids and nothing else; the work is done in each dealer's own books. What
comes first is asked for, by its index, where whether there is any would have all of it read.
"""

from datetime import date, datetime
from typing import NamedTuple

from sqlalchemy import ColumnElement, Engine, ScalarSelect, func, literal_column, select

from service.adapters.storage.schedules import KEY as SCHEDULE
from service.adapters.storage.tables import (
    dealers,
    deliveries,
    events,
    quote_lives,
    repricing_runs,
    webhooks,
)
from service.usecases.events import DeliveryState
from service.usecases.repricing.records import Mode, RunState


def dealers_with_news(engine: Engine) -> list[str]:
    """Give the dealers with events that no endpoint was looked up for yet."""
    first = select(func.min(events.c.entered)).where(
        events.c.dealer == webhooks.c.dealer, events.c.position.is_(None)
    )
    news = first.scalar_subquery().is_not(None)
    query = select(webhooks.c.dealer).where(webhooks.c.disabled_at.is_(None), news).distinct()
    with engine.execution_options(reading=True).connect() as connection:
        return list(connection.execute(query).scalars())


def dealers_with_lapsed(engine: Engine, day: date) -> list[str]:
    """Give the dealers with quotes whose last day has passed unseen."""
    unseen = quote_lives.c.lapsed_at.is_(None)
    query = select(quote_lives.c.dealer).where(unseen, quote_lives.c.valid_until < day)
    with engine.execution_options(reading=True).connect() as connection:
        return list(connection.execute(query.distinct()).scalars())


def dealers_with_old(engine: Engine, before: datetime, dead_before: datetime) -> list[str]:
    """Give the dealers with events that are to go."""

    def first(*which: ColumnElement[bool]) -> ScalarSelect[datetime]:
        of_dealer = select(events.c.at).where(events.c.dealer == dealers.c.id, *which)
        return of_dealer.order_by(events.c.position).limit(1).scalar_subquery()

    gone, place = dealers.c.events_gone, events.c.position
    old = (first(place > gone) < before) | (first(place > 0, place <= gone) < dead_before)
    with engine.execution_options(reading=True).connect() as connection:
        return list(connection.execute(select(dealers.c.id).where(old)).scalars())


def webhooks_due(engine: Engine, at: datetime) -> list[tuple[str, str]]:
    """Give dealer and id of each endpoint that something is due for."""
    first = select(func.min(deliveries.c.next_at)).where(
        deliveries.c.dealer == webhooks.c.dealer,
        deliveries.c.webhook_id == webhooks.c.id,
        deliveries.c.state == literal_column(f"'{DeliveryState.WAITING.value}'"),
    )
    awake = webhooks.c.paused_until.is_(None) | (webhooks.c.paused_until <= at)
    query = select(webhooks.c.dealer, webhooks.c.id).where(
        webhooks.c.disabled_at.is_(None), awake, first.scalar_subquery() <= at
    )
    with engine.execution_options(reading=True).connect() as connection:
        return [(row.dealer, row.id) for row in connection.execute(query)]


class RunAtWork(NamedTuple):
    """A run that has work to do."""

    dealer: str
    id: str
    state: RunState
    mode: Mode


def runs_at_work(engine: Engine) -> list[RunAtWork]:
    """Give each run that has work to do, oldest first."""
    held = repricing_runs.c
    going = (RunState.PLANNED.value, RunState.RUNNING.value, RunState.CANCELLED.value)
    query = (
        select(held.dealer, held.id, held.state, held.mode)
        .where(held.finished_at.is_(None), held.state.in_(going))
        .order_by(held.created_at, held.id)
    )
    with engine.execution_options(reading=True).connect() as connection:
        rows = connection.execute(query).all()
    return [RunAtWork(row.dealer, row.id, RunState(row.state), Mode(row.mode)) for row in rows]


def dealers_with_schedule(engine: Engine) -> list[str]:
    """Give the dealers that have, or had, a nightly run."""
    kept = dealers.c.settings.contains(f'"{SCHEDULE}"', autoescape=True)
    with engine.execution_options(reading=True).connect() as connection:
        return list(connection.execute(select(dealers.c.id).where(kept)).scalars())
