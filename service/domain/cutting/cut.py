"""The cheapest way to cut all pieces of one material, and how good it is known to be.

Stages, each only where those before do not settle the cost:

1. ``scale``: whole numbers, exact.
2. ``heuristics`` and ``bounds``: good plans and a bound. Where they meet, no solver is called.
3. ``exact``: column generation, branching and a choice of patterns, with a solver.
4. ``tidy``: of plans at that cost, one whose remnant is more useful.
5. ``verify``: every plan is replayed on the stock before it is given out.

The price is what is proven. At one price the search prefers fewer bars, and ``tidy`` a longer
remnant; those two are the best found.
"""

from service.domain.cutting import heuristics
from service.domain.cutting.bars import plan_of
from service.domain.cutting.bounds import least_cost
from service.domain.cutting.demand import CutDemand
from service.domain.cutting.few import settle
from service.domain.cutting.phase import PunchedBars
from service.domain.cutting.plan import CutPlan
from service.domain.cutting.ports import MasterSolver, SecondsLeft
from service.domain.cutting.scale import Job, Load, scale
from service.domain.cutting.tidy import gather_remnant
from service.domain.cutting.verify import replay
from service.domain.errors import PieceTooLong

MOST_KINDS = 400  # for the solver; more are cut well, with the gap stated


def cut(
    demand: CutDemand,
    *,
    solver: MasterSolver | None = None,
    seconds_left: SecondsLeft | None = None,
) -> CutPlan:
    """Find the cheapest stock lengths for all pieces, and how to cut them.

    Args:
        demand: Pieces of one material, its stock, kerf and trim.
        solver: Solves the master problem where heuristics and bounds do not meet; without one
            the best plan found is returned with its gap.
        seconds_left: A clock; the search stops when it runs out. Without one the work is limited
            instead, so that the same demand always gives the same plan.

    Raises:
        PieceTooLong: A piece fits no stock, or the stock within its limits is too little.

    Example:
        >>> from decimal import Decimal
        >>> from service.domain.cutting.demand import Piece, StockLength
        >>> pieces = tuple(Piece(f"S{i}", f"S{i}", 2_400_000_000) for i in range(1, 4))
        >>> stock = (StockLength("R16", 4_876_800_000, Decimal("80.00")),
        ...          StockLength("R8", 2_438_400_000, Decimal("42.00")))
        >>> plan = cut(CutDemand("top rail", pieces, stock, kerf_nm=3_175_000))
        >>> [bar.sku for bar in plan.bars], plan.cost, plan.proven_optimal
        (['R16', 'R8'], Decimal('122'), True)
    """
    job = scale(demand)
    punched = PunchedBars(demand, job, demand.pitch_nm) if demand.pitch_nm else None
    loads, bound, method = _search(demand, job, punched, solver, seconds_left)
    loads = gather_remnant(job, loads, punched.fits if punched else None)
    plan = plan_of(demand, job, loads, bound, punched, method)
    replay(plan, demand)
    return plan


def _search(
    demand: CutDemand,
    job: Job,
    punched: PunchedBars | None,
    solver: MasterSolver | None,
    seconds_left: SecondsLeft | None,
) -> tuple[list[Load], int, str]:
    """Run the stages until plan and bound meet; give the plan, the bound and the last stage."""
    fits = punched.fits if punched else None
    plans = heuristics.good_plans(job, fits)
    if not plans:
        raise _too_little(demand)
    loads = min(plans, key=lambda plan: heuristics.cost_of(job, plan))
    cost = heuristics.cost_of(job, loads)
    bound = least_cost(job, cost)
    if job.price_steps(bound) >= job.price_steps(cost):
        return loads, bound, "first fit"
    cheapest = settle(job, loads, fits)
    if cheapest is not None and (punched is None or punched.exact):
        return cheapest, heuristics.cost_of(job, cheapest), "all patterns"
    if solver is None or len(job.takes) > MOST_KINDS:
        return cheapest or loads, bound, "first fit"
    from service.domain.cutting.exact import Search
    from service.domain.cutting.rounding import Effort

    effort = Effort(seconds_left=seconds_left) if seconds_left else Effort()
    search = Search(job, loads, solver, fits, effort)
    proven = search.prove()
    if punched is None or punched.exact:
        bound = max(bound, proven)
    return search.best, bound, "column generation"


def _too_little(demand: CutDemand) -> PieceTooLong:
    longest = max(demand.pieces, key=lambda piece: (piece.length_nm, piece.name))
    return PieceTooLong(
        f"{demand.material}: the stock within its limits is too little for all pieces.",
        element=longest.element,
        advice="Raise a stock limit or list another stock length.",
    )
