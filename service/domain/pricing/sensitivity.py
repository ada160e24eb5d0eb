"""Which prices drive the total: what it moves by when one of them rises by one percent.

Each price is raised by itself, list and cost alike, and the same order is priced again through
every rounding; it is not laid out or cut again. Rates of labour are prices too.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from service.domain.money import Money
from service.domain.pricing.amounts import EXACT
from service.domain.pricing.bare_gross import BareGross
from service.domain.pricing.drafts import Draft
from service.domain.pricing.lines import Line
from service.domain.pricing.settings import LABOUR, PricingSettings, TaxPer
from service.domain.pricing.unit_prices import sold_as_listed, unit_price
from service.domain.record import record

RISE = Decimal("1.01")
_SHARE = Decimal("0.0001")
Driver = tuple[str, str]


@record(frozen=True, slots=True)
class Sensitivity:
    """How the total hangs on one price.

    Attributes:
        kind: "goods" or "labour".
        name: SKU, or category of the tasks.
        moves: By how much the gross rises with one percent of it.
        share: Gross of its lines over the gross of all, to 0.0001; None where that is nothing.
    """

    kind: str
    name: str
    moves: Money
    share: Decimal | None


def sensitivity(
    drafts: Sequence[Draft],
    charges: Sequence[Draft],
    lines: Sequence[Line],
    settings: PricingSettings,
    currency: str,
) -> tuple[Sensitivity, ...]:
    """Raise each price by one percent, and tell what the gross moves by, the most first.

    Args:
        drafts: Goods and labour.
        charges: Carriage.
        lines: What was reckoned from both.
        settings: The dealer's rules.
        currency: Of the quote.
    """
    bare = BareGross(drafts, charges, settings, currency)
    separate = _separate(settings)
    left = [] if separate else [bare.left(draft, draft.unit_price) for draft in drafts]
    of_lines = [line.gross.amount for line in lines]
    gross = sum(of_lines, Decimal(0))
    found = []
    for driver, numbers in _drivers(drafts).items():
        risen = {n: bare.left(drafts[n], _risen(drafts[n], settings, currency)) for n in numbers}
        before = sum((of_lines[n] for n in numbers), Decimal(0))
        if separate:
            moves = sum((bare.of_line(n, risen[n]) for n in numbers), -before)
        else:
            moves = bare.of([risen.get(n, amount) for n, amount in enumerate(left)]) - gross
        share = (before / gross).quantize(_SHARE) if gross else None
        found.append(Sensitivity(*driver, Money(moves, currency), share))
    return tuple(sorted(found, key=lambda one: (-one.moves.amount, one.kind, one.name)))


def _drivers(drafts: Sequence[Draft]) -> Mapping[Driver, list[int]]:
    """Tell which lines hang on each price."""
    drivers: dict[Driver, list[int]] = {}
    for number, draft in enumerate(drafts):
        drivers.setdefault((draft.kind, draft.sku or draft.category), []).append(number)
    return drivers


def _separate(settings: PricingSettings) -> bool:
    """Tell whether no line's price touches another line."""
    shared = settings.quote_discount or settings.minimum
    return shared is None and settings.tax_per is TaxPer.LINE


def _risen(draft: Draft, settings: PricingSettings, currency: str) -> Decimal:
    """Give the unit price of a line whose price and cost have risen."""
    row = draft.row
    if row is None or draft.kind == LABOUR:
        return EXACT.multiply(draft.unit_price, RISE)
    if sold_as_listed(row, settings):
        return _raised(row.unit_price) or Decimal(0)
    row = replace(row, unit_price=_raised(row.unit_price), cost=_raised(row.cost))
    return unit_price(row, draft.category, settings, currency) or Decimal(0)


def _raised(price: Decimal | None) -> Decimal | None:
    return None if price is None else EXACT.multiply(price, RISE)
