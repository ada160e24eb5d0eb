"""Of plans at the least price and number of bars: the longest remnant, then the fewest set-ups.

The whole order of preference is ``GOALS``. The remnant that counts is the longest one of a plan,
because one long rest serves another job and many short ones do not. A set-up is one way to cut a
bar: bars of one stock cut alike need the stops set once.

Small jobs go through ``few``: every bar that would leave more is tried as part of a plan at that
cost, longest remnant first; then plans of one, two, ... set-ups are searched for, one bar of which
leaves that remnant.

Guarantee: a goal is given as proven only where it and all before it are. What comes after is the
best found by ``tidy``, with no claim. The remnant and the set-ups are proven for

- a plan of one bar of plain stock, which no plan can better;
- a job that ``few`` takes, whose search came to its end within its steps.
"""

from service.domain.cutting.demand import CutDemand
from service.domain.cutting.few import Listed, Search, SmallJob
from service.domain.cutting.heuristics import cost_of
from service.domain.cutting.phase import PunchedBars
from service.domain.cutting.plan import GOALS, Goal
from service.domain.cutting.scale import Job, Load, usable_nm


class Remnants:
    """What bars of a job leave over."""

    def __init__(self, demand: CutDemand, job: Job, punched: PunchedBars | None) -> None:
        self._punched, self._kerf = punched, demand.kerf_nm
        self._ends = [usable_nm(demand, stock) for stock in job.stocks]
        self._takes = [kind[0].length_nm + demand.kerf_nm for kind in job.kinds]

    def of(self, load: Load) -> int:
        """Give what is left of a bar between its last cut and the trimmed end. [nm]."""
        stock, pattern = load
        if self._punched:
            return max(0, self._punched.room_after(stock, pattern) - self._kerf)
        return max(0, self._ends[stock] - sum([self._takes[kind] for kind in pattern]))

    def reaches(self, load: Load, least: int) -> bool:
        """Tell whether so much is left of a bar; what cannot be so is seldom reckoned out."""
        stock, pattern = load
        if self._punched and self._punched.most_room_after(stock, pattern) - self._kerf < least > 0:
            return False
        return self.of(load) >= least

    def longest(self, loads: list[Load]) -> int:
        """Give the longest remnant of a plan. [nm]."""
        return max(self.of(load) for load in set(loads))


def settles(job: Job, punched: bool) -> bool:
    """Tell whether remnant and set-ups can be settled by the patterns of a small job.

    On punched stock ``few`` may take the one of two stocks at one price that leaves less.
    """
    return not punched or len(set(job.costs)) == len(job.costs)


def settle_order(
    job: Job, loads: list[Load], remnants: Remnants, small: SmallJob, punched: bool
) -> tuple[list[Load], tuple[Goal, ...]]:
    """Better a plan in what comes after price and bars, and tell how far it is proven.

    Args:
        job: The job, scaled.
        loads: A plan of the least cost, bars counted.
        remnants: What its bars leave over.
        small: The job as ``few`` takes it.
        punched: Whether its stock is.
    """
    if len(loads) == 1 and not punched:
        return loads, GOALS
    search = small.search(cost_of(job, loads)) if settles(job, punched) else None
    if search is None:
        return loads, GOALS[:2]
    better = _longer(search, loads, remnants, cost_of(job, loads))
    if better is None:
        return loads, GOALS[:2]
    fewer = _fewer(job, search, better, remnants)
    return (better, GOALS[:3]) if fewer is None else (fewer, GOALS)


def _longer(search: Search, loads: list[Load], remnants: Remnants, cost: int) -> list[Load] | None:
    """Give a plan with the longest remnant; None where the search does not end."""
    known = remnants.longest(loads)
    longer = [
        (remnants.of(way[-1]), way)
        for way in search.within(cost)
        if remnants.reaches(way[-1], known + 1)
    ]
    for _, way in sorted(longer, key=_longest_first):
        plan = search.with_bar(way, cost)
        if plan is None or plan:
            return plan
    return loads


def _longest_first(one: tuple[int, Listed]) -> tuple[int, Listed]:
    return -one[0], one[1]


def _fewer(job: Job, search: Search, loads: list[Load], remnants: Remnants) -> list[Load] | None:
    """Give a plan with the fewest set-ups at its remnant; None where the search does not end.

    Every plan at that cost has as many bars. One that is cut like another holds a piece that is
    not the first of its kind, so that there are no more such bars than such pieces; and none where
    no bar that such a plan may hold can be cut twice.
    """
    repeats = sum(job.counts) - len(job.counts)
    fewest, cost = max(1, len(loads) - repeats), cost_of(job, loads)
    if fewest >= len(set(loads)) or (len(set(loads)) == len(loads) and not search.repeats(cost)):
        return loads
    longest = remnants.longest(loads)
    ways = [way[-1] for way in search.within(cost)]
    needed = {load for load in ways if remnants.reaches(load, longest)}
    for most in range(fewest, len(set(loads))):
        plan = search.of_set_ups(most, cost, needed)
        if plan is None or plan:
            return plan
    return loads
