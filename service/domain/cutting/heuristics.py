"""Good plans fast: first fit decreasing, bars swapped for cheaper stock.

Guarantee: every plan returned cuts each piece exactly once on stock within its limits. Nothing is
said about its cost; ``bounds`` and ``exact`` do that.
"""

from collections.abc import Callable
from itertools import chain

from service.domain.cutting.scale import Job, Load, Pattern

Fits = Callable[[int, Pattern], bool]


def cost_of(job: Job, loads: list[Load]) -> int:
    """Give what the bars of a plan cost, in steps of the job."""
    return sum(job.costs[stock] for stock, _ in loads)


def first_fit(job: Job, stock: int, fits: Fits) -> list[Load] | None:
    """Cut longest first, each piece from the first bar with room; open bars of one stock.

    Where the piece does not fit that stock, or none is left, the roomiest other one is opened.

    Returns:
        The loads, each on the cheapest stock that holds it; None where the limits forbid it.
    """
    left = list(job.limits)
    order = [stock, *sorted(range(len(job.rooms)), key=lambda s: (-job.rooms[s], job.costs[s]))]
    bars: list[tuple[int, list[int]]] = []
    for kind in chain.from_iterable([k] * n for k, n in enumerate(job.counts)):
        for opened, pattern in bars:
            if fits(opened, (*pattern, kind)):
                pattern.append(kind)
                break
        else:
            new = next((s for s in order if left[s] and fits(s, (kind,))), None)
            if new is None:
                return None
            left[new] -= 1
            bars.append((new, [kind]))
    return downsize(job, [(s, tuple(pattern)) for s, pattern in bars], fits)


def downsize(job: Job, loads: list[Load], fits: Fits) -> list[Load]:
    """Move each bar's pieces to the cheapest stock that holds them, dearest saving first."""
    left = list(job.limits)
    for stock, _ in loads:
        left[stock] -= 1
    cheap = sorted(range(len(job.rooms)), key=lambda s: (job.costs[s], -job.rooms[s]))
    swapped = []
    for stock, pattern in sorted(loads):
        best = next(
            s for s in cheap if s == stock or (left[s] and fits(s, pattern))
        )
        left[stock] += 1
        left[best] -= 1
        swapped.append((best, pattern))
    return swapped
