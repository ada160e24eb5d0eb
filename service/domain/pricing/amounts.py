"""Rounding and sharing out, exact to the smallest unit of a currency.

An amount is rounded once, where a function of this package says so; what is shared out adds up to
the whole. Sharing is by largest remainder (Hamilton's method): everyone gets the whole units of
the exact share, and the units left go to the largest remainders, the earlier one at a tie.
"""

from collections.abc import Iterable, Sequence
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Context, Decimal
from fractions import Fraction
from math import lcm

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
    units = share_units(int(EXACT.divide(whole, step)), _integers(weights))
    return [EXACT.multiply(share, step) for share in map(Decimal, units)]


def share_units(
    units: int, weights: Sequence[int], rate: tuple[int, int] | None = None
) -> list[int]:
    """Divide whole units in proportion to weights, by largest remainder.

    Args:
        units: Zero or more.
        weights: Zero or more each.
        rate: What the exact share is of a weight; left out, the shares add up to the units.

    Example:
        >>> share_units(10, [1, 1, 1])
        [4, 3, 3]
    """
    part, one = rate or (units, sum(weights) or 1)
    return _topped_up(units, [divmod(part * weight, one) for weight in weights])


def rounded_units(amount: int, one: int, half: Half) -> int:
    """Round a ratio of whole numbers, zero or more, to a whole number.

    Example:
        >>> rounded_units(5, 2, Half.UP), rounded_units(5, 2, Half.EVEN)
        (3, 2)
    """
    whole, rest = divmod(amount, one)
    return whole + (2 * rest > one or (2 * rest == one and (half is Half.UP or whole % 2 == 1)))


def settle(whole: Decimal, exact: Sequence[Fraction], step: Decimal) -> list[Decimal]:
    """Round exact shares to the step so that they add up to a rounded whole.

    Args:
        whole: A multiple of the step, less than one from the sum of the shares.
        exact: The shares.
        step: Smallest unit.
    """
    one, parts = step.as_integer_ratio()
    common = lcm(*(share.denominator for share in exact))
    pairs = [
        divmod(share.numerator * (common // share.denominator) * parts, one * common)
        for share in exact
    ]
    units = _topped_up(int(EXACT.divide(whole, step)), pairs)
    return [EXACT.multiply(share, step) for share in map(Decimal, units)]


def _topped_up(units: int, pairs: Sequence[tuple[int, int]]) -> list[int]:
    """Give the units left over to the largest remainders; all have one denominator."""
    shares = [floor for floor, _ in pairs]
    left = units - sum(shares)
    for n in sorted(range(len(pairs)), key=lambda n: -pairs[n][1])[:left]:
        shares[n] += 1
    return shares


def _integers(amounts: Sequence[Decimal]) -> list[int]:
    """Scale decimals by a power of ten to whole numbers."""
    places = max((-int(amount.as_tuple().exponent) for amount in amounts), default=0)
    return [int(amount.scaleb(places, EXACT)) for amount in amounts]
