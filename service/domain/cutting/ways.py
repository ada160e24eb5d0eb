"""Every way to cut a bar of a small job, and what the pieces are worth beside them.

A way is a pattern on the cheapest stock that holds it. Values put on the pieces, so that no way is
worth more than it costs, bound what pieces still cost that are not cut yet (weak duality of the
covering problem).

Guarantee: ``ways_of`` gives every pattern once, or more than ``MOST_PATTERNS``; by ``values_of`` no
way is worth more than it costs.
"""

from bisect import bisect_left
from collections import Counter

from service.domain.cutting.heuristics import Fits
from service.domain.cutting.scale import Job, Load, Pattern

MOST_PATTERNS = 1_500
# Values are whole numbers of this part of a cost step.
PARTS = 1 << 20

# Cost of a bar, what its pieces take, how it is cut, and the number of the way without its last
# piece, -1 for none.
Way = tuple[int, int, Load, int]


def ways_of(job: Job, fits: Fits | None) -> list[Way]:
    """Give every pattern with its cheapest stock, up to one more than are wanted.

    A pattern is made of a shorter one by adding a piece, not longer than its last; what the
    shorter one did not fit, the longer one does not either.
    """
    cheap = sorted(range(len(job.rooms)), key=lambda s: (job.costs[s], -job.rooms[s]))
    rooms, costs = [job.rooms[s] for s in cheap], [job.costs[s] for s in cheap]
    takes, counts, kinds, room = job.takes, job.counts, len(job.takes), max(rooms)
    shrinking = [-take for take in takes]
    ways: list[Way] = []
    places: list[int] = []  # of the stock among the cheap ones, per way
    pattern: Pattern = ()
    before, load, place, first = -1, 0, 0, 0
    while True:
        for kind in range(max(first, bisect_left(shrinking, load - room)), kinds):
            longer, taken = (*pattern, kind), load + takes[kind]
            for at in range(place, len(cheap)):
                if taken <= rooms[at] and (fits is None or fits(cheap[at], longer)):
                    ways.append((costs[at], taken, (cheap[at], longer), before))
                    places.append(at)
                    break
        before += 1
        if before >= len(ways) or len(ways) > MOST_PATTERNS:
            return ways
        _, load, (_, pattern), _ = ways[before]
        place, last = places[before], pattern[-1]
        first = last if counts[last] > 1 and pattern.count(last) < counts[last] else last + 1


def values_of(job: Job, ways: list[Way]) -> tuple[list[int], list[int]]:
    """Put values on the kinds that no pattern outweighs, then raise each while it may be.

    A pattern first shares its cost among its pieces by length; a kind takes its least share.

    Returns:
        The value per kind, and per way what it costs more than its pieces are worth.
    """
    values = _least_shares(job, ways)
    holders: list[list[int]] = [[] for _ in values]
    worths: list[int] = []
    for at, (_, _, (_, pattern), before) in enumerate(ways):
        worths.append((worths[before] if before >= 0 else 0) + values[pattern[-1]])
        for kind in pattern:
            holders[kind].append(at)
    left = [way[0] * PARTS - worth for way, worth in zip(ways, worths, strict=True)]
    for kind in sorted(range(len(values)), key=lambda kind: -job.counts[kind]):
        copies = Counter(holders[kind]) if job.counts[kind] > 1 else dict.fromkeys(holders[kind], 1)
        raised = min([left[at] // n for at, n in copies.items()])
        if raised:
            values[kind] += raised
            for at, n in copies.items():
                left[at] -= raised * n
    return values, left


def _least_shares(job: Job, ways: list[Way]) -> list[int]:
    """Give each kind its share by length in the cheapest pattern for its length that holds it."""
    shares: dict[int, int] = {}
    for cost, length, (_, pattern), _ in sorted(ways, key=lambda way: way[0] / way[1]):
        for kind in pattern:
            if kind not in shares:
                shares[kind] = cost * PARTS * job.takes[kind] // length
        if len(shares) == len(job.takes):
            break
    return [shares[kind] for kind in range(len(job.takes))]
