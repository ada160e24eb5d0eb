"""To the proof: branch on how many bars of each stock, then choose the patterns.

Stages, and what each guarantees:

1. The linear master problem gives a bound (``master``), sharpened by requirements on the numbers
   of bars (``requirements``). No plan costs less.
2. Branch and bound on the number of bars of each stock, lowest price first. A branch is closed
   when its bound is not under the best plan's cost, so closing all proves that plan.
3. Where those numbers come out whole, ``rounding`` looks for a plan at the bound, by diving and by
   choosing among patterns; a choice among all patterns in reach settles the branch either way.
   A branch not settled keeps its bound, and the plan is returned with its gap.

At first the search closes branches on cost, so on the number of bars too; when that takes long,
on price alone. The bound at the end is then one on the price.

A search may start without a plan. If its bound passes ``most_cost`` at the end, there is none.
"""

from collections.abc import Sequence
from heapq import heappop, heappush
from typing import NamedTuple

from service.domain.cutting.bounds import most_cost
from service.domain.cutting.heuristics import Fits
from service.domain.cutting.master import MasterProblem, Proof
from service.domain.cutting.patterns import patterns_of
from service.domain.cutting.ports import Between, MasterSolver
from service.domain.cutting.rounding import WHOLE, Effort, Rounding
from service.domain.cutting.scale import Job, Load

DIVES = (range(3), range(3, 24))  # variants, at a first try and at a second
FEW = 300  # patterns chosen among at a first try
KNOWN = 200  # nodes of a choice among the patterns met so far
SHARPENED = 12  # rounds of requirements at the start
BARS_TOO = 40  # branches closed in search of fewer bars at one price


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
        self.job = job
        self.effort = effort or Effort()
        patterns = patterns_of(job, fits)
        rounds = self.effort.work // patterns.weight
        # Without a plan a missing piece must cost more than all bars, or no bound shows that
        # pieces must go missing.
        missing = 10 * max(job.costs) if loads else most_cost(job) + 1
        self.master = MasterProblem(
            job, patterns, solver, rounds, self.effort.seconds_left, missing
        )
        self.rounding = Rounding(job, self.master, solver, self.effort)
        if loads:
            self.master.add(loads)
            self.rounding.keep(loads)
        self._closed = 0

    @property
    def best(self) -> list[Load]:
        """Give the best plan found."""
        return self.rounding.best

    @property
    def cost(self) -> int:
        """Give the cost of the best plan found."""
        return self.rounding.cost

    def prove(self) -> int:
        """Search; give the bound that stands at the end."""
        job = self.job
        most = [min(n, self.cost // c) for n, c in zip(job.limits, job.costs, strict=True)]
        heap = [_Branch(0, 0, 0, 0, tuple((0, n) for n in most))]
        unsettled = self.cost
        born = 0
        while heap and self._closed < self.effort.branches and not self.master.spent():
            branch = heappop(heap)
            if branch.bound >= self._target():
                unsettled = min(unsettled, branch.bound)
                continue
            self._closed += 1
            proof = self._solve(branch.bars)
            bound = max(branch.bound, proof.bound)
            if bound >= self._target():
                unsettled = min(unsettled, bound)
                continue
            price, split = job.price_steps(bound), self._split()
            if split is not None:
                for bars in _halves(branch.bars, *split):
                    born += 1
                    heappush(heap, _Branch(price, 0, -born, bound, bars))
            elif heap and heap[0][:2] < (price, branch.tries):
                heappush(heap, branch._replace(price=price, bound=bound))
            elif self._settle(proof, branch.bars, branch.tries):
                unsettled = min(unsettled, max(bound, self._target()))
            elif branch.tries:
                unsettled = min(unsettled, bound)
            else:
                heappush(heap, branch._replace(price=price, bound=bound, tries=1))
        return min([self.cost, unsettled, *(branch.bound for branch in heap)])

    def _target(self) -> int:
        """Give the bound that settles a branch: the best cost, or later any of the best price."""
        if self._closed < BARS_TOO:
            return self.cost
        job = self.job
        return -(-job.price_steps(self.cost) * job.bar_base // job.cost_step)

    def _solve(self, bars: Sequence[Between]) -> Proof:
        """Solve the linear problem within bounds on the bars, and sharpen it."""
        counts = self.job.counts
        proof = self.master.relax(counts, bars, self._target())
        first = self._closed == 1
        for _ in range(SHARPENED if first else 1):
            if len(bars) == 1 or proof.bound >= self._target() or not self.master.sharpen(proof):
                break
            again = self.master.relax(counts, bars, self._target())
            proof = max(proof, again, key=lambda one: one.exactly)
        if first:
            self._root = proof
            if proof.bound < self._target() and self._split() is not None:
                self.rounding.dive(bars)
                self.master.relax(counts, bars, self._target())
        return proof

    def _split(self) -> tuple[int, int] | None:
        """Pick the stock whose number of bars is farthest from whole; None where all are whole.

        With one stock the bound is rounded up already, and there is nothing to split.
        """
        used = self.master.solution.used
        if len(used) == 1:
            return None
        parts = [abs(n - round(n)) for n in used]
        stock = max(range(len(used)), key=lambda s: (parts[s], s))
        return None if parts[stock] < WHOLE else (stock, int(used[stock]))

    def _settle(self, proof: Proof, bars: Sequence[Between], tries: int) -> bool:
        """Find a plan at the bound, or show that none in these bounds beats the best.

        A first try is short, so that other branches at the same price get theirs.
        """
        rounding, step = self.rounding, 1 + self.job.bar_base // self.job.cost_step
        for variant in DIVES[tries]:
            if proof.bound >= self._target() or self.master.spent():
                break
            if variant:
                self.master.relax(self.job.counts, bars, self.cost)
            rounding.dive(bars, variant)
        if tries and proof.bound < self._target():
            rounding.choose_known(proof, bars, proof.bound + step, KNOWN)
        top = proof.bound
        while top < self._target():
            top = min(top + step, self.cost - 1) if rounding.best else self.cost - 1
            listed = self.effort.listed if tries else FEW
            if not rounding.choose((self._root, proof), bars, top, listed):
                return False
            top, step = top + 1, 4 * step
        return True


def _halves(
    bars: tuple[Between, ...], stock: int, below: int
) -> tuple[tuple[Between, ...], tuple[Between, ...]]:
    """Split bounds on the bars at a number of bars of one stock that is not whole."""
    fewest, most = bars[stock]
    less = (*bars[:stock], (fewest, below), *bars[stock + 1 :])
    more = (*bars[:stock], (below + 1, most), *bars[stock + 1 :])
    return less, more
