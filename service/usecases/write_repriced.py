"""Quotes whose order was priced again: their documents are written when somebody first reads them.

Re-pricing keeps figures alone, so that a night is enough for a million quotes; few of them are ever
read. What is written once is what everyone reads from then on.
"""

from collections.abc import Callable
from dataclasses import replace

from service.domain.errors import NotReproducible
from service.domain.pricing.dealers_view import dealers_view
from service.usecases.ports import (
    Inputs,
    Kept,
    Quotes,
    Repriced,
    Since,
    StoredQuote,
    Wanted,
    Written,
)
from service.usecases.price_repriced import PricedAgain, TableOf, price_repriced
from service.usecases.quote_railing import Press


def write_repriced(quote: Repriced, *, quotes: Quotes, table_of: TableOf, press: Press) -> None:
    """Write the documents of a re-priced quote, which are kept unless somebody was faster.

    Raises:
        NotReproducible: It comes to something else than it was re-priced to.
    """
    again = price_repriced(quote, table_of)
    _refuse_another_total(again)
    order, first = quote.order.material, quote.order.material_of
    quotes.write(
        quote.id,
        Written(
            request=press.ordered_again(quotes.request(first), quote),
            answer=press.repriced(quotes.answer(first), again),
            costs=press.costs(quote.id, dealers_view(again.priced, order.settings)),
            inputs=_inputs(quotes.inputs(first), quote),
        ),
    )


def _refuse_another_total(again: PricedAgain) -> None:
    told, now = again.quote.order.total, again.priced.totals.gross
    if now != told:
        raise NotReproducible(
            f"This version prices the quote {again.quote.id} at {now.amount} {now.currency}, not "
            f"at the {told.amount} {told.currency} that it was re-priced to.",
            advice="Revise it for a new quote.",
        )


def _inputs(first: Inputs, quote: Repriced) -> Inputs:
    order = quote.order.material
    others = [one for one in first.stored if one[0] != "price_table"]
    stored = (*others, ("price_table", order.table_id, order.version))
    return replace(first, on=order.priced_on, stored=stored)


class WholeQuotes:
    """Quotes as they are read: those that were re-priced are written before they are given."""

    def __init__(self, quotes: Quotes, table_of: TableOf, press: Press) -> None:
        self._quotes = quotes
        self._table_of = table_of
        self._press = press

    def add(self, quote: StoredQuote) -> None:
        """Keep a quote, whole or not at all."""
        self._quotes.add(quote)

    def answer(self, quote_id: str) -> bytes:
        """Give a quote's answer, byte for byte."""
        return self._whole(self._quotes.answer, quote_id)

    def costs(self, quote_id: str) -> bytes:
        """Give what a quote costs its dealer, byte for byte."""
        return self._whole(self._quotes.costs, quote_id)

    def request(self, quote_id: str) -> bytes:
        """Give what a quote was made from, byte for byte."""
        return self._whole(self._quotes.request, quote_id)

    def drawing(self, quote_id: str) -> bytes | None:
        """Give a quote's drawing as it was first drawn, None if it was not drawn yet."""
        return self._quotes.drawing(quote_id)

    def inputs(self, quote_id: str) -> Inputs:
        """Give what a quote was made from besides its request."""
        kept = self._quotes.inputs(quote_id)
        if kept.on is not None:
            return kept
        self.answer(quote_id)
        return self._quotes.inputs(quote_id)

    def page(self, wanted: Wanted, after: Since | None, most: int) -> list[Kept]:
        """Give quotes that fit, newest first."""
        return self._quotes.page(wanted, after, most)

    def keep_drawing(self, quote_id: str, drawing: bytes) -> None:
        """Keep a quote's drawing unless one is kept already."""
        self._quotes.keep_drawing(quote_id, drawing)

    def repriced(self, quote_id: str) -> Repriced | None:
        """Give what a re-priced quote is written from, None for one that was made whole."""
        return self._quotes.repriced(quote_id)

    def write(self, quote_id: str, whole: Written) -> None:
        """Keep the documents of a re-priced quote unless they are kept already."""
        self._quotes.write(quote_id, whole)

    def _whole(self, read: Callable[[str], bytes], quote_id: str) -> bytes:
        kept = read(quote_id)
        if kept:
            return kept
        light = self._quotes.repriced(quote_id)
        if light is None:
            return kept
        write_repriced(light, quotes=self, table_of=self._table_of, press=self._press)
        return read(quote_id)
