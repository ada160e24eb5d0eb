"""Taxes: each component on each line, rounded per line or once on the document.

Per line, a component is rounded on every line and its total is the sum of those amounts. Per
document, it is reckoned on the sum of the lines it applies to, rounded once, and shared out over
those lines by largest remainder; the column adds up either way, and the two may differ by a few
minor units. Half goes up unless it is declared to go to even.

Where prices hold the tax, it is taken out of the line: of components with the effective rates a
and b, a holds the part a / (1 + a + b). Each component is rounded by itself and the net is what is
left, so net and taxes add up to the price asked.

A compound component is reckoned on the net and the components before it.

Source: per line or per invoice at the seller's choice: Streamlined Sales and Use Tax Agreement,
section 324 (R.I. Gen. Laws 44-18.1-25, "on an item or an invoice basis", and "up to the next cent
whenever the third decimal place is greater than four", which is half up); A New Tax System (Goods
and Services Tax) Act 1999 (Australia), section 9-90 (2). Compound: the Quebec sales tax until
2012, on the price with the federal tax.
"""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

from service.domain.money import Money, minor_unit, zero
from service.domain.pricing.amounts import EXACT, rounded, rounded_ratio, settle
from service.domain.pricing.lines import LineTax
from service.domain.pricing.settings import PricingSettings, Tax, TaxPer
from service.domain.record import record


@record(frozen=True, slots=True)
class Taxable:
    """What a line comes to after discounts, taxes included or not, and its tax class."""

    amount: Decimal
    tax_class: str


def taxes_on(
    lines: Sequence[Taxable], settings: PricingSettings, currency: str
) -> list[tuple[LineTax, ...]]:
    """Reckon every component on every line it applies to, in the order of the settings.

    Args:
        lines: Rounded amounts.
        settings: Components, whether the amounts hold them, and how they are rounded.
        currency: Of the amounts.

    Example:
        >>> sales = Tax("Sales tax", Decimal("0.0625"), frozenset({"goods"}))
        >>> line = Taxable(Decimal("1.20"), "goods")
        >>> taxes_on([line], PricingSettings(None, (sales,)), "USD")[0][0].amount
        Money(amount=Decimal('0.08'), currency='USD')
    """
    step = minor_unit(currency)
    parts = _parts_within(lines, settings)
    found: list[list[LineTax]] = [[] for _ in lines]
    for number, tax in enumerate(settings.taxes):
        hit = [n for n, line in enumerate(lines) if line.tax_class in tax.applies_to]
        if parts:
            held = [Fraction(lines[n].amount) * parts[lines[n].tax_class][number] for n in hit]
            amounts = _round_parts(held, step, settings)
        else:
            due = [EXACT.multiply(tax.rate, _base(lines[n], found[n], tax)) for n in hit]
            amounts = _round(due, step, settings)
        for n, amount in zip(hit, amounts, strict=True):
            found[n].append(LineTax(tax.name, tax.rate, Money(amount, currency)))
    return [tuple(components) for components in found]


def _base(line: Taxable, before: Iterable[LineTax], tax: Tax) -> Decimal:
    if not tax.compound:
        return line.amount
    return sum((component.amount.amount for component in before), line.amount)


def _round(due: Sequence[Decimal], step: Decimal, settings: PricingSettings) -> list[Decimal]:
    if settings.tax_per is TaxPer.LINE:
        return [rounded(amount, step, settings.half) for amount in due]
    return _round_parts([Fraction(amount) for amount in due], step, settings)


def _round_parts(
    exact: Sequence[Fraction], step: Decimal, settings: PricingSettings
) -> list[Decimal]:
    if settings.tax_per is TaxPer.LINE:
        return [rounded_ratio(amount, step, settings.half) for amount in exact]
    whole = rounded_ratio(sum(exact, Fraction(0)), step, settings.half)
    return settle(whole, exact, step)


def _parts_within(
    lines: Iterable[Taxable], settings: PricingSettings
) -> Mapping[str, list[Fraction]]:
    """Tell what part of a price that holds its taxes each component is, by tax class."""
    if not settings.tax_included:
        return {}
    parts = {}
    for tax_class in {line.tax_class for line in lines}:
        rates = [Fraction(rate) for rate in effective_rates(settings.taxes, tax_class)]
        parts[tax_class] = [rate / sum(rates, Fraction(1)) for rate in rates]
    return parts


def effective_rates(taxes: Iterable[Tax], tax_class: str) -> list[Decimal]:
    """Give what each component comes to as a part of the net, zero where it does not apply.

    Example:
        >>> every = frozenset({"goods"})
        >>> federal = Tax("federal", Decimal("0.05"), every)
        >>> quebec = Tax("Quebec", Decimal("0.095"), every, compound=True)
        >>> effective_rates([federal, quebec], "goods")[1]
        Decimal('0.09975')
    """
    rates: list[Decimal] = []
    for tax in taxes:
        if tax_class not in tax.applies_to:
            rates.append(Decimal(0))
            continue
        base = sum(rates, Decimal(1)) if tax.compound else Decimal(1)
        rates.append(EXACT.multiply(tax.rate, base))
    return rates


def total_taxes(
    of_lines: Iterable[Iterable[LineTax]], taxes: Iterable[Tax], currency: str
) -> tuple[LineTax, ...]:
    """Add up each component over the lines, in the order of the settings.

    A component that applies to no line is kept with an amount of zero.
    """
    totals = {(tax.name, tax.rate): zero(currency).rounded() for tax in taxes}
    for components in of_lines:
        for component in components:
            key = (component.name, component.rate)
            totals[key] = totals[key] + component.amount
    return tuple(LineTax(name, rate, amount) for (name, rate), amount in totals.items())
