"""Quotes whose orders are not kept, because they are older than that."""

from datetime import datetime

from service.adapters.storage.books import Books
from service.adapters.storage.moments import utc
from service.adapters.storage.orders import keep_order_of
from service.adapters.storage.tables import quote_lives, quote_orders, quotes
from service.domain.money import Money, minor_unit
from service.domain.pricing.life import State
from service.usecases.ports import Material

_OPEN = (State.DRAFT.value, State.ISSUED.value)


class SqlUnkept:
    """Finds open quotes without an order, and keeps one for them."""

    def __init__(self, books: Books) -> None:
        self._books = books

    def after(self, quote_id: str, most: int) -> list[str]:
        """Give ids of such quotes in order, from behind an id on."""
        orders = self._books.beside(
            quote_lives, quote_orders, quote_orders.c.quote_id == quote_lives.c.quote_id
        )
        query = (
            self._books.select(quote_lives.c.quote_id, of=[quote_lives])
            .select_from(orders)
            .where(quote_lives.c.quote_id > quote_id, quote_lives.c.decided.in_(_OPEN))
            .where(quote_orders.c.quote_id.is_(None))
            .order_by(quote_lives.c.quote_id)
            .limit(most)
        )
        with self._books.reading() as connection:
            return list(connection.execute(query).scalars())

    def keep(self, quote_id: str, material: Material) -> None:
        """Keep the order of one, unless somebody did so meanwhile."""
        made = (quotes.c.created_at, quotes.c.currency, quotes.c.total_minor)
        query = self._books.select(*made).where(quotes.c.id == quote_id)
        with self._books.writing() as connection:
            row = connection.execute(query).one()
            at: datetime = utc(row.created_at)
            total = Money(row.total_minor * minor_unit(row.currency), row.currency)
            keep_order_of(self._books, connection, quote_id, at, total, material)
