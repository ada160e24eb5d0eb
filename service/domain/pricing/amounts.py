"""Rounding and sharing out, exact to the smallest unit of a currency.

An amount is rounded once, where a function of this package says so; what is shared out adds up to
the whole. Sharing is by largest remainder (Hamilton's method): everyone gets the whole units of
the exact share, and the units left go to the largest remainders, the earlier one at a tie.
"""

from collections.abc import Iterable, Sequence
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Context, Decimal
from fractions import Fraction

from service.domain.money import Money, minor_unit, zero
from service.domain.pricing.settings import Half

# Wide enough that every product of a quote is exact before it is rounded once.
EXACT = Context(prec=100)
_WAYS = {Half.UP: ROUND_HALF_UP, Half.EVEN: ROUND_HALF_EVEN}


def rounded(amount: Decimal, step: Decimal, half: Half) -> Decimal:
    """Round an exact amount to a power of ten, such as the minor unit of a currency.

    Example:
        >>> rounded(Decimal("0.125"), Decimal("0.01"), Half.EVEN)
        Decimal('0.12')
    """
    return amount.quantize(step, _WAYS[half], EXACT)


def rounded_ratio(amount: Fraction, step: Decimal, half: Half) -> Decimal:
    """Round an exact ratio to a multiple of any step.

    Example:
        >>> rounded_ratio(Fraction(1, 3), Decimal("0.05"), Half.UP)
        Decimal('0.35')
    """
    units = amount / Fraction(step)
    whole = units // 1
    rest = units - whole
    up = rest > Fraction(1, 2) or (rest == Fraction(1, 2) and (half is Half.UP or whole % 2 == 1))
    return EXACT.multiply(Decimal(whole + up), step)


def to_money(amount: Decimal, currency: str, half: Half) -> Money:
    """Round an exact amount to the minor unit of its currency."""
    return Money(rounded(amount, minor_unit(currency), half), currency)


def total(amounts: Iterable[Money], currency: str) -> Money:
    """Add amounts, printed with the currency's decimals even when there are none to add."""
    start = zero(currency).rounded().amount
    return Money(sum((money.amount for money in amounts), start), currency)


def share_out(whole: Decimal, weights: Sequence[Decimal], step: Decimal) -> list[Decimal]:
    """Divide a rounded amount in proportion to weights, by largest remainder.

    Args:
        whole: A multiple of the step, zero or more.
        weights: Zero or more each, and not all of them zero unless the whole is.
        step: Smallest unit.

    Returns:
        Multiples of the step that add up to the whole; none is a step from its exact share.

    Example:
        >>> share_out(Decimal("0.10"), [Decimal(1)] * 3, Decimal("0.01"))
        [Decimal('0.04'), Decimal('0.03'), Decimal('0.03')]
    """
    parts = [Fraction(weight) for weight in weights]
    each = Fraction(whole) / (sum(parts, Fraction(0)) or 1)
    return settle(whole, [each * part for part in parts], step)


def settle(whole: Decimal, exact: Sequence[Fraction], step: Decimal) -> list[Decimal]:
    """Round exact shares to the step so that they add up to a rounded whole.

    Args:
        whole: A multiple of the step, less than one from the sum of the shares.
        exact: The shares.
        step: Smallest unit.
    """
    units = [share / Fraction(step) for share in exact]
    floors = [share // 1 for share in units]
    left = int(Fraction(whole) / Fraction(step)) - sum(floors)
    ranked = sorted(range(len(units)), key=lambda n: floors[n] - units[n])
    for n in ranked[:left]:
        floors[n] += 1
    return [EXACT.multiply(Decimal(share), step) for share in floors]
