"""The linear master problem over all patterns, by column generation, with a bound free of floats.

The solver's float duals only suggest. Rounded to whole numbers they are priced exactly: with a
value ``v`` per piece, ``w`` per unit of each requirement and ``V[s]`` the most value of a pattern
on stock ``s``, every plan using ``n[s]`` bars of each stock costs at least::

    sum(v * count) + sum(w * least) + sum((cost[s] - w * worth[s] - V[s]) * n[s])

whatever the duals were, since no bar covers more value than ``V[s]``. Taking ``n[s]`` at the bound
that makes its term least gives the bound (Lagrange); where ``V[s]`` still passes the cost, all
values are first scaled down until it does not (Farley 1990).

Guarantee: no plan whose bars lie within the bounds costs less than ``Proof.bound``.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from service.domain.cutting.patterns import Patterns
from service.domain.cutting.ports import Between, Column, MasterSolver, Relaxed, SecondsLeft
from service.domain.cutting.requirements import Requirement, broken
from service.domain.cutting.scale import Job, Load

UNITS = 1 << 46  # of the dearest value: pattern values stay below 2**53


@dataclass(frozen=True, slots=True)
class Proof:
    """Whole values per piece, and the bound they give.

    Attributes:
        values: Per kind, in units of ``1 / units`` of a step of cost.
        mosts: Per stock: a value that no pattern on it exceeds, in units.
        prices: Per stock: cost of a bar less what it adds to the requirements, in units.
        units: Units in one step of cost.
        exactly: No plan costs less, in units.
    """

    values: tuple[int, ...]
    mosts: tuple[int, ...]
    prices: tuple[int, ...]
    units: int
    exactly: int

    @property
    def bound(self) -> int:
        """Give the bound in whole steps of cost."""
        return -(-self.exactly // self.units)

    def floor(self, stock: int, top: int) -> int:
        """Give the least value of a pattern on the stock that a plan of cost ``top`` can hold.

        A bar worth less than the price of its stock, or than the best pattern where the bound
        already counts on bars at that, adds the difference to the bound.
        """
        gap = top * self.units - self.exactly
        return min(self.prices[stock], self.mosts[stock]) - gap


class MasterProblem:
    """The linear master problem of one job."""

    def __init__(
        self,
        job: Job,
        patterns: Patterns,
        solver: MasterSolver,
        most_rounds: int,
        seconds_left: SecondsLeft,
        missing: int = 0,
    ) -> None:
        self.job, self.patterns = job, patterns
        self.columns: list[Load] = []
        self.solution = Relaxed((), (), (), (), ())
        self.rounds = 0
        missing = missing or 10 * max(job.costs)
        self._units = max(1, UNITS // missing)
        self._known: set[Load] = set()
        self._required: list[Requirement] = []
        self._leasts: list[int] = []
        self._lp = solver.master(job.counts, job.costs, missing)
        self._most_rounds, self._seconds_left = most_rounds, seconds_left

    def spent(self) -> bool:
        """Tell whether the work or the time allowed is used up."""
        return self.rounds >= self._most_rounds or self._seconds_left() <= 0

    def add(self, loads: Sequence[Load]) -> bool:
        """Add patterns; tell whether any was new."""
        fresh = [load for load in dict.fromkeys(loads) if load not in self._known]
        if fresh:
            self._lp.add([column(load) for load in fresh])
            self.columns += fresh
            self._known.update(fresh)
        return bool(fresh)

    def relax(
        self,
        counts: Sequence[int],
        bars: Sequence[Between],
        until: int,
        taken: Sequence[Load] = (),
    ) -> Proof:
        """Solve over all patterns; stop once the bound is ``until``.

        Args:
            counts: Per kind: pieces still to be cut.
            bars: Per stock: fewest and most bars for them.
            until: A bound beyond which the solution is of no use.
            taken: Bars already fixed for the other pieces.
        """
        self._leasts = [
            least - sum([worths[stock] for stock, _ in taken]) for worths, least in self._required
        ]
        self._lp.demand(counts, bars, self._leasts)
        best = None
        while True:
            self.solution = self._lp.solve()
            self.rounds += 1
            proof, better = self._price(counts, bars)
            if best is None or proof.exactly > best.exactly:
                best = proof
            if best.bound >= until or self.spent() or not self.add(better):
                return best

    def sharpen(self, proof: Proof) -> bool:
        """Add requirements that the solution breaks; tell whether there were any."""
        found = broken(self.patterns, proof.values, self.job.counts, self.solution.used)
        fresh = [requirement for requirement in found if requirement not in self._required]
        for worths, least in fresh:
            self._lp.require(worths, least)
        self._required += fresh
        return bool(fresh)

    def _price(self, counts: Sequence[int], bars: Sequence[Between]) -> tuple[Proof, list[Load]]:
        """Turn float duals into a proof, and find patterns that would lower the cost."""
        units, patterns = self._units, self.patterns
        values = [max(0, int(dual * units)) for dual in self.solution.duals]
        shares = [max(0, int(dual * units)) for dual in self.solution.required]
        patterns.value(values, counts)
        mosts = [patterns.most(stock) for stock in range(len(bars))]
        better = []
        for stock, price in enumerate(self.solution.prices):
            floor = -int(-price * units)
            if mosts[stock] > floor and bars[stock][1]:
                better += [(stock, pattern) for pattern in patterns.above(stock, floor)]
        proof = self._bound(values, mosts, shares, counts, bars)
        scarce = [(p, most) for p, most in zip(proof.prices, mosts, strict=True) if most > p > 0]
        if scarce:
            num, den = min(scarce, key=lambda pair: pair[0] / pair[1])
            values = [value * num // den for value in values]
            mosts = [-(-most * num // den) for most in mosts]
            scaled = self._bound(values, mosts, shares, counts, bars)
            proof = max(proof, scaled, key=lambda proof: proof.exactly)
        return proof, better

    def _bound(
        self,
        values: list[int],
        mosts: list[int],
        shares: list[int],
        counts: Sequence[int],
        bars: Sequence[Between],
    ) -> Proof:
        exactly = sum(v * n for v, n in zip(values, counts, strict=True))
        prices = [cost * self._units for cost in self.job.costs]
        for share, least, (worths, _) in zip(shares, self._leasts, self._required, strict=True):
            if share:
                exactly += share * least
                prices = [p - share * worth for p, worth in zip(prices, worths, strict=True)]
        for price, most, (fewest, many) in zip(prices, mosts, bars, strict=True):
            exactly += (price - most) * (fewest if price > most else many)
        return Proof(tuple(values), tuple(mosts), tuple(prices), self._units, exactly)


def column(load: Load) -> Column:
    """Describe a load as a column of the master problem."""
    stock, pattern = load
    kinds, copies = zip(*((kind, len(list(same))) for kind, same in groupby(pattern)), strict=True)
    return Column(stock, kinds, copies)
