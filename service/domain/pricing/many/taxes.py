"""Taxes of many quotes, as they are of one; what lifts a quote to the minimum is its last line.

Where a component needs to be known line by line - on lines, compound, or held in prices whose
margin is asked for - it is reckoned on lines; otherwise on the sums of the lines it applies to.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

import numpy as np

from service.domain.pricing.many.amounts import Worksheet
from service.domain.pricing.many.exact import (
    MOST,
    Ints,
    Odd,
    ratio,
    sums,
    times,
    topped_up,
)
from service.domain.pricing.settings import GOODS, PricingSettings, Tax, TaxPer
from service.domain.pricing.tax import effective_rates


@dataclass(frozen=True, slots=True)
class Taxed:
    """What taxes come to.

    Attributes:
        quotes: All components of each quote.
        lines: All components of each line; None where prices do not hold them, and no net depends
            on them.
        lifts: Likewise of what lifts each quote.
    """

    quotes: Ints
    lines: Ints | None
    lifts: Ints | None


@dataclass(slots=True)
class _Roll:
    """Lines to be taxed, those that lift among them.

    Attributes:
        classes: Number of the tax class of each line.
        before: Components so far, of each line.
    """

    amounts: Ints
    classes: Ints
    offsets: Ints
    odd: Odd
    before: Ints


def taxes_of(sheet: Worksheet, left: Ints, lifts: Ints | None) -> Taxed:
    """Reckon every component of every quote.

    Args:
        sheet: The chunk.
        left: Of each line, its amount less its discounts.
        lifts: What lifts each quote to the minimum, None where there is no minimum.
    """
    terms = sheet.prices.settings
    if any(not 0 <= tax.rate <= 1 for tax in terms.taxes):
        sheet.odd.quotes[:] = True
    if not terms.taxes or sheet.odd.quotes.all():
        return Taxed(np.zeros(len(sheet.chunk), np.int64), None, None)
    if not (terms.tax_included or any(tax.compound for tax in terms.taxes)) and (
        terms.tax_per is TaxPer.DOCUMENT
    ):
        return Taxed(_on_documents(sheet, left, lifts), None, None)
    names = sorted({GOODS, *sheet.prices.classes} | _lifting(terms))
    number = {name: n for n, name in enumerate(names)}
    of_slots = np.array([number[name] for name in sheet.prices.classes], np.int64)
    offsets = sheet.chunk.offsets
    classes = of_slots[sheet.slots]
    if lifts is not None and terms.minimum:
        classes = np.insert(classes, offsets[1:], number[terms.minimum.tax_class])
        left = np.insert(left, offsets[1:], lifts)
        offsets = offsets + np.arange(len(offsets))
    roll = _Roll(left, classes, offsets, Odd(offsets), np.zeros(len(left), np.int64))
    for tax, rates in zip(terms.taxes, _rates(terms, names), strict=True):
        _add_component(roll, tax, rates, terms)
    sheet.odd.quotes |= roll.odd.quotes
    whole = sums(roll.before, offsets)
    if lifts is None:
        return Taxed(whole, roll.before, None)
    last = offsets[1:] - 1
    return Taxed(whole, np.delete(roll.before, last), roll.before[last])


def _lifting(terms: PricingSettings) -> set[str]:
    return {terms.minimum.tax_class} if terms.minimum else set()


def _rates(terms: PricingSettings, names: Sequence[str]) -> list[list[Fraction]]:
    """Give what part of its base each component is, by component and class."""
    if not terms.tax_included:
        return [
            [Fraction(tax.rate) if name in tax.applies_to else Fraction(0) for name in names]
            for tax in terms.taxes
        ]
    of_classes = []
    for name in names:
        rates = [Fraction(rate) for rate in effective_rates(terms.taxes, name)]
        of_classes.append([rate / sum(rates, Fraction(1)) for rate in rates])
    return [list(component) for component in zip(*of_classes, strict=True)]


def _add_component(
    roll: _Roll, tax: Tax, rates: Sequence[Fraction], terms: PricingSettings
) -> None:
    """Reckon one component on every line, and add it to those before it."""
    ones = [rate.denominator for rate in rates]
    if terms.tax_per is TaxPer.DOCUMENT:
        ones = [lcm(*ones)] * len(ones)  # what the lines are left with is compared
    if max(ones) >= MOST // 4:  # no part is more than one
        roll.odd.quotes[:] = True
        return
    parts = [int(rate * one) for rate, one in zip(rates, ones, strict=True)]
    base = roll.amounts
    if tax.compound and not terms.tax_included:
        base = base + roll.before
    flags = np.zeros(len(base), np.bool_)
    exact = times(base, _of_lines(parts, roll.classes), flags)
    if terms.tax_per is TaxPer.LINE:
        amounts = ratio(exact, _of_lines(ones, roll.classes), terms.half)
    else:
        amounts = _shared(roll, exact, ones[0], terms)
    if flags.any():
        roll.odd.lines(flags)
    roll.before = roll.before + amounts


def _of_lines(of_classes: Sequence[int], classes: Ints) -> Ints | int:
    if len(set(of_classes)) == 1:
        return of_classes[0]
    found: Ints = np.array(of_classes, np.int64)[classes]
    return found


def _shared(roll: _Roll, exact: Ints, one: int, terms: PricingSettings) -> Ints:
    """Round a component on the document and share it out over its lines."""
    floors = exact // one
    rests = exact - floors * one
    flags = np.zeros(len(roll.offsets) - 1, np.bool_)
    counts = roll.offsets[1:] - roll.offsets[:-1]
    times(counts, one, flags)  # the rests of a quote add up to less
    roll.odd.quotes |= flags
    # The whole, rounded, less what the floors add up to: a rounding of the rests alone, unless a
    # half goes to the even whole.
    within = sums(floors, roll.offsets)
    over = np.where(flags, 0, sums(np.where(np.repeat(flags, counts), 0, rests), roll.offsets))
    left = _rounded_after(within, over, one, terms)
    return topped_up(floors, rests, left, roll.offsets)


def _rounded_after(whole: Ints, over: Ints, one: int, terms: PricingSettings) -> Ints:
    """Round whole + over / one, and give what that is more than the whole."""
    extra = over // one
    rest = over - extra * one
    odd_whole = (whole + extra) % 2 == 1
    # An even whole with a half stays, an odd one goes up: 0 + rest or 1 + rest, rounded.
    parity = odd_whole.astype(np.int64)
    more: Ints = extra + ratio(parity * one + rest, one, terms.half) - parity
    return more


def _on_documents(sheet: Worksheet, left: Ints, lifts: Ints | None) -> Ints:
    """Reckon components that are rounded on the document and on which no line depends."""
    terms = sheet.prices.settings
    bases: dict[tuple[bool, ...], Ints] = {}
    found = np.zeros(len(sheet.chunk), np.int64)
    for tax in terms.taxes:
        hits = tuple(name in tax.applies_to for name in sheet.prices.classes)
        if hits not in bases:
            hit = np.array(hits, np.bool_)
            bases[hits] = sheet.totals(left if all(hits) else left * hit[sheet.slots])
        base = bases[hits]
        if lifts is not None and terms.minimum and terms.minimum.tax_class in tax.applies_to:
            base = base + lifts
        part, one = tax.rate.as_integer_ratio()
        if one >= MOST:  # the part is no more
            sheet.odd.quotes[:] = True
            continue
        found += ratio(times(base, part, sheet.odd.quotes), one, terms.half)
    return found
