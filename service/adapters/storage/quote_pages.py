"""Quotes in lists: found by what they are about and where they stand."""

from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from sqlalchemy import ColumnElement, Row, and_, false, func, literal, not_, or_, tuple_

from service.adapters.storage.books import Books
from service.adapters.storage.moments import utc
from service.adapters.storage.quote_lives import life_columns, life_of
from service.adapters.storage.tables import quote_lives, quotes
from service.domain.money import Money, minor_unit
from service.domain.pricing.life import State
from service.usecases.ports import Kept, Since, Wanted

_SHOWN = (
    quotes.c.created_at,
    quotes.c.reference,
    quotes.c.outside_reference,
    quotes.c.customer_name,
    quotes.c.currency,
    quotes.c.total_minor,
)


def find(books: Books, wanted: Wanted, after: Since | None, most: int) -> list[Kept]:
    """Give the quotes that fit, newest first, from after a place on."""
    query = (
        books.select(*_SHOWN, *life_columns(), of=[quotes, quote_lives])
        .where(quotes.c.id == quote_lives.c.quote_id, *_conditions(wanted))
        .order_by(quotes.c.created_at.desc(), quotes.c.id.desc())
        .limit(most)
    )
    if after is not None:
        place = tuple_(quotes.c.created_at, quotes.c.id)
        made, quote_id = literal(after[0], quotes.c.created_at.type), literal(after[1])
        query = query.where(place < tuple_(made, quote_id))
    with books.reading() as connection:
        return [_kept(row) for row in connection.execute(query)]


def _conditions(wanted: Wanted) -> Iterator[ColumnElement[bool]]:
    if wanted.states:
        yield or_(false(), *(_stands(state, wanted) for state in sorted(wanted.states)))
    if wanted.reference:
        yield quotes.c.reference == wanted.reference
    if wanted.outside_reference:
        yield quotes.c.outside_reference == wanted.outside_reference
    if wanted.series:
        yield quote_lives.c.series == wanted.series
    if wanted.within:
        yield or_(
            *(
                func.lower(column).contains(wanted.within.lower(), autoescape=True)
                for column in (quotes.c.reference, quotes.c.customer_name)
            )
        )
    if wanted.made_from:
        yield quotes.c.created_at >= datetime.combine(wanted.made_from, time(), UTC)
    if wanted.made_to:
        following = wanted.made_to + timedelta(days=1)
        yield quotes.c.created_at < datetime.combine(following, time(), UTC)


def _stands(state: State, wanted: Wanted) -> ColumnElement[bool]:
    """Say in SQL what ``state_on`` says of one quote; a test holds them side by side."""
    open_still = (State.DRAFT.value, State.ISSUED.value, State.ACCEPTED.value)
    over = and_(
        quote_lives.c.valid_until < wanted.day,
        quote_lives.c.sawn.is_(False),
        quote_lives.c.decided.in_(open_still),
    )
    if state is State.EXPIRED:
        return over
    undated = quote_lives.c.valid_until.is_(None)
    return and_(quote_lives.c.decided == state.value, or_(undated, not_(over)))


def _kept(row: Row[Any]) -> Kept:
    amount = Decimal(row.total_minor) * minor_unit(row.currency)
    return Kept(
        created_at=utc(row.created_at),
        reference=row.reference,
        outside_reference=row.outside_reference,
        customer_name=row.customer_name,
        total=Money(amount, row.currency),
        life=life_of(row),
    )
