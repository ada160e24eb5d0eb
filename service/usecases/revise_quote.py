"""Make a quote that takes the place of an earlier one."""

from dataclasses import replace

from service.domain.errors import StaleState
from service.domain.pricing.life import refuse_revision
from service.domain.structure.materials import Materials
from service.usecases.conditions import Matches
from service.usecases.decide_quote import tag_of
from service.usecases.orders import QuoteOrder
from service.usecases.ports import CodeLibrary, QuoteLives, Quotes, Saw, Shelf, StoredQuote
from service.usecases.quote_railing import Press, Receipt, quote_railing
from service.usecases.watching import UNWATCHED, Watch


def revise_quote(
    quote_id: str,
    order: QuoteOrder,
    receipt: Receipt,
    *,
    lives: QuoteLives,
    codes: CodeLibrary,
    materials: Materials,
    saw: Saw,
    press: Press,
    quotes: Quotes,
    shelf: Shelf,
    matches: Matches | None = None,
    watch: Watch = UNWATCHED,
) -> StoredQuote:
    """Make the next revision of a quote.

    Once it is issued the earlier one is replaced, or, if that was accepted, once this one is
    accepted: an order stands until another takes its place.

    Raises:
        QuoteNotFound: No quote has this id.
        QuoteClosed: It is replaced already, or its bars are sawn.
        StaleState: The condition does not hold, or somebody else revised it meanwhile.
    """
    life = lives.life(quote_id)
    if matches is not None and not matches(tag_of(life, receipt.received_at.date())):
        raise StaleState("This quote has changed since its state was read; read it again.")
    refuse_revision(life)
    receipt = replace(
        receipt, series=life.series, revision=life.revision + 1, revises=life.quote_id
    )
    return quote_railing(
        order,
        receipt,
        codes=codes,
        materials=materials,
        saw=saw,
        press=press,
        quotes=quotes,
        shelf=shelf,
        watch=watch,
    )
