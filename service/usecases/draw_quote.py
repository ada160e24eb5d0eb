"""Draw a quote that was made before."""

from service.usecases.kept_orders import Read, kept_layout, kept_order
from service.usecases.ports import Quotes
from service.usecases.quote_railing import Press


def draw_quote(quote_id: str, *, quotes: Quotes, read: Read, press: Press) -> bytes:
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
    order = kept_order(quote_id, quotes=quotes, read=read, press=press)
    layout = kept_layout(quote_id, order, quotes=quotes, press=press)
    quotes.keep_drawing(quote_id, press.drawing(layout, order.order))
    return quotes.drawing(quote_id) or b""


def plot_quote(quote_id: str, *, quotes: Quotes, read: Read, press: Press) -> bytes:
    """Give the drawing for a CAD reader, drawn anew each time from the layout that was answered.

    Raises:
        QuoteNotFound: No quote has this id.
        NotReproducible: The order is laid out differently by now.
    """
    order = kept_order(quote_id, quotes=quotes, read=read, press=press)
    layout = kept_layout(quote_id, order, quotes=quotes, press=press)
    return press.plot(layout, order.order)
