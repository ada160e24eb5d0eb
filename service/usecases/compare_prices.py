"""One job done in several ways, each priced like a quote, and none of them kept."""

from collections.abc import Callable, Iterator, Sequence

from service.domain.errors import QuotingError
from service.domain.structure.materials import Materials
from service.usecases.orders import QuoteOrder
from service.usecases.ports import CodeLibrary, Saw, Shelf
from service.usecases.quote_railing import Quote, Receipt, work_out
from service.usecases.watching import UNWATCHED, Watch

Ways = Sequence[QuoteOrder | QuotingError]
"""Orders of one job; in place of one, why it could not be read."""


def compare_prices(
    ways: Ways,
    receive: Callable[[QuoteOrder], Receipt],
    *,
    codes: CodeLibrary,
    materials: Materials,
    saw: Saw,
    shelf: Shelf,
    watch: Watch = UNWATCHED,
) -> Iterator[Quote | QuotingError]:
    """Work out every way as a quote would be, or tell why it cannot be had.

    Each is worked out by itself: an offcut on hand may be in several of them.

    Args:
        ways: In the order they are to be answered.
        receive: Gives the receipt of an order.
        codes: Codes held.
        materials: Alloys, timber and screws held.
        saw: Plans the cuts.
        shelf: Offcuts on hand.
        watch: Looks on at the stages.
    """
    for way in ways:
        if isinstance(way, QuotingError):
            yield way
            continue
        try:
            yield work_out(
                way,
                receive(way),
                codes=codes,
                materials=materials,
                saw=saw,
                shelf=shelf,
                watch=watch,
            )
        except QuotingError as refusal:
            yield refusal
