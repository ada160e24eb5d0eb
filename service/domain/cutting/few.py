"""Jobs of few pieces, settled exactly in whole numbers without a solver.

Every pattern is written out and its cheapest stock found. Values put on the pieces, so that no
pattern is worth more than it costs, bound what the pieces left over must still cost (weak duality
of the covering problem); only costs that whole bars add up to are looked for. A depth-first search
covers the longest piece left by each pattern that the bound allows, and remembers what it has
settled.

Guarantee: where ``settle`` gives an answer, the plan it gives (or the plan it was given, if none
is cheaper) is the cheapest, bars counted. It gives none where patterns or steps are too many, or a
stock is limited below the count of pieces. ``order`` goes on from the same search.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from operator import itemgetter, mul

from service.domain.cutting.bounds import sums_of_bars
from service.domain.cutting.heuristics import Fits, cost_of
from service.domain.cutting.scale import Job, Load
from service.domain.cutting.ways import MOST_PATTERNS, PARTS, Way, values_of, ways_of

MOST_PIECES = 14
MOST_STEPS = 3_000
SPREAD_STEPS = 300  # of a search for so many set-ups, which is worth less than the rest
# Bits a count takes in a state, one of them a guard that shows a count below zero.
WIDTH = 5

Listed = tuple[int, int, int, int, Load]  # waste and cost of a way, its worth, packed copies, load


class SmallJob:
    """A job that may be small enough to settle; its patterns are written out once, if asked for."""

    def __init__(self, job: Job, fits: Fits | None) -> None:
        """Keep a job, scaled, and what tells whether a pattern lies on one bar of a stock."""
        self._job, self._fits = job, fits
        self._pieces = sum(job.counts)
        self.few = self._pieces <= MOST_PIECES and min(job.limits) >= self._pieces
        self._search: Search | None = None

    def settle(self, loads: list[Load]) -> list[Load] | None:
        """Find the cheapest plan.

        Args:
            loads: A plan that is known.

        Returns:
            The cheapest plan, proven; None where the job is too large to settle here.
        """
        cost = cost_of(self._job, loads)
        search = self.search(cost)
        if search is None or not search.run(cost):
            return None
        return search.plan or loads

    def search(self, cost: int) -> "Search | None":
        """Open the search, with all its steps to go; None where the job is too large.

        Args:
            cost: Cost of a plan that is known; it never rises from one call to the next.
        """
        if self.few and self._search is None:
            ways = ways_of(self._job, self._fits)
            self.few = len(ways) <= MOST_PATTERNS
            if self.few:
                self._search = Search(self._job, ways, cost)
        if self._search is not None:
            self._search.steps = 0
        return self._search


class Search:
    """Depth-first search over what is left to cut; a state packs the counts of all kinds."""

    def __init__(self, job: Job, ways: list[Way], cost: int) -> None:
        """List the ways that a plan up to a cost may hold.

        Args:
            job: The job, scaled.
            ways: All there are.
            cost: Of a plan that is known; none dearer is looked for.
        """
        values, wastes = values_of(job, ways)
        self.plan: list[Load] = []
        self.steps = 0
        self._sums = sums_of_bars(job.costs, cost)
        self._guards = sum([1 << (WIDTH * kind + WIDTH - 1) for kind in range(len(values))])
        self._all = sum([count << (WIDTH * kind) for kind, count in enumerate(job.counts)])
        self._bound = sum(map(mul, job.counts, values))
        self._settled: dict[int, int] = {}
        # Per longest kind, the ways that cover it: what each wastes by the values, the least first.
        # A plan wastes no more in all than its cost is above the bound.
        self.ways: list[list[Listed]] = [[] for _ in values]
        ones = [1 << (WIDTH * kind) for kind in range(len(values))]
        slack = cost * PARTS - self._bound
        packs: list[int] = []
        for waste, (bar, _, load, before) in zip(wastes, ways, strict=True):
            pattern = load[1]
            packed = ones[pattern[-1]] + (packs[before] if before >= 0 else 0)
            packs.append(packed)
            if waste <= slack:
                self.ways[pattern[0]].append((waste, bar, bar * PARTS - waste, packed, load))
        for each in self.ways:
            each.sort()

    def within(self, cost: int) -> Iterator[Listed]:
        """Give the ways that a plan up to a cost may hold."""
        slack = cost * PARTS - self._bound
        for listed in self.ways:
            yield from listed[: bisect_right(listed, slack, key=itemgetter(0))]

    def repeats(self, cost: int) -> bool:
        """Tell whether a plan up to a cost may hold two bars cut alike."""
        guards, slack = self._guards, cost * PARTS - self._bound
        for waste, _, _, packed, _ in self.within(cost):
            once = (self._all | guards) - packed
            if (
                2 * waste <= slack
                and once & guards == guards
                and (once - packed) & guards == guards
            ):
                return True
        return False

    def run(self, known: int) -> bool:
        """Search for a plan cheaper than one known; tell whether the search came to its end."""
        found = self._cheapest(self._all, self._bound, known, [])
        return found is not None

    def with_bar(self, way: Listed, cost: int) -> list[Load] | None:
        """Find a plan up to a cost that has a bar of one way.

        Returns:
            The plan; [] if there is none, None to give up.
        """
        waste, bar, worth, packed, load = way
        if self._bound + waste > cost * PARTS:
            return []
        self.plan = []
        found = self._cheapest(self._all - packed, self._bound - worth, cost - bar + 1, [load])
        return None if found is None else self.plan

    def of_set_ups(self, most: int, cost: int, needed: set[Load]) -> list[Load] | None:
        """Find a plan up to a cost of so many unlike bars at most, one of them in a set.

        Returns:
            The plan; [] if there is none, None to give up.
        """
        self.plan, self.steps = [], 0
        done = self._spread(self._all, cost * PARTS - self._bound, most, (-1, 0), [], needed)
        return self.plan if done or self.plan else None

    def _spread(
        self,
        state: int,
        slack: int,
        most: int,
        after: tuple[int, int],
        loads: list[Load],
        needed: set[Load],
    ) -> bool:
        """Cover a state by so many ways at most, each as often as wanted; False to give up.

        Ways of one longest kind are taken in their order, those before ``after`` being settled.
        """
        if not state:
            if not needed.isdisjoint(loads):
                self.plan = list(loads)
            return True
        self.steps += 1
        if self.steps > SPREAD_STEPS:
            return False
        if not most:
            return True
        first = ((state & -state).bit_length() - 1) // WIDTH
        for at in range(after[1] if after[0] == first else 0, len(self.ways[first])):
            waste, _, _, packed, load = self.ways[first][at]
            if waste > slack:
                break
            rest, left, bars = state, slack, 0
            while True:
                guarded = (rest | self._guards) - packed
                if guarded & self._guards != self._guards or waste > left:
                    break
                rest, left, bars = guarded ^ self._guards, left - waste, bars + 1
                further = [*loads, *[load] * bars]
                if not self._spread(rest, left, most - 1, (first, at + 1), further, needed):
                    return False
                if self.plan:
                    return True
        return True

    def _most_below(self, budget: int) -> int:
        """Give the highest cost below a budget that bars can add up to, -1 where there is none."""
        at = bisect_left(self._sums, budget)
        return self._sums[at - 1] if at else -1

    def _cheapest(self, state: int, bound: int, budget: int, loads: list[Load]) -> int | None:
        """Give the least cost of a state if below the budget, else the budget; None to give up.

        A plan that lowers the budget from the root down is kept as ``plan``.
        """
        if not state:
            self.plan = list(loads)
            return 0
        settled = self._settled
        if settled.get(state, -1) >= budget:
            return budget
        self.steps += 1
        if self.steps > MOST_STEPS:
            return None
        first = ((state & -state).bit_length() - 1) // WIDTH
        guarded, least = state | self._guards, budget
        slack = self._most_below(budget) * PARTS - bound
        for waste, cost, worth, packed, load in self.ways[first]:
            if waste > slack:
                break
            rest = guarded - packed
            if rest & self._guards != self._guards:
                continue
            rest ^= self._guards
            if settled.get(rest, -1) >= least - cost:
                continue
            loads.append(load)
            further = self._cheapest(rest, bound - worth, least - cost, loads)
            loads.pop()
            if further is None:
                return None
            if further + cost < least:
                least = further + cost
                slack = self._most_below(least) * PARTS - bound
        if least == budget:
            settled[state] = budget
        return least
