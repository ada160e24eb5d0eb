"""Lengths as whole nanometres: exact sums, counts and comparisons.

A length on a record, or crossing a module, is an ``int`` with the suffix ``_nm``. Both 1/64 in
(396 875 nm) and 1 mm (1 000 000 nm) are whole numbers of nanometres, and 2**53 nm is 9 007 km, so
every length of a deck survives a JSON number. Trigonometry works in float millimetres inside one
function, which returns ``snap_mm``.

Source: 1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
"""

import math
from fractions import Fraction
from itertools import pairwise

MICROMETRE = 1_000
MILLIMETRE = 1_000_000
METRE = 1_000 * MILLIMETRE
INCH = 25_400_000
FOOT = 12 * INCH


def inches(whole: int, numerator: int = 0, denominator: int = 1) -> int:
    """Give whole inches and a fraction of an inch as nanometres.

    Raises:
        ValueError: The length is finer than one nanometre.

    Example:
        >>> inches(5, 1, 2)
        139700000
    """
    exact = (whole + Fraction(numerator, denominator)) * INCH
    if exact.denominator != 1:
        raise ValueError(f"{whole} {numerator}/{denominator} in is finer than the 1 nm grid")
    return int(exact)


def millimetres(whole: int) -> int:
    """Give whole millimetres as nanometres."""
    return whole * MILLIMETRE


def mm_of(length_nm: int) -> float:
    """Give a length as float millimetres, for geometry inside one function. [mm]"""
    return length_nm / MILLIMETRE


def snap_mm(length_mm: float) -> int:
    """Bring float millimetres back to the nanometre grid, half to even.

    Raises:
        ValueError: The length is not finite.

    Example:
        >>> snap_mm(25.4)
        25400000
    """
    if not math.isfinite(length_mm):
        raise ValueError(f"{length_mm} is not a length")
    return round(length_mm * MILLIMETRE)


def split_evenly(total_nm: int, parts: int) -> tuple[int, ...]:
    """Divide a length into equal parts that add up to the whole.

    Parts differ by at most one nanometre; the longer ones are spread along the length.

    Args:
        total_nm: Length to divide. [nm]
        parts: How many parts, at least one.

    Raises:
        ValueError: Fewer than one part is asked for.

    Example:
        >>> split_evenly(10, 3)
        (3, 4, 3)
    """
    if parts < 1:
        raise ValueError(f"a length cannot be divided into {parts} parts")
    marks = [(2 * total_nm * i + parts) // (2 * parts) for i in range(parts + 1)]
    return tuple(right - left for left, right in pairwise(marks))
