"""Good plans fast: first fit decreasing, and bars filled to the brim.

Guarantee: every plan returned cuts each piece exactly once on stock within its limits. Nothing is
said about its cost; ``bounds`` and ``exact`` do that.
"""

from collections.abc import Callable

from service.domain.cutting.scale import Job, Load, Pattern

FILLS = (20, 60)  # fillings tried per bar, in turn

Fits = Callable[[int, Pattern], bool]


def cost_of(job: Job, loads: list[Load]) -> int:
    """Give what the bars of a plan cost, in steps of the job."""
    return sum([job.costs[stock] for stock, _ in loads])


def good_plans(job: Job, fits: Fits | None) -> list[list[Load]]:
    """Give a few plans of different making, none where the limits forbid all of them."""
    plans = [first_fit(job, stock, fits) for stock in range(len(job.rooms))]
    if fits is None:
        plans += [fill(job, most) for most in FILLS]
    return [plan for plan in plans if plan is not None]


def first_plan(job: Job, fits: Fits | None) -> list[Load] | None:
    """Give one plan soon: of the stock that costs least for its room."""
    stock = min(range(len(job.rooms)), key=lambda s: job.costs[s] / job.rooms[s])
    return first_fit(job, stock, fits)


def first_fit(job: Job, stock: int, fits: Fits | None) -> list[Load] | None:
    """Cut longest first, each piece from the first bar with room; open bars of one stock.

    Where the piece does not fit that stock, or none is left, the roomiest other one is opened.

    Returns:
        The loads, each on the cheapest stock that holds it; None where the limits forbid it.
    """
    left = list(job.limits)
    order = [stock, *sorted(range(len(job.rooms)), key=lambda s: (-job.rooms[s], job.costs[s]))]
    loads: list[Load] = []
    rests: list[int] = []
    for kind, (take, count) in enumerate(zip(job.takes, job.counts, strict=True)):
        for at, rest in enumerate(rests):
            if take <= rest and count:
                placed = _more(loads[at], kind, min(count, rest // take), fits)
                if placed:
                    loads[at] = (loads[at][0], loads[at][1] + (kind,) * placed)
                    rests[at] -= placed * take
                    count -= placed
        while count:
            new = _open(job, kind, order, left, fits)
            if new is None:
                return None
            left[new] -= 1
            placed = _more((new, ()), kind, min(count, job.rooms[new] // take), fits)
            loads.append((new, (kind,) * placed))
            rests.append(job.rooms[new] - placed * take)
            count -= placed
    return downsize(job, loads, fits)


def _open(job: Job, kind: int, order: list[int], left: list[int], fits: Fits | None) -> int | None:
    """Pick the first stock of which a bar is left that holds the kind."""
    for stock in order:
        roomy = left[stock] and job.takes[kind] <= job.rooms[stock]
        if roomy and (fits is None or fits(stock, (kind,))):
            return stock
    return None


def _more(load: Load, kind: int, most: int, fits: Fits | None) -> int:
    """Count how many more of a kind a bar takes, of those that its room allows."""
    if fits is None:
        return most
    stock, pattern = load
    return next((n for n in range(most, 0, -1) if fits(stock, pattern + (kind,) * n)), 0)


def fill(job: Job, most: int) -> list[Load] | None:
    """Cut bar after bar, each with the longest piece left and what fills the bar best.

    Of the stocks the one is taken that costs least for what it holds, and cut alike as often as
    the pieces allow. (Minimum bin slack, after Gupta and Ho 1999.)

    Args:
        job: The scaled job, of plain stock.
        most: Fillings tried per bar.

    Returns:
        The loads; None where the limits forbid it.
    """
    takes, rooms, costs = job.takes, job.rooms, job.costs
    left, bars = list(job.counts), list(job.limits)
    loads: list[Load] = []
    first = 0
    while first < len(left):
        if not left[first]:
            first += 1
            continue
        best: tuple[float, int, Pattern] | None = None
        for stock in range(len(rooms)):
            if bars[stock] and takes[first] <= rooms[stock]:
                unused, pattern = _fullest(takes, left, first, rooms[stock], most)
                rate = costs[stock] / (rooms[stock] - unused)
                if best is None or (rate, -rooms[stock]) < (best[0], -rooms[best[1]]):
                    best = (rate, stock, pattern)
        if best is None:
            return None
        _, stock, pattern = best
        alike = min(bars[stock], *(left[kind] // pattern.count(kind) for kind in set(pattern)))
        bars[stock] -= alike
        for kind in pattern:
            left[kind] -= alike
        loads += [(stock, pattern)] * alike
    return downsize(job, loads, None)


def _fullest(
    takes: tuple[int, ...], left: list[int], first: int, room: int, most: int
) -> tuple[int, Pattern]:
    """Fill a bar that holds the first kind, longest first; give what is unused and the pattern."""
    kinds = [kind for kind in range(first, len(takes)) if left[kind]]
    end = len(kinds)
    shortest = takes[kinds[-1]]
    best_rest = room + 1
    best: tuple[int, ...] = ()
    rest = room - takes[first]
    picked = [0]
    at = 0 if left[first] > 1 else 1
    while True:
        while at < end and rest >= shortest:
            kind = kinds[at]
            if takes[kind] <= rest and picked.count(at) < left[kind]:
                picked.append(at)
                rest -= takes[kind]
            else:
                at += 1
        most -= 1
        if rest < best_rest:
            best_rest, best = rest, tuple(picked)
        if not rest or most <= 0 or len(picked) == 1:
            break
        at = picked.pop()
        rest += takes[kinds[at]]
        at += 1
    return best_rest, tuple(kinds[at] for at in best)


def downsize(job: Job, loads: list[Load], fits: Fits | None) -> list[Load]:
    """Move each bar's pieces to the cheapest stock that holds them."""
    left = list(job.limits)
    for stock, _ in loads:
        left[stock] -= 1
    takes, rooms = job.takes, job.rooms
    cheap = sorted(range(len(rooms)), key=lambda s: (job.costs[s], -rooms[s]))
    holders: dict[Pattern, list[int]] = {}
    swapped = []
    for stock, pattern in sorted(loads):
        if pattern not in holders:
            load = sum([takes[kind] for kind in pattern])
            holders[pattern] = [
                s for s in cheap if load <= rooms[s] and (fits is None or fits(s, pattern))
            ]
        best = next(s for s in holders[pattern] if s == stock or left[s])
        left[stock] += 1
        left[best] -= 1
        swapped.append((best, pattern))
    return swapped
