"""Draw a quote that was made before."""

from collections.abc import Callable

from service.domain.errors import NotReproducible
from service.usecases.orders import QuoteOrder
from service.usecases.ports import Quotes
from service.usecases.quote_railing import Press
from service.usecases.take_off_railing import lay_out_to_order


def draw_quote(
    quote_id: str, *, quotes: Quotes, read: Callable[[bytes], QuoteOrder], press: Press
) -> bytes:
    """Give the drawing that is kept, or draw what was ordered and keep that.

    Drawing takes longer than the rest of a quote and most quotes are never drawn, so it waits
    until it is asked for; what is drawn once never changes.

    Raises:
        QuoteNotFound: No quote has this id.
        NotReproducible: The order is laid out differently by now, and was never drawn.
    """
    kept = quotes.drawing(quote_id)
    if kept is not None:
        return kept
    order = read(quotes.request(quote_id))
    answer = quotes.answer(quote_id)
    layout = lay_out_to_order(order, press.day(answer))
    if not press.shows(answer, layout, order):
        raise NotReproducible(
            "This quote was never drawn, and this version lays its deck out differently; "
            "send the order again for a new quote and its drawing."
        )
    quotes.keep_drawing(quote_id, press.drawing(layout, order))
    return quotes.drawing(quote_id) or b""
