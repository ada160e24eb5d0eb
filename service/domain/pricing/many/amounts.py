"""Amounts, discounts, the minimum and costs of many quotes, as they are of one."""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from service.domain.money import minor_unit
from service.domain.pricing.amounts import EXACT, rounded
from service.domain.pricing.many.chunk import PLACES, Chunk
from service.domain.pricing.many.exact import (
    MOST,
    Flags,
    Ints,
    Odd,
    ratio,
    spread,
    sums,
    times,
    topped_up,
)
from service.domain.pricing.many.resolved import ManyPrices, Scaled, scaled
from service.domain.pricing.quote import MAX_LINE
from service.domain.pricing.settings import Discount, MinimumCharge


@dataclass(slots=True)
class Worksheet:
    """One chunk while it is reckoned.

    Attributes:
        slots: Of each line.
        charges: Which lines are charges.
        odd: Quotes to be priced one by one.
        most: What a line may come to so that every sum and tax of a quote fits.
    """

    chunk: Chunk
    prices: ManyPrices
    slots: Ints
    charges: Flags
    odd: Odd
    most: int

    def bounded(self, amounts: Ints) -> Ints:
        """Take amounts that are too large for nothing, and note their quotes."""
        if not len(amounts) or int(amounts.max()) < self.most:
            return amounts
        self.odd.lines(amounts >= self.most)
        return np.where(amounts >= self.most, 0, amounts)

    def times(self, first: Ints, second: Ints | int) -> Ints:
        """Multiply line by line; where it may not fit, the quote is odd."""
        flags = np.zeros(len(first), np.bool_)
        product = times(first, second, flags)
        if flags.any():
            self.odd.lines(flags)
        return product

    def totals(self, lines: Ints) -> Ints:
        """Add up the lines of each quote."""
        return sums(lines, self.chunk.offsets)


