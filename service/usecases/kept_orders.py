"""Orders of quotes that are kept: read again, with all that they were made from."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date

from service.domain.errors import NotReproducible
from service.domain.layout.records import Layout
from service.usecases.orders import QuoteOrder
from service.usecases.ports import Inputs, Quotes
from service.usecases.quote_railing import Press
from service.usecases.take_off_railing import lay_out_to_order

Read = Callable[[bytes, Inputs], QuoteOrder]


@dataclass(frozen=True, slots=True)
class KeptOrder:
    """An order as it was quoted, and the day it was quoted for."""

    order: QuoteOrder
    on: date
    inputs: Inputs


def kept_order(quote_id: str, *, quotes: Quotes, read: Read, press: Press) -> KeptOrder:
    """Give the order of a quote, with the offcuts that were weighed for it.

    Raises:
        QuoteNotFound: No quote has this id.
        NotReproducible: This version no longer reads it.
    """
    inputs = quotes.inputs(quote_id)
    order = read(quotes.request(quote_id), inputs)
    order = replace(order, offcuts=(*order.offcuts, *inputs.offcuts), use_offcuts=False)
    return KeptOrder(order, inputs.on or press.day(quotes.answer(quote_id)), inputs)


def kept_layout(quote_id: str, kept: KeptOrder, *, quotes: Quotes, press: Press) -> Layout:
    """Lay a kept order out again, to the layout that was quoted.

    Raises:
        NotReproducible: This version lays it out differently.
    """
    layout = lay_out_to_order(kept.order, kept.on)
    if not press.shows(quotes.answer(quote_id), layout, kept.order):
        raise NotReproducible(
            f"This version lays out the deck of quote {quote_id} differently.",
            advice="Send its order again for a new quote.",
        )
    return layout
