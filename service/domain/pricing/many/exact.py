"""Whole numbers of 64 bits that never run over: rounding, adding up and sharing out, at once.

NumPy wraps silently round the end of 64 bits. Every product here is therefore held against a bound
that is worked out in Python's own whole numbers; a quote one of whose products may not fit is
noted as odd and its numbers are taken for nothing, and whoever asked prices it some other way.
Numbers are zero or more throughout.
"""

from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from service.domain.pricing.settings import Half

Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
Kind = TypeVar("Kind", bound=np.generic)

# A factor of two below the end, for the half that rounding adds.
MOST = 2**62
# Floats find which products are over; they err by far less than what is left out here.
_SURELY = float(2**61)


@dataclass(slots=True)
class Odd:
    """Which quotes of a chunk are to be priced one by one.

    Attributes:
        offsets: Where the lines of each quote begin, and the end of the last.
        quotes: True for the odd ones.
    """

    offsets: Ints
    quotes: Flags = field(init=False)

    def __post_init__(self) -> None:
        """Begin with none."""
        self.quotes = np.zeros(len(self.offsets) - 1, dtype=np.bool_)

    def lines(self, flags: Flags) -> None:
        """Note the quotes of lines."""
        self.quotes[np.searchsorted(self.offsets, np.flatnonzero(flags), side="right") - 1] = True


def highest(numbers: Ints) -> int:
    """Give the largest, zero where there is none."""
    return int(numbers.max()) if len(numbers) else 0


def over(first: Ints, second: Ints | int) -> Flags | None:
    """Tell which products may not fit, None where all do."""
    most = second if isinstance(second, int) else highest(second)
    if highest(first) * most < MOST:
        return None
    factors = float(second) if isinstance(second, int) else second.astype(np.float64)
    flags: Flags = first.astype(np.float64) * factors >= _SURELY
    return flags


def times(first: Ints, second: Ints | int, odd: Flags) -> Ints:
    """Multiply; what may not fit is zero and is flagged as odd.

    Args:
        first: Numbers.
        second: As many, or one for all.
        odd: As many; those that do not fit become true.
    """
    flags = over(first, second)
    if flags is None:
        product: Ints = first * second
        return product
    odd |= flags
    others = second if not isinstance(second, int) or second < MOST else 0
    return np.where(flags, 0, first) * np.where(flags, 0, others)


def ratio(amounts: Ints, one: Ints | int, half: Half) -> Ints:
    """Divide and round to whole numbers.

    Args:
        amounts: Below ``MOST``.
        one: What a whole is of; one or more, and below ``MOST``.
        half: Where a half goes.

    Example:
        >>> [int(n) for n in ratio(np.array([5, 7, 9]), 2, Half.EVEN)]
        [2, 4, 4]
    """
    down = one // 2
    nearest: Ints = (amounts + down) // one
    if half is Half.EVEN:
        tied = (nearest * one - down == amounts) & (one % 2 == 0)
        nearest -= tied & (nearest % 2 == 1)
    return nearest


def sums(numbers: Ints, offsets: Ints) -> Ints:
    """Add up the lines of each quote; the caller knows that every sum fits.

    Example:
        >>> [int(n) for n in sums(np.array([1, 2, 4]), np.array([0, 2, 2, 3]))]
        [3, 0, 4]
    """
    found = np.zeros(len(offsets) - 1, dtype=np.int64)
    filled = offsets[1:] > offsets[:-1]
    if filled.any():
        found[filled] = np.add.reduceat(numbers, offsets[:-1][filled])
    return found


def spread(of_quotes: NDArray[Kind], offsets: Ints) -> NDArray[Kind]:
    """Give every line what its quote has."""
    return np.repeat(of_quotes, offsets[1:] - offsets[:-1])


def topped_up(shares: Ints, rests: Ints, left: Ints, offsets: Ints) -> Ints:
    """Give the units left over in each quote to its largest remainders, the earlier at a tie.

    Args:
        shares: Of lines, rounded down.
        rests: What rounding down left of each, of one denominator in a quote.
        left: Units left over, no more than the lines of the quote.
        offsets: Where the lines of each quote begin, and the end of the last.
    """
    if not left.any():
        return shares
    counts = offsets[1:] - offsets[:-1]
    place = np.arange(len(shares), dtype=np.int64) - spread(offsets[:-1], offsets)
    bits = [int(n).bit_length() for n in (len(counts), highest(rests), highest(counts))]
    if sum(bits) <= 62:
        # One number for quote, falling remainder and place sorts many times faster than three.
        quote = spread(np.arange(len(counts), dtype=np.int64), offsets)
        keys = (quote << bits[1] | (1 << bits[1]) - 1 - rests) << bits[2] | place
        keys.sort()
        first = place < spread(left, offsets)
        lucky = (keys[first] & (1 << bits[2]) - 1) + spread(offsets[:-1], offsets)[first]
    else:
        quote = spread(np.arange(len(counts), dtype=np.int64), offsets)
        order = np.lexsort((-rests, quote))
        lucky = order[place < spread(left, offsets)]
    shares = shares.copy()
    shares[lucky] += 1
    return shares