def worksheet(chunk: Chunk, prices: ManyPrices) -> Worksheet:
    """Find the slot of every line, and the quotes that do not fit the form."""
    slots = prices.first[chunk.parts]
    stepped = np.flatnonzero(prices.stepped[chunk.parts]) if prices.stepped.any() else ()
    if len(stepped):
        parts, quantities = chunk.parts[stepped], chunk.quantities[stepped]
        for step in range(prices.thresholds.shape[1]):
            slots[stepped] += quantities >= prices.thresholds[parts, step]
    rank = prices.rank[chunk.parts]
    counts = chunk.offsets[1:] - chunk.offsets[:-1]
    taxes = prices.settings.taxes
    grown = 2 ** len(taxes) if any(tax.compound for tax in taxes) else 1 + len(taxes)
    longest = int(counts.max()) + 1 if len(counts) else 1
    most = min(int(MAX_LINE) * 10**prices.places, MOST // 2 // (longest * grown))
    sheet = Worksheet(chunk, prices, slots, rank == 2, Odd(chunk.offsets), most)
    _note_odd(sheet, rank)
    return sheet


def _note_odd(sheet: Worksheet, rank: Ints) -> None:
    """Note quotes with figures below zero, out of order, or with one SKU twice where it matters."""
    chunk, prices, odd = sheet.chunk, sheet.prices, sheet.odd
    if prices.odd.any():
        odd.lines(prices.odd[sheet.slots])
    hours = np.flatnonzero(rank == 1)
    if (chunk.quantities[hours] % 10 ** (PLACES - 2)).any():
        odd.lines((rank == 1) & (chunk.quantities % 10 ** (PLACES - 2) != 0))
    for figures in (chunk.quantities, chunk.amounts):
        if len(figures) and int(figures.min()) < 0:
            odd.lines(figures < 0)
    falls = np.flatnonzero(rank[1:] < rank[:-1]) + 1
    begins = np.zeros(len(rank) + 1, np.bool_)
    begins[chunk.offsets] = True
    for line in falls[~begins[falls]]:
        odd.quotes[np.searchsorted(chunk.offsets, line, side="right") - 1] = True
    if prices.touchy.any():
        _note_repeated(sheet)


def _note_repeated(sheet: Worksheet) -> None:
    chunk, prices = sheet.chunk, sheet.prices
    touchy = prices.touchy[chunk.parts]
    quote = spread(np.arange(len(chunk), dtype=np.int64), chunk.offsets)[touchy]
    keys = quote * len(prices.parts) + prices.skus[chunk.parts[touchy]]
    keys.sort()
    sheet.odd.quotes[keys[1:][keys[1:] == keys[:-1]] // max(len(prices.parts), 1)] = True


def amounts_of(sheet: Worksheet) -> Ints:
    """Multiply quantity and price and round once; a charge keeps its amount."""
    chunk = sheet.chunk
    amounts = _figured(sheet, sheet.prices.price)
    kept = np.where(sheet.charges, np.maximum(chunk.amounts, 0), amounts)
    return sheet.bounded(kept)


def costs_of(sheet: Worksheet) -> Ints:
    """Give what each line costs its dealer, zero where it is not said."""
    if not sheet.prices.cost.numbers.any():
        return np.zeros(len(sheet.slots), np.int64)
    return sheet.bounded(_figured(sheet, sheet.prices.cost))


def _figured(sheet: Worksheet, figure: Scaled) -> Ints:
    quantities = np.maximum(sheet.chunk.quantities, 0)
    exact = sheet.times(quantities, figure.numbers[sheet.slots])
    finer = PLACES + figure.places - sheet.prices.places  # two or more
    return ratio(exact, 10**finer, sheet.prices.settings.half)


def less_own_discounts(sheet: Worksheet, amounts: Ints) -> Ints:
    """Take the discount of each line off it, down to nothing."""
    prices = sheet.prices
    half = prices.settings.half
    if prices.off_rate.numbers.any():
        exact = sheet.times(amounts, prices.off_rate.numbers[sheet.slots])
        off = ratio(exact, 10**prices.off_rate.places, half)
        amounts = np.maximum(amounts - off, 0)
    if prices.off_amount.numbers.any():
        amounts = np.maximum(amounts - prices.off_amount.numbers[sheet.slots], 0)
    return amounts


def less_quote_discount(sheet: Worksheet, left: Ints, discount: Discount) -> Ints:
    """Share the discount of each quote out over its goods and labour."""
    chunk = sheet.chunk
    weights = np.where(sheet.charges, 0, left)
    whole = sheet.totals(weights)
    off = _off_quotes(sheet, whole, discount)
    sheet.odd.quotes |= off > whole  # more money off than there is, which is refused in words
    off = np.minimum(off, whole)
    ones = spread(np.maximum(whole, 1), chunk.offsets)
    exact = sheet.times(weights, spread(off, chunk.offsets))
    floors = exact // ones
    rests = exact - floors * ones
    over = np.where(sheet.odd.quotes, 0, off - sheet.totals(floors))
    return left - topped_up(floors, rests, over, chunk.offsets)


def _off_quotes(sheet: Worksheet, whole: Ints, discount: Discount) -> Ints:
    prices = sheet.prices
    half = prices.settings.half
    if discount.rate is not None:
        rate = scaled([discount.rate])
        sheet.odd.quotes |= rate.misfit[0]
        exact = times(whole, int(rate.numbers[0]), sheet.odd.quotes)
        return ratio(exact, 10**rate.places, half)
    fixed = rounded(discount.amount or Decimal(0), minor_unit(prices.currency), half)
    units = scaled([fixed.scaleb(prices.places, EXACT)], 0)
    sheet.odd.quotes |= units.misfit[0]
    return np.full(len(whole), units.numbers[0], np.int64)


def lifts_of(sheet: Worksheet, left: Ints, minimum: MinimumCharge) -> Ints:
    """Give what lifts each quote to the minimum, zero where it lacks nothing."""
    prices = sheet.prices
    own = sheet.totals(np.where(sheet.charges, 0, left))
    least = scaled([minimum.amount.scaleb(prices.places, EXACT)])
    units, one = int(least.numbers[0]), 10**least.places
    if least.misfit[0] or units // one >= sheet.most:
        sheet.odd.quotes[:] = True
        return np.zeros(len(own), np.int64)
    exact = np.maximum(units - times(own, one, sheet.odd.quotes), 0)
    if prices.unnamed(minimum.tax_class):
        sheet.odd.quotes |= exact > 0
    return ratio(exact, one, prices.settings.half)
