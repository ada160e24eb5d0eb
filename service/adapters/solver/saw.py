"""The saw as the use cases take it: the cutting engine with HiGHS and a clock.

The clock is a last resort for jobs of hundreds of unlike lengths; others end well before, and
their plans do not depend on it.
"""

from time import monotonic

from service.adapters.solver.highs import HighsMasterSolver
from service.domain.cutting.cut import cut
from service.domain.cutting.demand import CutDemand
from service.domain.cutting.plan import CutPlan


class Saw:
    """Cuts one material at a time, each within a number of seconds."""

    def __init__(self, seconds: float) -> None:
        self._seconds = seconds
        self._solver = HighsMasterSolver()

    def __call__(self, demand: CutDemand) -> CutPlan:
        """Find the cheapest way to cut one material."""
        end = monotonic() + self._seconds
        return cut(demand, solver=self._solver, seconds_left=lambda: max(0.0, end - monotonic()))
