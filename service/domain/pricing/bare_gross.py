"""The gross of a quote in bare numbers: what it comes to, without the lines that make it up.

It is the gross of ``quote.reckon`` to the minor unit, for lines that differ from those of a quote
in their unit prices alone; every amount is a whole number of minor units, at most 10^20 of them.
Tests hold the two against each other.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from service.domain.money import minor_unit
from service.domain.pricing.amounts import EXACT, rounded, rounded_units, share_units
from service.domain.pricing.charges import lifted
from service.domain.pricing.discounts import discount_of, off_line
from service.domain.pricing.drafts import Draft
from service.domain.pricing.settings import PricingSettings, Tax, TaxPer


@dataclass(frozen=True, slots=True)
class _Component:
    """A tax on some of the lines; its rate is a ratio of whole numbers."""

    hits: tuple[int, ...]
    rate: tuple[int, int]
    compound: bool


class BareGross:
    """Reckons what lines come to by what is left of them after their own discounts."""

    def __init__(
        self,
        drafts: Sequence[Draft],
        charges: Sequence[Draft],
        settings: PricingSettings,
        currency: str,
    ) -> None:
        self._settings = settings
        self._step = minor_unit(currency)
        self._charges = [self._units(self._amount(d, d.unit_price)) for d in charges]
        minimum = settings.minimum
        classes = [draft.tax_class for draft in (*drafts, *charges)]
        classes += [minimum.tax_class] if minimum else []
        taxes = () if settings.tax_included else settings.taxes  # the gross holds them already
        self._components = [_component(tax, classes) for tax in taxes]
        self._compound = any(tax.compound for tax in taxes)

    def left(self, draft: Draft, unit_price: Decimal) -> int:
        """Give the amount of a line at a unit price, less its own discount."""
        amount = self._amount(draft, unit_price)
        _, off = off_line(draft, amount, self._step, self._settings)
        return self._units(amount - off)

    def of(self, left: Sequence[int]) -> Decimal:
        """Give the gross of the quote by what is left of each of its goods and labour."""
        lines = self._discounted(left) if self._settings.quote_discount else list(left)
        own = sum(lines)
        lines += self._charges
        if self._settings.minimum:
            lift = lifted(self._settings.minimum, own * self._step)
            lines.append(self._units(self._rounded(lift.unit_price)) if lift else 0)
        return (sum(lines) + self._taxes(lines)) * self._step

    def of_line(self, number: int, left: int) -> Decimal:
        """Give the gross of one line that touches no other."""
        before = 0
        for component in self._components:
            if number in component.hits:
                before += self._tax(component, left + before if component.compound else left)
        return (left + before) * self._step

    def _amount(self, draft: Draft, unit_price: Decimal) -> Decimal:
        return self._rounded(EXACT.multiply(draft.quantity, unit_price))

    def _rounded(self, amount: Decimal) -> Decimal:
        return rounded(amount, self._step, self._settings.half)

    def _units(self, amount: Decimal) -> int:
        return int(EXACT.divide(amount, self._step))

    def _discounted(self, left: Sequence[int]) -> list[int]:
        whole = self._settings.quote_discount
        if whole is None:
            return list(left)
        off = discount_of(whole, sum(left) * self._step, self._step, self._settings)
        shares = share_units(self._units(off), left)
        return [amount - share for amount, share in zip(left, shares, strict=True)]

    def _tax(self, component: _Component, base: int) -> int:
        parts, one = component.rate
        return rounded_units(base * parts, one, self._settings.half)

    def _taxes(self, lines: Sequence[int]) -> int:
        if self._compound:
            return self._compound_taxes(lines)
        if self._settings.tax_per is TaxPer.DOCUMENT:
            return sum(self._tax(c, sum([lines[n] for n in c.hits])) for c in self._components)
        return sum(self._tax(c, lines[n]) for c in self._components for n in c.hits)

    def _compound_taxes(self, lines: Sequence[int]) -> int:
        """Add up components of which later ones are reckoned on what earlier ones came to."""
        before = [0] * len(lines)
        for component in self._components:
            bases = [lines[n] + (before[n] if component.compound else 0) for n in component.hits]
            for n, tax in zip(component.hits, self._of_lines(component, bases), strict=True):
                before[n] += tax
        return sum(before)

    def _of_lines(self, component: _Component, bases: Sequence[int]) -> list[int]:
        if self._settings.tax_per is TaxPer.LINE:
            return [self._tax(component, base) for base in bases]
        return share_units(self._tax(component, sum(bases)), bases, component.rate)


def _component(tax: Tax, classes: Sequence[str]) -> _Component:
    hits = tuple(n for n, tax_class in enumerate(classes) if tax_class in tax.applies_to)
    return _Component(hits, tax.rate.as_integer_ratio(), tax.compound)
