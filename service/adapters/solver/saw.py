"""The saw as the use cases take it: the cutting engine with HiGHS and a clock.

The clock is a last resort for jobs of hundreds of unlike lengths; others end well before, and
their plans do not depend on it.

A plan depends on nothing but its demand, which holds every length, price and limit. So the plans
of the last demands are kept, for revisions, alternatives and shop days that cut the same again; a
plan that the clock ended is not.
"""

from collections import OrderedDict
from threading import Lock
from time import monotonic

from service.adapters.solver.highs import HighsMasterSolver
from service.domain.cutting.cut import cut
from service.domain.cutting.demand import CutDemand
from service.domain.cutting.plan import CutPlan

KEPT = 128  # plans


class Saw:
    """Cuts one material at a time, each within a number of seconds."""

    def __init__(self, seconds: float, kept: int = KEPT) -> None:
        """Take the seconds for one material, and of how many demands the plans are kept."""
        self._seconds, self._most = seconds, kept
        self._solver = HighsMasterSolver()
        self._plans: OrderedDict[CutDemand, CutPlan] = OrderedDict()
        self._lock = Lock()

    def __call__(self, demand: CutDemand) -> CutPlan:
        """Find the cheapest way to cut one material."""
        with self._lock:
            known = self._plans.get(demand)
            if known is not None:
                self._plans.move_to_end(demand)
                return known
        end = monotonic() + self._seconds
        plan = cut(demand, solver=self._solver, seconds_left=lambda: max(0.0, end - monotonic()))
        if monotonic() < end:
            self._keep(demand, plan)
        return plan

    def forget(self) -> None:
        """Let go of all plans kept."""
        with self._lock:
            self._plans.clear()

    def _keep(self, demand: CutDemand, plan: CutPlan) -> None:
        with self._lock:
            self._plans[demand] = plan
            while len(self._plans) > self._most:
                self._plans.popitem(last=False)
