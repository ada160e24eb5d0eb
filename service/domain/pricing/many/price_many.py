"""Kept orders of many quotes priced at once, equal to ``price_again`` in every figure.

Done at once: quantity breaks, list and made prices, labour rates, discounts of lines and of the
quote, the minimum, carriage as it is kept, taxes on lines or documents, held in prices or not,
compound or not, both ways of rounding a half, costs and what they leave, parts without a price
(or with one for another unit or pack), and rules with a tax class that nothing bears.

One by one, by ``price_again``: a quote

- one of whose products or sums may pass 64 bits, or a figure of which has more than 12 decimals,
- with a line of more than 10^12, or whose discount or payments are more than there is to take
  them from, or with a tax class that no tax names: they are refused in words of their own,
- with a price, cost, rate, quantity or amount below zero, or a tax rate above one,
- with one SKU in two lines where a quantity break, or two parts with this SKU, make it matter,
- whose lines are not goods, then labour, then charges, or whose hours are finer than 0.01.

What then still passes 64 bits of minor units, as a cost may, is refused: it could not be kept.
"""

from collections.abc import Mapping
from decimal import Decimal

import numpy as np

from service.domain.errors import NoPriceInForce, QuotingError
from service.domain.pricing.again import price_again
from service.domain.pricing.amounts import EXACT
from service.domain.pricing.costs import costs_of as costs_of_lines
from service.domain.pricing.many.amounts import (
    Worksheet,
    amounts_of,
    costs_of,
    less_own_discounts,
    less_quote_discount,
    lifts_of,
    worksheet,
)
from service.domain.pricing.many.chunk import PLACES, Came, Chunk, ManyPriced
from service.domain.pricing.many.exact import Ints, spread
from service.domain.pricing.many.payable import unpayable
from service.domain.pricing.many.resolved import ManyPrices
from service.domain.pricing.many.taxes import taxes_of
from service.domain.pricing.material import MaterialLine
from service.domain.pricing.quote import Priced
from service.domain.pricing.settings import LABOUR

_SUMS = ("gross", "net", "tax", "discount", "cost", "cost_net")
_MOST_KEPT = 2**63 - 1


def price_many(chunk: Chunk, prices: ManyPrices) -> ManyPriced:
    """Price the quotes of a chunk.

    Args:
        chunk: Their material.
        prices: Of its parts.
    """
    sheet = worksheet(chunk, prices)
    one_by_one = sheet.odd.quotes.copy()
    skus = _without_price(sheet)
    unpriced = np.full(len(chunk), bool(prices.refusal))
    unpriced[list(skus)] = True
    amounts, figures = _figures(sheet)
    if prices.settings.payments:
        sheet.odd.quotes |= unpayable(figures["gross"], prices.settings, prices.currency)
    one_by_one |= sheet.odd.quotes & ~unpriced
    came = np.full(len(chunk), Came.REFUSED if prices.refusal else Came.PRICED, np.int8)
    came[list(skus)] = Came.NO_PRICE
    empty = unpriced | one_by_one
    if empty.any():
        amounts = np.where(spread(empty, chunk.offsets), 0, amounts)
        figures = {name: np.where(empty, 0, of_name) for name, of_name in figures.items()}
    refused = np.flatnonzero((came == Came.REFUSED) & ~one_by_one).tolist()
    refusals = dict.fromkeys(refused, prices.refusal)
    for quote in np.flatnonzero(one_by_one).tolist():
        skus.pop(quote, None)
        told = _singly(quote, chunk, prices, amounts, figures)
        came[quote] = Came.PRICED
        if isinstance(told, tuple):
            came[quote], skus[quote] = Came.NO_PRICE, told
        elif told:
            came[quote], refusals[quote] = Came.REFUSED, told
    singly = int(one_by_one.sum())
    return ManyPriced(came, amounts, **figures, skus=skus, refusals=refusals, singly=singly)


def _without_price(sheet: Worksheet) -> dict[int, tuple[str, ...]]:
    """Name the parts without a price, as ``drafts_of`` does: of one complaint, the first."""
    prices, chunk = sheet.prices, sheet.chunk
    if not prices.lack.any():
        return {}
    lacks = prices.lack[sheet.slots]
    lines = np.flatnonzero(lacks)
    quotes = np.searchsorted(chunk.offsets, lines, side="right") - 1
    found: dict[int, dict[int, dict[str, None]]] = {}
    for line, quote in zip(lines.tolist(), quotes.tolist(), strict=True):
        part = prices.parts[int(chunk.parts[line])]
        found.setdefault(quote, {}).setdefault(int(lacks[line]), {})[part.sku] = None
    return {quote: tuple(of_quote[min(of_quote)]) for quote, of_quote in found.items()}


