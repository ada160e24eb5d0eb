"""Of plans that cost the same, one with a longer remnant and fewer set-ups.

Pieces move between bars, and short ones change places with longer ones, so that what is left over
gathers on one bar. Then two bars that are each cut like no other are shared out anew, so that one
of them is cut like a third. The bars bought stay the same, so the cost does.

Guarantee: the same pieces on the same bars of stock, the longest remnant not shorter than before
and, at that remnant, no more set-ups. It is the best found by moves of one piece, one pair or two
bars, not proven best; ``order`` proves what it can.
"""

from collections import Counter
from itertools import combinations

from service.domain.cutting.heuristics import Fits
from service.domain.cutting.scale import Job, Load, Pattern

MOVES = 60
WIDTH = 12  # bits of a count, one of them a guard that shows a count below zero
TRIES = 1_500  # ways to share two bars out


def tidied(job: Job, loads: list[Load], fits: Fits | None) -> list[Load]:
    """Gather the remnant on one bar, then cut more bars alike (on plain stock)."""
    bars = gather_remnant(job, loads, fits)
    return bars if fits else cut_alike(job, bars)


def gather_remnant(job: Job, loads: list[Load], fits: Fits | None) -> list[Load]:
    """Lengthen the longest remnant by moving pieces off the bar that has it."""
    bars = sorted(loads)
    rests = [job.rooms[s] - sum([job.takes[k] for k in pattern]) for s, pattern in bars]
    target = max(range(len(bars)), key=lambda at: (rests[at], -at))
    for _ in range(MOVES):
        move = _best_move(job, bars, rests, target, fits)
        if move is None:
            break
        other, given, taken = move
        bars[target] = (bars[target][0], _exchange(bars[target][1], given, taken))
        bars[other] = (bars[other][0], _exchange(bars[other][1], taken, given))
        gain = job.takes[given] - (job.takes[taken] if taken is not None else 0)
        rests[target] += gain
        rests[other] -= gain
    return bars


Move = tuple[int, int, int | None]  # the other bar, the kind it is given, the kind it gives back


def _best_move(
    job: Job, bars: list[Load], rests: list[int], target: int, fits: Fits | None
) -> Move | None:
    """Find the move that lengthens the remnant most; the last piece of a bar stays."""
    takes = job.takes
    stock, pattern = bars[target]
    best: Move | None = None
    most = 0
    seen: set[tuple[Load, int]] = set()
    for other, load in enumerate(bars):
        if other == target or rests[other] == 0 or (load, rests[other]) in seen:
            continue
        seen.add((load, rests[other]))
        for given in dict.fromkeys(pattern):
            alone = (None,) if len(pattern) > 1 else ()
            for taken in (*alone, *dict.fromkeys(load[1])):
                gain = takes[given] - (takes[taken] if taken is not None else 0)
                if most < gain <= rests[other] and (
                    fits is None
                    or (
                        fits(load[0], _exchange(load[1], taken, given))
                        and fits(stock, _exchange(pattern, given, taken))
                    )
                ):
                    best, most = (other, given, taken), gain
    return best


def _exchange(pattern: Pattern, out: int | None, into: int | None) -> Pattern:
    kinds = list(pattern)
    if out is not None:
        kinds.remove(out)
    if into is not None:
        kinds.append(into)
    return tuple(sorted(kinds))


def cut_alike(job: Job, loads: list[Load]) -> list[Load]:
    """Share pairs of bars out anew on plain stock, so that fewer are cut like no other."""
    tries = 0
    alike = Counter(loads)
    kept = max(alike, key=lambda load: (_rest(job, load), load))
    packed = {load: _packed(load[1]) for load in alike}
    guards = sum([1 << (WIDTH * kind + WIDTH - 1) for kind in range(len(job.takes))])
    while len(alike) > 2:
        for pair in combinations([load for load in alike if alike[load] == 1 and load != kept], 2):
            both = (packed[pair[0]] + packed[pair[1]]) | guards
            tries += len(alike)
            for third in alike:
                left = both - packed[third]
                if third not in pair and left & guards == guards and left != guards:
                    other = _beside(job, pair, third)
                    if other is not None:
                        break
            else:
                if tries > TRIES:
                    return sorted(alike.elements())
                continue
            alike -= Counter(pair)
            alike.update((third, other))
            packed[other] = _packed(other[1])
            break
        else:
            break
    return sorted(alike.elements())


def _beside(job: Job, pair: tuple[Load, Load], third: Load) -> Load | None:
    """Give the bar that is left of two where one of them is cut like a third, if it fits."""
    for bar, other in (pair, pair[::-1]):
        if bar[0] == third[0]:
            left = tuple(sorted((Counter(bar[1] + other[1]) - Counter(third[1])).elements()))
            load = (other[0], left)
            if _rest(job, load) >= 0:
                return load
    return None


def _rest(job: Job, load: Load) -> int:
    return job.rooms[load[0]] - sum([job.takes[kind] for kind in load[1]])


def _packed(pattern: Pattern) -> int:
    return sum([1 << (WIDTH * kind) for kind in pattern])
