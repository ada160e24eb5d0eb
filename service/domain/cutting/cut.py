"""The cheapest way to cut all pieces of one material, and how good it is known to be."""

from decimal import Decimal

from service.domain.cutting import bounds, heuristics
from service.domain.cutting.demand import CutDemand
from service.domain.cutting.phase import PunchedBars
from service.domain.cutting.plan import Bar, Cut, CutPlan
from service.domain.cutting.ports import MasterSolver, SecondsLeft
from service.domain.cutting.scale import Job, Load, Pattern, scale, trim_nm
from service.domain.cutting.verify import replay
from service.domain.errors import PieceTooLong


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
    plan = _plan(demand, job, loads, bound, punched, method)
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
    bound = bounds.least_cost(job, cost)
    if solver is None or job.price_steps(bound) >= job.price_steps(cost):
        return loads, bound, "first fit"
    from service.domain.cutting.exact import Effort, Search

    effort = Effort(seconds_left=seconds_left) if seconds_left else Effort()
    search = Search(job, loads, solver, fits, effort)
    proven = search.prove()
    if punched is None or punched.exact:
        bound = max(bound, proven)
    return search.best, bound, "column generation"


def _plan(
    demand: CutDemand,
    job: Job,
    loads: list[Load],
    bound: int,
    punched: PunchedBars | None,
    method: str,
) -> CutPlan:
    names = [iter(kind) for kind in job.kinds]
    bars = []
    for stock, pattern in sorted(loads, key=lambda load: (-job.rooms[load[0]], load[1])):
        trim = trim_nm(demand, job.stocks[stock])
        first, pitch = job.stocks[stock].first_picket_nm, demand.pitch_nm
        if first is None and pitch is not None:
            first = pitch // 2
        if punched:
            placed = punched.arrange(stock, pattern)
        else:
            placed = _one_after_another(demand, job, trim, pattern)
        cuts = []
        for kind, start in placed:
            piece = next(names[kind])
            place = None
            if pitch is not None and first is not None and piece.first_picket_nm is not None:
                place = (start + piece.first_picket_nm - first) // pitch + 1
            cuts.append(Cut(piece.name, start, piece.length_nm, place))
        bars.append(_bar(demand, job, stock, trim, tuple(cuts)))
    cost = heuristics.cost_of(job, loads)
    sawn = sum(piece.length_nm for piece in demand.pieces)
    proven = job.price_steps(bound) >= job.price_steps(cost)
    return CutPlan(
        material=demand.material,
        bars=tuple(bars),
        cost=job.price(cost),
        lower_bound=job.price(cost if proven else bound),
        proven_optimal=proven,
        cost_is_length=job.cost_is_length,
        yield_ratio=(Decimal(sawn) / sum(bar.length_nm for bar in bars)).quantize(
            Decimal("0.0001")
        ),
        method=method,
    )


def _one_after_another(
    demand: CutDemand, job: Job, trim: int, pattern: Pattern
) -> tuple[tuple[int, int], ...]:
    placed = []
    start = trim
    for kind in pattern:
        placed.append((kind, start))
        start += job.kinds[kind][0].length_nm + demand.kerf_nm
    return tuple(placed)


def _bar(demand: CutDemand, job: Job, stock: int, trim: int, cuts: tuple[Cut, ...]) -> Bar:
    bought = job.stocks[stock]
    free = cuts[-1].start_nm + cuts[-1].length_nm + demand.kerf_nm
    usable_end = bought.length_nm - trim
    remnant = max(0, usable_end - free)
    kerf = len(cuts) * demand.kerf_nm - max(0, free - usable_end)
    sawn = sum(cut.length_nm for cut in cuts)
    return Bar(
        sku=bought.sku,
        length_nm=bought.length_nm,
        cuts=cuts,
        remnant_nm=remnant,
        kerf_nm=kerf,
        drop_nm=bought.length_nm - 2 * trim - sawn - kerf - remnant,
        trim_nm=2 * trim,
        offcut=bought.offcut,
    )


def _too_little(demand: CutDemand) -> PieceTooLong:
    longest = max(demand.pieces, key=lambda piece: (piece.length_nm, piece.name))
    return PieceTooLong(
        f"{demand.material}: the stock within its limits is too little for all pieces.",
        element=longest.element,
        advice="Raise a stock limit or list another stock length.",
    )
