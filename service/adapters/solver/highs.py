"""The master problem of cutting, solved with HiGHS.

HiGHS is imported on first use: many jobs are proven without it. Runs are deterministic: one
thread, a fixed seed, limits in nodes; only a limit in seconds depends on the machine.

Columns of the linear problem: bars used per stock, pieces missing per kind, then the patterns.
Rows: pieces per kind, bars per stock (patterns less bars used is 0).
"""

from collections.abc import Sequence
from functools import lru_cache
from types import ModuleType
from typing import Any

from service.domain.cutting.ports import Between, Chosen, Column, Relaxed


@lru_cache(maxsize=1)
def _library() -> ModuleType:
    import highspy

    return highspy


def _silent() -> Any:
    # The public class opens callbacks, whereupon the library greets on standard output before it
    # can be told not to, and every run is slower. This is its base, with all that is used here.
    highs = _library()._core._Highs()
    highs.setOptionValue("output_flag", False)
    highs.setOptionValue("threads", 1)
    highs.setOptionValue("random_seed", 7)
    return highs


class HighsMaster:
    """A linear master problem that grows."""

    def __init__(self, counts: Sequence[int], costs: Sequence[int], missing: int) -> None:
        self._highs = _silent()
        self._highs.setOptionValue("presolve", "off")
        self._infinity = self._highs.getInfinity()
        self._kinds, self._stocks = len(counts), len(costs)
        self._missing = float(missing)
        self._patterns: list[int] = []
        for count in counts:
            self._highs.addRow(count, self._infinity, 0, [], [])
        for _ in costs:
            self._highs.addRow(0.0, 0.0, 0, [], [])
        for stock, cost in enumerate(costs):
            row = self._kinds + stock
            self._highs.addCol(float(cost), 0.0, self._infinity, 1, [row], [-1.0])
        for kind in range(self._kinds):
            self._highs.addCol(self._missing, 0.0, self._infinity, 1, [kind], [1.0])

    def add(self, columns: Sequence[Column]) -> None:
        """Add patterns."""
        first = self._highs.getNumCol()
        self._patterns += range(first, first + len(columns))
        _add(self._highs, [0.0] * len(columns), columns, self._kinds)

    def require(self, worths: Sequence[int], least: int) -> None:
        """Require that the bars used, each worth that of its stock, are worth ``least``."""
        stocks = list(range(self._stocks))
        row = self._highs.getNumRow()
        self._highs.addRow(least, self._infinity, len(stocks), stocks, [float(w) for w in worths])
        self._highs.addCol(self._missing, 0.0, self._infinity, 1, [row], [1.0])

    def demand(self, counts: Sequence[int], bars: Sequence[Between], leasts: Sequence[int]) -> None:
        """Change the pieces to be covered, the bars of each stock, and what is required of them."""
        for row, least in enumerate(leasts, self._kinds + self._stocks):
            self._highs.changeRowBounds(row, least, self._infinity)
        for row, count in enumerate(counts):
            self._highs.changeRowBounds(row, count, self._infinity)
        for stock, (fewest, most) in enumerate(bars):
            self._highs.changeColBounds(stock, fewest, most)

    def solve(self) -> Relaxed:
        """Solve it as it stands."""
        self._highs.run()
        solution = self._highs.getSolution()
        duals, values = solution.row_dual, solution.col_value
        return Relaxed(
            duals=duals[: self._kinds],
            required=duals[self._kinds + self._stocks :],
            prices=duals[self._kinds : self._kinds + self._stocks],
            used=values[: self._stocks],
            bars=[values[column] for column in self._patterns],
        )


class HighsMasterSolver:
    """Solves the master problem of cutting with HiGHS."""

    def master(self, counts: Sequence[int], costs: Sequence[int], missing: int) -> HighsMaster:
        """Open a linear master problem without patterns; a missing piece costs ``missing``."""
        return HighsMaster(counts, costs, missing)

    def choose(
        self,
        counts: Sequence[int],
        costs: Sequence[int],
        bars: Sequence[Between],
        columns: Sequence[Column],
        nodes: int,
        seconds: float,
    ) -> Chosen:
        """Choose whole bars of the columns, cheapest in all."""
        library = _library()
        highs = _silent()
        infinity = highs.getInfinity()
        for count in counts:
            highs.addRow(count, infinity, 0, [], [])
        for fewest, most in bars:
            highs.addRow(fewest, most, 0, [], [])
        _add(highs, [float(costs[column.stock]) for column in columns], columns, len(counts))
        integer = library.HighsVarType.kInteger
        highs.changeColsIntegrality(
            len(columns), list(range(len(columns))), [integer] * len(columns)
        )
        highs.setOptionValue("mip_rel_gap", 0.0)
        highs.setOptionValue("mip_abs_gap", 0.999)  # costs are whole numbers
        highs.setOptionValue("mip_max_nodes", nodes)
        highs.setOptionValue("time_limit", seconds)
        highs.run()
        status = library.HighsModelStatus
        proven = highs.getModelStatus() in (status.kOptimal, status.kInfeasible)
        feasible = library.SolutionStatus.kSolutionStatusFeasible
        if highs.getInfo().primal_solution_status != feasible:
            return Chosen(None, proven)
        return Chosen(tuple(round(value) for value in highs.getSolution().col_value), proven)


def _add(highs: Any, costs: list[float], columns: Sequence[Column], kinds: int) -> None:
    starts: list[int] = []
    indices: list[int] = []
    values: list[float] = []
    for column in columns:
        starts.append(len(indices))
        indices.extend(column.kinds)
        indices.append(kinds + column.stock)
        values.extend(float(n) for n in column.copies)
        values.append(1.0)
    count = len(costs)
    most = [highs.getInfinity()] * count
    highs.addCols(count, costs, [0.0] * count, most, len(indices), starts, indices, values)
