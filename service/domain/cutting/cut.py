"""The cheapest way to cut all pieces of one material, and how good it is known to be.

Stages, each only where those before do not settle the cost:

1. ``scale``: whole numbers, exact.
2. ``heuristics`` and ``bounds``: good plans and a bound. Where they meet, no solver is called.
3. ``few``: jobs of few pieces, exact in whole numbers, without a solver. Where ``order`` goes on
   from it, it comes first, after one good plan, and saves the work of the others.
4. ``exact``: column generation, branching and a choice of patterns, with a solver.
5. ``tidy`` and ``order``: of plans at that cost, one with a longer remnant and fewer set-ups.
6. ``verify``: every plan is replayed on the stock before it is given out.

``CutPlan.proven`` says how far down the order of ``plan.GOALS`` the plan is proven best. The cost
of a bar holds its price and, after it, one bar, so one bound proves both: the price where it
reaches the price of the plan, the bars where it reaches the whole cost. What ``order`` proves of
the rest is written there. Beyond that, remnant and set-ups are the best found by ``tidy``.

Without a solver nothing after the bars is sought to a proof, so that many layouts can be weighed.

Where the heuristics find no plan within the limits on stock, the search goes on without one: the
refusal says whether none exists, as proven by a bound or by the search, or none was found.
"""

from service.domain.cutting import heuristics
from service.domain.cutting.bars import plan_of
from service.domain.cutting.bounds import least_cost, most_cost, too_little
from service.domain.cutting.demand import CutDemand
from service.domain.cutting.few import SmallJob
from service.domain.cutting.order import Remnants, settle_order, settles
from service.domain.cutting.phase import PunchedBars
from service.domain.cutting.plan import GOALS, CutPlan, Goal
from service.domain.cutting.ports import MasterSolver, SecondsLeft
from service.domain.cutting.scale import Job, Load, scale
from service.domain.cutting.tidy import tidied
from service.domain.cutting.verify import replay
from service.domain.errors import NotEnoughStock

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
        PieceTooLong: A piece fits no stock.
        NotEnoughStock: The stock within its limits is too little, or no plan was found within it.

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
    if punched:
        punched.refuse_misfits(demand, job)
    fits = punched.fits if punched else None
    small = SmallJob(job, fits)
    loads, bound, method = _search(demand, job, punched, small, solver, seconds_left)
    loads = tidied(job, loads, fits)
    proven = _proven(job, loads, bound)
    if solver is not None and proven == GOALS[:2] and (punched is None or punched.exact):
        remnants = Remnants(demand, job, punched)
        loads, proven = settle_order(job, loads, remnants, small, punched is not None)
    plan = plan_of(demand, job, loads, bound, punched, method, proven)
    replay(plan, demand)
    return plan


def _proven(job: Job, loads: list[Load], bound: int) -> tuple[Goal, ...]:
    """Tell which of price and bars a bound on the cost proves."""
    cost = heuristics.cost_of(job, loads)
    if bound >= cost:
        return GOALS[:2]
    return GOALS[:1] if job.price_steps(bound) >= job.price_steps(cost) else ()


def _search(
    demand: CutDemand,
    job: Job,
    punched: PunchedBars | None,
    small: SmallJob,
    solver: MasterSolver | None,
    seconds_left: SecondsLeft | None,
) -> tuple[list[Load], int, str]:
    """Run the stages until plan and bound meet; give the plan, the bound and the last stage."""
    fits = punched.fits if punched else None
    # Where ``order`` goes on from the patterns, they are looked through before all else.
    patterns_first = solver is not None and small.few and settles(job, punched is not None)
    first = heuristics.first_plan(job, fits) if patterns_first else None
    if first is not None and len(first) > 1:
        cheapest = small.settle(first)
        if cheapest is not None and (punched is None or punched.exact):
            return cheapest, heuristics.cost_of(job, cheapest), "all patterns"
    plans = heuristics.good_plans(job, fits)
    if not plans:
        return _without_plan(demand, job, punched, solver, seconds_left)
    loads = min(plans, key=lambda plan: heuristics.cost_of(job, plan))
    cost = heuristics.cost_of(job, loads)
    bound = least_cost(job, cost)
    if bound >= cost:
        return loads, bound, "first fit"
    cheapest = small.settle(loads)
    if cheapest is not None and (punched is None or punched.exact):
        return cheapest, heuristics.cost_of(job, cheapest), "all patterns"
    if solver is None or len(job.takes) > MOST_KINDS:
        return cheapest or loads, bound, "first fit"
    best, proven = _prove(job, cheapest or loads, punched, solver, seconds_left)
    return best, max(bound, proven), "column generation"


def _prove(
    job: Job,
    loads: list[Load],
    punched: PunchedBars | None,
    solver: MasterSolver,
    seconds_left: SecondsLeft | None,
) -> tuple[list[Load], int]:
    """Search with the solver; give the best plan, or none, and the bound."""
    from service.domain.cutting.exact import Search
    from service.domain.cutting.rounding import Effort

    effort = Effort(seconds_left=seconds_left) if seconds_left else Effort()
    search = Search(job, loads, solver, punched.fits if punched else None, effort)
    bound = search.prove()
    return search.best, bound if punched is None or punched.exact else 0


def _without_plan(
    demand: CutDemand,
    job: Job,
    punched: PunchedBars | None,
    solver: MasterSolver | None,
    seconds_left: SecondsLeft | None,
) -> tuple[list[Load], int, str]:
    """Look for a plan where limits on stock forbade every heuristic; refuse where there is none."""
    impossible = too_little(job)
    if not impossible and solver is not None and len(job.takes) <= MOST_KINDS:
        loads, bound = _prove(job, [], punched, solver, seconds_left)
        if loads:
            return loads, bound, "column generation"
        impossible = bound > most_cost(job)
    longest = max(demand.pieces, key=lambda piece: (piece.length_nm, piece.name))
    what = "is too little for all pieces" if impossible else "was not found to be enough"
    raise NotEnoughStock(
        f"{demand.material}: the stock within its limits {what}.",
        element=longest.element,
        advice="Raise a stock limit or list another stock length.",
    )
