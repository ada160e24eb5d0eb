"""Of plans that cost the same, one with a more useful remnant and fewer set-ups.

Pieces move between bars, and short ones change places with longer ones, so that what is left over
gathers on one bar. The bars bought stay the same, so the cost does.

Guarantee: the same pieces on the same bars of stock, the longest remnant not shorter than before.
It is the best found by moves of one piece or one pair, not proven longest.
"""

from service.domain.cutting.heuristics import Fits
from service.domain.cutting.scale import Job, Load, Pattern

MOVES = 60


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
