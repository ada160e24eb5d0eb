"""To the proof: branch on how many bars of each stock, then choose the patterns.

Stages, and what each guarantees:

1. The linear master problem gives a bound (``master``).
2. Branch and bound on the number of bars of each stock, lowest bound first. A branch is closed
   when its bound is not under the best plan's cost.
3. Where those numbers come out whole, ``dive`` fixes bars of the linear solution a few at a time
   and solves the rest again: good plans, no proof.
4. If that misses the bound, ``choose`` lists every pattern that a plan within a reach of the bound
   can hold (each bar's reduced cost is within the gap) and lets the solver choose among them. A
   complete list and an ended search settle the branch; else its bound stands, and the plan is
   returned with its gap.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from typing import NamedTuple

from service.domain.cutting.heuristics import Fits, cost_of
from service.domain.cutting.master import MasterProblem, Proof, column
from service.domain.cutting.patterns import patterns_of
from service.domain.cutting.ports import Between, MasterSolver, SecondsLeft
from service.domain.cutting.scale import Job, Load, Pattern

WHOLE = 1e-6
DIVES = (range(3), range(3, 24))  # variants, first try and second
FEW = 300  # patterns chosen among at a first try
SHARPENED = 12
BARS_TOO = 40  # branches closed in search of fewer bars at one price


@dataclass(frozen=True, slots=True)
class Effort:
    """How much work may be done; the same work gives the same plan.

    Attributes:
        branches: Of the search over numbers of bars.
        listed: Patterns the solver may choose among.
        nodes: Of the solver's own search.
        seconds_left: A clock, where a limit in time is wanted besides.
    """

    branches: int = 400
    listed: int = 30_000
    nodes: int = 2_000
    seconds_left: SecondsLeft = lambda: 1e9


class _Branch(NamedTuple):
    """Part of the search: lowest price first, then less often tried, then youngest."""

    price: int
    tries: int
    age: int
    bound: int
    bars: tuple[Between, ...]


class Search:
    """One job on its way to the proof."""

    def __init__(
        self,
        job: Job,
        loads: list[Load],
        solver: MasterSolver,
        fits: Fits | None = None,
        effort: Effort | None = None,
    ) -> None:
        self.job, self._solver = job, solver
        self.effort = effort or Effort()
        self.best, self.cost = loads, cost_of(job, loads)
        self.master = MasterProblem(job, patterns_of(job, fits), solver, self.effort.seconds_left)
        self.master.add(loads)
        self._closed = 0

    def prove(self) -> int:
        """Search; give the bound that stands at the end. The best plan is ``best``."""
        job = self.job
        most = [min(n, self.cost // c) for n, c in zip(job.limits, job.costs, strict=True)]
        heap = [_Branch(0, 0, 0, 0, tuple((0, n) for n in most))]
        unsettled = self.cost
        born = 0
        while heap and self._closed < self.effort.branches and self.effort.seconds_left() > 0:
            branch = heappop(heap)
            if branch.bound >= self._target():
                continue
            self._closed += 1
            proof = self._solve(branch.bars)
            bound = max(branch.bound, proof.bound)
            if bound >= self._target():
                continue
            price, split = job.price_steps(bound), self._split()
            if split is not None:
                for bars in _halves(branch.bars, *split):
                    born += 1
                    heappush(heap, _Branch(price, 0, -born, bound, bars))
            elif heap and heap[0][:2] < (price, branch.tries):
                heappush(heap, branch._replace(price=price, bound=bound))
            elif not self._settle(proof, branch.bars, branch.tries):
                if branch.tries:
                    unsettled = min(unsettled, bound)
                else:
                    heappush(heap, branch._replace(price=price, bound=bound, tries=1))
        return min([self.cost, unsettled, *(branch.bound for branch in heap)])

    def _solve(self, bars: Sequence[Between]) -> Proof:
        """Solve the linear problem within bounds on the bars, and sharpen it."""
        proof = self.master.relax(self.job.counts, bars, self._target())
        first = self._closed == 1
        for _ in range(SHARPENED if first else 1):
            if len(bars) == 1 or proof.bound >= self._target() or not self.master.sharpen(proof):
                break
            again = self.master.relax(self.job.counts, bars, self._target())
            proof = max(proof, again, key=lambda one: one.exactly)
        if first:
            self._root = proof
            if proof.bound < self._target() and self._split() is not None:
                self.dive(bars)
                self.master.relax(self.job.counts, bars, self._target())
        return proof

    def _target(self) -> int:
        """Give the bound that settles a branch: the best cost, or later any of the best price."""
        if self._closed < BARS_TOO:
            return self.cost
        job = self.job
        return -(-job.price_steps(self.cost) * job.bar_base // job.cost_step)

    def _split(self) -> tuple[int, int] | None:
        """Pick the stock whose number of bars is farthest from whole; None where all are whole."""
        used = self.master.solution.used
        if len(used) == 1:
            return None
        parts = [abs(n - round(n)) for n in used]
        stock = max(range(len(used)), key=lambda s: (parts[s], s))
        return None if parts[stock] < WHOLE else (stock, int(used[stock]))

    def _settle(self, proof: Proof, bars: Sequence[Between], tries: int) -> bool:
        """Find a plan at the bound, or show that none in these bounds beats the best.

        A first try is short, so that other branches at the same bound get theirs.
        """
        for variant in DIVES[min(tries, len(DIVES) - 1)]:
            if proof.bound >= self._target() or self.effort.seconds_left() <= 0:
                break
            if variant:
                self.master.relax(self.job.counts, bars, self.cost)
            self.dive(bars, variant)
        return self._choose_all(proof, bars, self.effort.listed if tries else FEW)

    def _choose_all(self, proof: Proof, bars: Sequence[Between], listed: int) -> bool:
        """Choose within reaches that grow up to the best plan; tell whether that settled it."""
        top, reach = proof.bound, 1 + self.job.bar_base // self.job.cost_step
        while top < self._target():
            top = min(top + reach, self.cost - 1)
            if not self._choose(proof, bars, top, listed):
                return False
            top, reach = top + 1, 4 * reach
        return True

    def dive(self, bars: Sequence[Between], variant: int = 0) -> None:
        """Round the linear solution a few bars at a time, as long as the best can be beaten.

        A variant other than 0 leaves its own mark: at one step it takes not the bar nearest to
        whole, but the next one.
        """
        counts, left = list(self.job.counts), list(bars)
        taken: list[Load] = []
        step = 0
        while True:
            whole = self._whole(second=step == variant)
            step += 1
            taken += self._take(whole, counts, left)
            spent = cost_of(self.job, taken)
            if not any(counts):
                self._keep(taken)
                return
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

    def _choose(self, proof: Proof, bars: Sequence[Between], top: int, most: int) -> bool:
        """Let the solver choose among all patterns of plans up to ``top``; tell if it settled."""
        listed = self._list(proof, bars, top, most)
        if listed is None:
            return False

        chosen = self._solver.choose(
            self.job.counts,
            self.job.costs,
            bars,
            [column(load) for load in listed],
            self.effort.nodes,
            self.effort.seconds_left(),
        )
        if chosen.bars is not None:
            counts = list(self.job.counts)
            picked = zip(listed, chosen.bars, strict=True)
            taken = [(s, _needed(pattern, counts)) for (s, pattern), n in picked for _ in range(n)]
            self._keep([load for load in taken if load[1]])
        return chosen.proven

    def _list(
        self, proof: Proof, bars: Sequence[Between], top: int, most: int
    ) -> list[Load] | None:
        """List the patterns within reach of ``top`` by the values of the root and of the branch."""
        patterns, root = self.master.patterns, self._root
        patterns.value(root.values, self.job.counts)
        listed: list[Load] = []
        for stock in range(len(bars)):
            if bars[stock][1]:
                least, floor = root.floor(stock, top), proof.floor(stock, top)
                found = patterns.reaching(stock, least, min(self.effort.listed, 10 * most))
                if found is None or len(listed) > most:
                    return None
                values = proof.values
                listed += [
                    (stock, pattern)
                    for pattern in found
                    if sum([values[kind] for kind in pattern]) >= floor
                ]
        return listed

    def _keep(self, loads: list[Load]) -> None:
        cost = cost_of(self.job, loads)
        if cost < self.cost:
            self.best, self.cost = loads, cost


def _halves(
    bars: tuple[Between, ...], stock: int, below: int
) -> tuple[tuple[Between, ...], tuple[Between, ...]]:
    """Split bounds on the bars at a number of bars of one stock that is not whole."""
    fewest, most = bars[stock]
    less = (*bars[:stock], (fewest, below), *bars[stock + 1 :])
    more = (*bars[:stock], (below + 1, most), *bars[stock + 1 :])
    return less, more


def _needed(pattern: Pattern, counts: list[int]) -> Pattern:
    """Take from the counts what a pattern gives; leave out what is no longer wanted."""
    needed = []
    for kind in pattern:
        if counts[kind]:
            counts[kind] -= 1
            needed.append(kind)
    return tuple(needed)
