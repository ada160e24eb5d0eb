"""Requirements on how many bars of each stock a plan uses, stronger than the linear problem's.

Give every piece a small whole value, and let ``V[s]`` be the most value of a pattern on stock
``s``. Then ``sum(V[s] * bars[s])`` is at least the value of all pieces, ``D``, and dividing by any
``q`` and rounding up both sides keeps it true, because the numbers of bars are whole::

    sum(ceil(V[s] / q) * bars[s]) >= ceil(D / q)

(Gomory 1958, Chvatal 1973.) Values proportional to the duals, coarsely rounded, give requirements
that the linear solution breaks.

Guarantee: every plan meets every requirement given.
"""

from collections.abc import Sequence

import numpy as np

from service.domain.cutting.catalogue import Whole
from service.domain.cutting.patterns import Patterns

Requirement = tuple[tuple[int, ...], int]  # worth of a bar per stock, least worth of all bars

FINENESS = ((20, 30), (80, 100))  # finest value of the dearest piece, and divisors, in turn
AT_ONCE = 3
BROKEN = 1e-3


def broken(
    patterns: Patterns, duals: Sequence[int], counts: Sequence[int], used: Sequence[float]
) -> list[Requirement]:
    """Give the requirements most broken by numbers of bars that are not whole.

    Args:
        patterns: Patterns of the job.
        duals: Per kind: what a piece is worth, in any unit.
        counts: Per kind: how many pieces.
        used: Per stock: bars of the linear solution.
    """
    for grades, divisors in FINENESS:
        found = _broken(
            patterns, _graded(duals, min(grades, patterns.grades)), divisors, counts, used
        )
        if found:
            return found
    return []


def _broken(
    patterns: Patterns,
    values: Whole,
    most: int,
    counts: Sequence[int],
    used: Sequence[float],
) -> list[Requirement]:
    if not len(values):
        return []
    mosts = patterns.mosts(values)
    reached = values @ np.array(counts, dtype=np.int64)
    divisors = np.arange(1, min(int(mosts.max()), most) + 1)
    worths = -(-mosts // divisors[:, None, None])
    leasts = -(-reached // divisors[:, None])
    short = leasts - worths @ np.array(used)
    short /= np.sqrt((worths**2).sum(axis=2)) + 1e-9
    found: dict[Requirement, float] = {}
    for divisor, grade in np.argwhere(short > BROKEN):
        worth = tuple(int(worth) for worth in worths[divisor, grade])
        found[worth, int(leasts[divisor, grade])] = float(short[divisor, grade])
    return sorted(found, key=lambda requirement: (-found[requirement], requirement))[:AT_ONCE]


def _graded(duals: Sequence[int], grades: int) -> Whole:
    """Round the duals to whole values, the dearest to 1, 2, ... in turn."""
    dearest = max(duals)
    if dearest <= 0:
        return np.zeros((0, len(duals)), dtype=np.int64)
    shares = np.array(duals, dtype=np.float64) / dearest
    scaled = np.arange(1, grades + 1)[:, None] * shares
    both = np.concatenate([np.floor(scaled + 1e-9), np.floor(scaled + 0.5)])
    return np.unique(both, axis=0).astype(np.int64)
