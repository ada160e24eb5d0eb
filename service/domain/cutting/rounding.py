"""From the linear master problem to whole bars: diving, and a choice among patterns.

``dive`` fixes bars of the linear solution a few at a time and solves the rest again: good plans,
no proof. ``choose`` lists every pattern that a plan up to some cost can hold, each bar's reduced
cost being within the gap, and lets the solver choose among them.

Guarantee: ``choose`` tells that it settled only where the list was complete and the solver's
search ended, so that no plan within the bounds costs less than the best, or than ``top``.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from service.domain.cutting.bounds import most_cost
from service.domain.cutting.heuristics import cost_of
from service.domain.cutting.master import MasterProblem, Proof, column
from service.domain.cutting.ports import Between, MasterSolver, SecondsLeft
from service.domain.cutting.scale import Job, Load, Pattern

WHOLE = 1e-6


@dataclass(frozen=True, slots=True)
class Effort:
    """How much work may be done; the same work gives the same plan.

    Attributes:
        branches: Of the search over numbers of bars.
        work: Rounds of column generation times the weight of one.
        listed: Patterns the solver may choose among.
        nodes: Of the solver's own search, times patterns.
        seconds_left: A clock, where a limit in time is wanted besides.
    """

    branches: int = 4_000
    work: int = 1_500_000
    listed: int = 8_000
    nodes: int = 1_000_000
    seconds_left: SecondsLeft = lambda: 1e9


class Rounding:
    """Makes plans of one job from its master problem, and keeps the best."""

    def __init__(
        self, job: Job, master: MasterProblem, solver: MasterSolver, effort: Effort
    ) -> None:
        self.job, self.master, self.effort = job, master, effort
        self._solver = solver
        self.best: list[Load] = []
        self.cost = most_cost(job) + 1

    def keep(self, loads: list[Load]) -> None:
        """Keep a plan if it is the best so far."""
        cost = cost_of(self.job, loads)
        if cost < self.cost:
            self.best, self.cost = loads, cost

    def dive(self, bars: Sequence[Between], variant: int = 0) -> None:
        """Round the solution as it stands, as long as the best can be beaten.

        A variant other than 0 leaves its own mark: at one step it takes not the bar nearest to
        whole, but the next one.
        """
        counts, left = list(self.job.counts), list(bars)
        taken: list[Load] = []
        step = 0
        while True:
            taken += self._take(self._whole(second=step == variant), counts, left)
            if not any(counts):
                self.keep(taken)
                return
            step += 1
            spent = cost_of(self.job, taken)
            rest = self.master.relax(counts, left, self.cost - spent, taken)
            if spent + rest.bound >= self.cost:
                return

    def _whole(self, second: bool) -> list[tuple[int, int]]:
        """Give the columns to fix and how many bars of each."""
        bars = self.master.solution.bars
        whole = [(at, int(n + WHOLE)) for at, n in enumerate(bars) if n > 1 - WHOLE]
        if whole:
            return whole
        ranked = sorted(range(len(bars)), key=lambda at: (-bars[at], at))
        return [(ranked[min(second, len(ranked) - 1)], 1)]

    def _take(
        self, whole: list[tuple[int, int]], counts: list[int], left: list[Between]
    ) -> list[Load]:
        taken = []
        for at, times in whole:
            stock, pattern = self.master.columns[at]
            for _ in range(min(times, left[stock][1])):
                needed = _needed(pattern, counts)
                if needed:
                    taken.append((stock, needed))
                    left[stock] = (max(0, left[stock][0] - 1), left[stock][1] - 1)
        return taken

    def choose_known(self, proof: Proof, bars: Sequence[Between], top: int, nodes: int) -> None:
        """Let the solver choose among the patterns met so far; proves nothing."""
        floors = [proof.floor(stock, top) for stock in range(len(bars))]
        values = proof.values
        known = [
            (stock, pattern)
            for stock, pattern in self.master.columns
            if bars[stock][1] and sum([values[kind] for kind in pattern]) >= floors[stock]
        ]
        self._pick(known, bars, nodes)

    def choose(self, proofs: Sequence[Proof], bars: Sequence[Between], top: int, most: int) -> bool:
        """Choose among all patterns of plans up to ``top``, at most so many; tell if it settled."""
        listed = self._list(proofs, bars, top, most)
        if listed is None:
            return False
        return self._pick(listed, bars, self.effort.nodes // max(1, len(listed)))

    def _pick(self, listed: list[Load], bars: Sequence[Between], nodes: int) -> bool:
        job = self.job
        columns = [column(load) for load in listed]
        seconds = self.effort.seconds_left()
        chosen = self._solver.choose(job.counts, job.costs, bars, columns, nodes, seconds)
        if chosen.bars is not None:
            counts = list(job.counts)
            picked = zip(listed, chosen.bars, strict=True)
            taken = [(s, _needed(pattern, counts)) for (s, pattern), n in picked for _ in range(n)]
            self.keep([load for load in taken if load[1]])
        return chosen.proven

    def _list(
        self, proofs: Sequence[Proof], bars: Sequence[Between], top: int, most: int
    ) -> list[Load] | None:
        """List the patterns within reach of ``top`` by each of the proofs; None if too many."""
        first, *others = proofs
        patterns = self.master.patterns
        patterns.value(first.values, self.job.counts)
        listed: list[Load] = []
        for stock in range(len(bars)):
            if not bars[stock][1]:
                continue
            limit = min(self.effort.listed, 10 * most)
            found = patterns.reaching(stock, first.floor(stock, top), limit)
            if found is None:
                return None
            for proof in others:
                floor, values = proof.floor(stock, top), proof.values
                found = [p for p in found if sum([values[kind] for kind in p]) >= floor]
            listed += [(stock, pattern) for pattern in found]
        return listed if len(listed) <= most else None


def _needed(pattern: Pattern, counts: list[int]) -> Pattern:
    """Take from the counts what a pattern gives; leave out what is no longer wanted."""
    needed = []
    for kind in pattern:
        if counts[kind]:
            counts[kind] -= 1
            needed.append(kind)
    return tuple(needed)
