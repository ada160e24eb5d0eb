"""Compute a kept quote again from what was kept of it, and say whether it comes out the same."""

from dataclasses import dataclass
from datetime import date, datetime

from service.domain.pricing.changes import Changes, Figures, compare
from service.domain.structure.materials import Materials
from service.usecases.kept_orders import Read, kept_order
from service.usecases.ports import CodeLibrary, Quotes, Saw
from service.usecases.price_repriced import TableOf, price_repriced
from service.usecases.quote_railing import Press, Receipt, reckon
from service.usecases.watching import UNWATCHED, Watch


@dataclass(frozen=True, slots=True)
class Recomputed:
    """A quote beside itself.

    Attributes:
        on: Day it was, and is again, made for.
        changes: From what was answered to what is computed now; none if it is the same.
    """

    quote_id: str
    on: date
    kept: Figures
    now: Figures
    changes: Changes

    @property
    def same(self) -> bool:
        """Whether every figure comes out as it was answered."""
        return not (self.changes.lines or self.changes.totals or self.changes.facts)


def recompute_quote(
    quote_id: str,
    *,
    quotes: Quotes,
    read: Read,
    press: Press,
    codes: CodeLibrary,
    materials: Materials,
    saw: Saw,
    table_of: TableOf,
    service_version: str,
    at: datetime,
    watch: Watch = UNWATCHED,
) -> Recomputed:
    """Compute a quote again; nothing is kept.

    One that was re-priced is priced again, as it was: its order stands, by whichever prices.

    Raises:
        QuoteNotFound: No quote has this id.
        NotReproducible: This version no longer reads its order.
    """
    before = press.figures(quotes.answer(quote_id))
    repriced = quotes.repriced(quote_id)
    if repriced is not None:
        first = quotes.answer(repriced.order.material_of)
        after = press.figures(press.repriced(first, price_repriced(repriced, table_of)))
        on = repriced.order.material.priced_on
        return Recomputed(quote_id, on, before, after, compare(before, after))
    kept = kept_order(quote_id, quotes=quotes, read=read, press=press)
    receipt = Receipt(quote_id, at, kept.on, service_version, b"")
    again = reckon(kept.order, receipt, codes=codes, materials=materials, saw=saw, watch=watch)
    after = press.figures(press.document(again))
    return Recomputed(quote_id, kept.on, before, after, compare(before, after))
