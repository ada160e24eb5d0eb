"""Taxes on lines: each component on each line's net, rounded where it is printed.

A component is rounded half up to the minor unit on every line, and totals are sums of those
amounts, so that a reader who adds up the column finds the total. Tax computed on the whole
document may differ by a few minor units; both ways are in use.

Source: rounding tax per line is allowed by the Streamlined Sales and Use Tax Agreement, section
324 (as enacted in R.I. Gen. Laws 44-18.1-25: "on an item or an invoice basis"), and its rule "up
to the next cent whenever the third decimal place is greater than four" is half up. A seller who
must round state and local tax together gives them as one component.
"""

from collections.abc import Iterable

from service.domain.money import Money, zero
from service.domain.pricing.lines import LineTax
from service.domain.pricing.price_table import Tax


def line_taxes(net: Money, kind: str, taxes: Iterable[Tax]) -> tuple[LineTax, ...]:
    """Compute every tax component that applies to a line.

    Args:
        net: Net of the line, rounded.
        kind: "goods" or "labour".
        taxes: Components in the order they are printed.

    Example:
        >>> from decimal import Decimal
        >>> sales = Tax("Sales tax", Decimal("0.0625"), frozenset({"goods"}))
        >>> line_taxes(Money(Decimal("1.20"), "USD"), "goods", [sales])[0].amount
        Money(amount=Decimal('0.08'), currency='USD')
    """
    return tuple(
        LineTax(tax.name, tax.rate, (net * tax.rate).rounded())
        for tax in taxes
        if kind in tax.applies_to
    )


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
