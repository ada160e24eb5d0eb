"""What the cutting engine asks of a linear and integer solver, and of a clock.

The master problem chooses how many bars to cut to each pattern: every piece is cut, the number of
bars of each stock stays within bounds, and requirements on those numbers hold. The engine never
trusts the solver's floats for a bound: it turns the duals into whole numbers and prices them
exactly (``master``). It does trust ``choose`` when that says no better choice exists.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

SecondsLeft = Callable[[], float]
Between = tuple[int, int]  # fewest and most bars of a stock


@dataclass(frozen=True, slots=True)
class Column:
    """A pattern on a stock, as the master problem sees it.

    Attributes:
        stock: Number of its stock in the job.
        kinds: Numbers of the kinds cut, one entry per kind.
        copies: How many of each of those kinds.
    """

    stock: int
    kinds: tuple[int, ...]
    copies: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Relaxed:
    """Solution of the linear master problem.

    Attributes:
        duals: Per kind: what one more piece would cost.
        required: Per requirement: what one more unit of it would cost.
        prices: Per stock: what a bar counts as in the price of its pattern.
        used: Per stock: how many bars.
        bars: Per column, in order of adding: how many bars are cut to it.
    """

    duals: Sequence[float]
    required: Sequence[float]
    prices: Sequence[float]
    used: Sequence[float]
    bars: Sequence[float]


@dataclass(frozen=True, slots=True)
class Chosen:
    """Answer of the whole-number master problem.

    Attributes:
        bars: Per column how many bars; None where none was found within the limits of the search.
        proven: True when the search ended: the choice is cheapest, or there is none.
    """

    bars: tuple[int, ...] | None
    proven: bool


class Master(Protocol):
    """A linear master problem that grows."""

    def add(self, columns: Sequence[Column]) -> None:
        """Add patterns."""

    def require(self, worths: Sequence[int], least: int) -> None:
        """Require that the bars used, each worth that of its stock, are worth ``least``."""

    def demand(self, counts: Sequence[int], bars: Sequence[Between], leasts: Sequence[int]) -> None:
        """Change the pieces to be covered, the bars of each stock, and what is required of them."""

    def solve(self) -> Relaxed:
        """Solve it as it stands."""


class MasterSolver(Protocol):
    """Solves the master problem of cutting."""

    def master(self, counts: Sequence[int], costs: Sequence[int], missing: int) -> Master:
        """Open a linear master problem without patterns; a missing piece costs ``missing``."""

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