def _figures(sheet: Worksheet) -> tuple[Ints, dict[str, Ints]]:
    """Reckon every quote, the odd ones to no purpose."""
    chunk, prices = sheet.chunk, sheet.prices
    terms = prices.settings
    if prices.refusal:
        nothing = np.zeros(len(chunk), np.int64)
        return np.zeros(len(sheet.slots), np.int64), {name: nothing.copy() for name in _SUMS}
    amounts = amounts_of(sheet)
    left = less_own_discounts(sheet, amounts) if terms.discounts else amounts
    if terms.quote_discount:
        left = less_quote_discount(sheet, left, terms.quote_discount)
    lifts = lifts_of(sheet, left, terms.minimum) if terms.minimum else None
    taxed = taxes_of(sheet, left, lifts)
    asked = sheet.totals(left)
    discount = sheet.totals(amounts) - asked if left is not amounts else np.zeros_like(asked)
    asked = asked if lifts is None else asked + lifts
    nets, lift_nets = left, lifts
    if terms.tax_included and taxed.lines is not None:
        nets = left - taxed.lines
        lift_nets = lifts - taxed.lifts if lifts is not None and taxed.lifts is not None else lifts
    known = prices.cost_known[sheet.slots]
    cost_net = sheet.totals(np.where(known, nets, 0))
    return amounts, {
        "gross": asked if terms.tax_included else asked + taxed.quotes,
        "net": asked - taxed.quotes if terms.tax_included else asked,
        "tax": taxed.quotes,
        "discount": discount,
        "cost": sheet.totals(costs_of(sheet)),
        "cost_net": cost_net if lift_nets is None else cost_net + lift_nets,
    }


def _singly(
    quote: int, chunk: Chunk, prices: ManyPrices, amounts: Ints, figures: Mapping[str, Ints]
) -> tuple[str, ...] | str:
    """Price one quote by ``price_again`` and write its figures; else name parts, or say why not."""
    lines = list(range(int(chunk.offsets[quote]), int(chunk.offsets[quote + 1])))
    lines.sort(key=lambda line: prices.rank[chunk.parts[line]])  # as it prices them
    kept = {line: material_line(line, chunk, prices) for line in lines}
    try:
        priced = price_again(
            kept.values(), prices.table, prices.settings, prices.on, prices.currency
        )
    except NoPriceInForce as error:
        return error.skus
    except QuotingError as error:
        return error.detail
    units = {name: _units(sum_, prices) for name, sum_ in _sums(priced, prices).items()}
    if max(units.values()) > _MOST_KEPT:
        return f"The quote comes to more than {_MOST_KEPT} of the smallest unit of its currency."
    for name, number in units.items():
        figures[name][quote] = number
    charged = [line for line in lines if _is_charged(kept[line], prices)]
    for line, of_line in zip(charged, priced.lines, strict=False):  # what lifts it comes last
        amounts[line] = _units(of_line.amount.amount, prices)
    return ""


def material_line(line: int, chunk: Chunk, prices: ManyPrices) -> MaterialLine:
    """Give one line of a chunk as a record."""
    return MaterialLine(
        prices.parts[int(chunk.parts[line])],
        Decimal(int(chunk.quantities[line])).scaleb(-PLACES, EXACT),
        Decimal(int(chunk.amounts[line])).scaleb(-prices.places, EXACT),
    )


def _is_charged(line: MaterialLine, prices: ManyPrices) -> bool:
    return line.part.kind != LABOUR or prices.settings.hour(line.part.category) is not None


def _sums(priced: Priced, prices: ManyPrices) -> dict[str, Decimal]:
    costs = costs_of_lines(priced.drafts, priced.lines, prices.currency, prices.settings.half)
    totals = priced.totals
    of_quote = (totals.gross, totals.net, totals.tax, totals.discount)
    figures = (*of_quote, costs.total.cost, costs.total.net)
    return dict(zip(_SUMS, (money.amount for money in figures), strict=True))


def _units(amount: Decimal, prices: ManyPrices) -> int:
    return int(amount.scaleb(prices.places, EXACT))
