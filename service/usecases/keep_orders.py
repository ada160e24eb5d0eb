"""Orders of quotes from before orders were kept: read from what was answered, and proven."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from service.domain.errors import QuotingError
from service.domain.pricing.again import price_again
from service.domain.pricing.material import MaterialLine
from service.domain.pricing.quote import Priced
from service.usecases.kept_orders import Read, kept_order
from service.usecases.ports import Material, Quotes
from service.usecases.quote_railing import Press

PAGE = 200


class Unkept(Protocol):
    """Quotes that may be re-priced and whose orders are not kept."""

    def after(self, quote_id: str, most: int) -> Sequence[str]:
        """Give ids of such quotes in order, from behind an id on."""
        ...

    def keep(self, quote_id: str, material: Material) -> None:
        """Keep the order of one, unless somebody did so meanwhile."""
        ...


@dataclass(frozen=True, slots=True)
class Done:
    """What came of it, in quotes.

    Attributes:
        kept: Whose order is kept now.
        left: Whose order does not come to what was answered; they can be planned again.
    """

    kept: int
    left: int


def keep_orders(unkept: Unkept, *, quotes: Quotes, read: Read, press: Press) -> Done:
    """Keep what orders there are; broken off, it goes on where it was when it is begun again."""
    kept, left, last = 0, 0, ""
    while page := unkept.after(last, PAGE):
        for quote_id in page:
            material = proven_material(quote_id, quotes=quotes, read=read, press=press)
            if material is None:
                left += 1
            else:
                unkept.keep(quote_id, material)
                kept += 1
        last = page[-1]
    return Done(kept, left)


def proven_material(quote_id: str, *, quotes: Quotes, read: Read, press: Press) -> Material | None:
    """Read the order of a quote from its answer, and price it by what it was priced by.

    Returns:
        None where a line or the total does not come out as it was answered, or nothing does.
    """
    try:
        kept = kept_order(quote_id, quotes=quotes, read=read, press=press)
        lines, gross = press.material(quotes.answer(quote_id))
        prices, rules = kept.order.prices, kept.order.pricing
        priced = price_again(lines, prices, rules, kept.on, prices.currency)
    except (QuotingError, KeyError, TypeError, ValueError):  # of an answer of another shape
        return None
    if priced.totals.gross != gross or not _same_amounts(lines, priced):
        return None
    stored = prices.stored
    by = (stored.table_id, stored.version) if stored else ()
    return Material(tuple(lines), rules, kept.on, *by)


def _same_amounts(lines: Sequence[MaterialLine], priced: Priced) -> bool:
    again = [line.amount.amount for line in priced.lines]
    return [line.amount for line in lines] == again[: len(lines)]
