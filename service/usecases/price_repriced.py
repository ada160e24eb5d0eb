"""A quote whose order was priced again: what it comes to, from what is kept of it."""

from collections.abc import Callable
from dataclasses import dataclass

from service.domain.pricing.again import price_again
from service.domain.pricing.price_table import PriceTable
from service.domain.pricing.quote import Priced
from service.usecases.ports import Repriced

TableOf = Callable[[str, int], PriceTable]
"""Gives a version of a stored price table by its id and number."""


@dataclass(frozen=True, slots=True)
class PricedAgain:
    """A re-priced quote and what it comes to.

    Attributes:
        table: The prices.
        priced: Its lines lack what prices do not touch: descriptions, lengths, elements.
    """

    quote: Repriced
    table: PriceTable
    priced: Priced


def price_repriced(quote: Repriced, table_of: TableOf) -> PricedAgain:
    """Price a re-priced quote by the prices, the day and the rules that were kept of it."""
    order = quote.order.material
    table = table_of(order.table_id, order.version)
    currency = quote.order.total.currency
    priced = price_again(order.lines, table, order.settings, order.priced_on, currency)
    return PricedAgain(quote, table, priced)
