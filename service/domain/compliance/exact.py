"""Exact numbers for judging a limit: fractions, square roots, and values known between bounds."""

from collections.abc import Sequence
from fractions import Fraction
from math import floor, isqrt

from service.domain.compliance.findings import Comparison, Limit
from service.domain.record import record

# How a value may stand to the one limit of a comparison: below it (-1), at it (0), above it (1).
# Members are looked up here once: by name each takes as long as a comparison (Python 3.11).
_SIGNS = {
    Comparison.AT_LEAST: (0, 1),
    Comparison.AT_MOST: (-1, 0),
    Comparison.MORE_THAN: (1,),
    Comparison.LESS_THAN: (-1,),
}
_LEAST = frozenset({Comparison.AT_LEAST, Comparison.MORE_THAN})
_MOST = frozenset({Comparison.AT_MOST, Comparison.LESS_THAN})
_WITHIN, _REQUIRED = Comparison.WITHIN, Comparison.REQUIRED


@record(frozen=True, slots=True)
class Surd:
    """A rational number plus or minus the square root of another.

    Attributes:
        rational: The part without the root.
        sign: 1 or -1, before the root.
        square: What stands under the root, not negative.
    """

    rational: int | Fraction
    sign: int
    square: int | Fraction


Exact = int | Fraction | Surd


@record(frozen=True, slots=True)
class Span:
    """A value that is not known, only that it lies between two bounds, both possible.

    Attributes:
        low: Least possible value.
        high: Greatest possible value, or None if nothing bounds it.
    """

    low: Exact
    high: Exact | None = None


Measured = Exact | Span


def compare_exactly(value: Exact, limit: int) -> int:
    """Say whether a value is below (-1), at (0) or above (1) a whole number, without rounding.

    Example:
        >>> root_of_four = Surd(Fraction(0), 1, Fraction(4))
        >>> compare_exactly(Fraction(1, 3), 0), compare_exactly(root_of_four, 2)
        (1, 0)
    """
    if type(value) is int:  # nearly every length; the quickest of the three
        return (value > limit) - (value < limit)
    if not isinstance(value, Surd):
        over = value.numerator - limit * value.denominator
        return (over > 0) - (over < 0)
    rest = limit - value.rational
    if rest * value.sign < 0:
        return value.sign
    return value.sign * ((value.square > rest * rest) - (value.square < rest * rest))


def round_down(value: Exact) -> int:
    """Give the greatest whole number that is not above the value.

    Example:
        >>> round_down(Surd(Fraction(10), -1, Fraction(2)))
        8
    """
    if not isinstance(value, Surd):
        return floor(value)
    whole = floor(value.rational) + value.sign * isqrt(floor(value.square))
    while compare_exactly(value, whole) < 0:
        whole -= 1
    while compare_exactly(value, whole + 1) >= 0:
        whole += 1
    return whole


def round_from_limits(value: Exact, limits: Sequence[Limit]) -> int:
    """Round to a whole number that stands to every limit as the exact value does."""
    if type(value) is int:
        return value
    whole = round_down(value)
    above_all = all(compare_exactly(value, limit.base) > 0 for limit in limits)
    return whole if compare_exactly(value, whole) == 0 or not above_all else whole + 1


def holds(compare: Comparison, value: Measured, limits: Sequence[Limit]) -> bool | None:
    """Say whether a value stands to its limits as enacted; None where its bounds do not decide."""
    if not isinstance(value, Span):
        return _holds_exactly(compare, value, limits)
    answers = {
        _holds_exactly(compare, bound, limits)
        for bound in (value.low, value.high)
        if bound is not None
    }
    if value.high is None:
        answers.add(_holds_at_infinity(compare))
    if len(answers) == 2:
        return None
    answer = answers.pop()
    # Both ends outside a window or band may still have it between them.
    if (compare, answer) in ((Comparison.WITHIN, False), (Comparison.OUTSIDE, True)):
        above = compare_exactly(value.low, limits[1].base) > 0
        below = value.high is not None and compare_exactly(value.high, limits[0].base) < 0
        return answer if above or below else None
    return answer


def _holds_at_infinity(compare: Comparison) -> bool:
    return compare in (Comparison.AT_LEAST, Comparison.MORE_THAN, Comparison.OUTSIDE)


def _holds_exactly(compare: Comparison, value: Exact, limits: Sequence[Limit]) -> bool:
    if compare is _REQUIRED:
        return compare_exactly(value, 0) > 0
    first = compare_exactly(value, limits[0].base)
    signs = _SIGNS.get(compare)
    if signs is not None:
        return first in signs
    second = compare_exactly(value, limits[1].base)
    return first >= 0 >= second if compare is _WITHIN else first < 0 or second > 0


def margin_of(compare: Comparison, measured: int, limits: Sequence[Limit]) -> int | None:
    """Say how far inside its limits a whole measured value lies; negative is outside."""
    if compare is _REQUIRED:
        return None
    first = limits[0].base
    if compare in _LEAST:
        return measured - first
    if compare in _MOST:
        return first - measured
    inside, beyond = measured - first, limits[1].base - measured
    return min(inside, beyond) if compare is _WITHIN else max(-inside, -beyond)
