"""Print a quote that was made before: for the customer, for site, for the code official."""

from enum import StrEnum
from typing import Protocol

from service.domain.errors import NotReproducible, QuotingError
from service.domain.layout.records import Layout
from service.usecases.kept_orders import Read, kept_layout, kept_order
from service.usecases.letterhead import Letterhead
from service.usecases.ports import Quotes
from service.usecases.quote_railing import Press
from service.usecases.standing import OFFERED, Standing


class Document(StrEnum):
    """A printed document of a quote, by the name of its file."""

    QUOTE = "quote"
    SITE_SHEETS = "site-sheets"
    CODE_REPORT = "code-report"


class Printer(Protocol):
    """Prints documents."""

    def __call__(
        self,
        document: Document,
        answer: bytes,
        layout: Layout | None,
        head: Letterhead,
        standing: Standing,
    ) -> bytes:
        """Give a document of a quote as it was answered, PDF.

        Args:
            document: Which.
            answer: The quote.
            layout: What its pictures show; None draws none.
            head: The dealer's letterhead.
            standing: Where the quote stands, said on every page if it is no offer.
        """
        ...


def print_quote(
    quote_id: str,
    document: Document,
    *,
    quotes: Quotes,
    read: Read,
    press: Press,
    printer: Printer,
    head: Letterhead,
    standing: Standing = OFFERED,
) -> bytes:
    """Print a document of a kept quote.

    What it says is the answer that is kept, so it never drifts. Its pictures are laid out again
    from the order and drawn only if they still show what was answered.

    Raises:
        QuoteNotFound: No quote has this id.
        NotReproducible: Site sheets were asked for and the order is laid out differently by now.
    """
    answer = quotes.answer(quote_id)
    if document is Document.CODE_REPORT:
        return printer(document, answer, None, head, standing)
    layout = _laid_out_again(quote_id, quotes, read, press)
    if layout is None and document is Document.SITE_SHEETS:
        raise NotReproducible(
            "This version lays the deck of this quote out differently, so that its elevations "
            "would not be those of the quote; send the order again for a new quote."
        )
    return printer(document, answer, layout, head, standing)


def _laid_out_again(quote_id: str, quotes: Quotes, read: Read, press: Press) -> Layout | None:
    try:
        order = kept_order(quote_id, quotes=quotes, read=read, press=press)
        return kept_layout(quote_id, order, quotes=quotes, press=press)
    except QuotingError:  # also where newer bounds refuse what was laid out before
        return None
