"""From patterns to bars a person can saw: names, places and pickets of every cut."""

from decimal import Decimal

from service.domain.cutting.demand import CutDemand
from service.domain.cutting.heuristics import cost_of
from service.domain.cutting.phase import Placed, PunchedBars
from service.domain.cutting.plan import Bar, Cut, CutPlan, Goal
from service.domain.cutting.scale import Job, Load, Pattern, trim_nm


def plan_of(
    demand: CutDemand,
    job: Job,
    loads: list[Load],
    bound: int,
    punched: PunchedBars | None,
    method: str,
    goals: tuple[Goal, ...] = (),
) -> CutPlan:
    """Write out a plan: longest stock first, bars cut alike together, pieces by name.

    Args:
        demand: What was asked for.
        job: The demand, scaled.
        loads: Pattern of each bar.
        bound: No plan costs less, in steps of the job.
        punched: Places on pre-punched stock, None on plain stock.
        method: Which stage gave the plan.
        goals: Which goals the plan is proven to meet best.
    """
    waiting = [iter(kind) for kind in job.kinds]
    bars = []
    for stock, pattern in sorted(loads, key=lambda load: (-job.rooms[load[0]], load)):
        if punched:
            placed = punched.arrange(stock, pattern)
        else:
            placed = _side_by_side(demand, job, stock, pattern)
        cuts = []
        for kind, start in placed:
            piece = next(waiting[kind])
            place = punched.place(stock, kind, start) if punched else None
            cuts.append(Cut(piece.name, start, piece.length_nm, place))
        bars.append(_bar(demand, job, stock, tuple(cuts)))
    cost = cost_of(job, loads)
    proven = job.price_steps(bound) >= job.price_steps(cost)
    sawn = sum([piece.length_nm for piece in demand.pieces])
    bought = sum([bar.length_nm for bar in bars])
    return CutPlan(
        material=demand.material,
        bars=tuple(bars),
        cost=job.price(cost),
        lower_bound=job.price(cost if proven else bound),
        proven_optimal=proven,
        cost_is_length=job.cost_is_length,
        yield_ratio=(Decimal(sawn) / bought).quantize(Decimal("0.0001")),
        method=method,
        proven=goals,
    )


def _side_by_side(demand: CutDemand, job: Job, stock: int, pattern: Pattern) -> Placed:
    placed = []
    start = trim_nm(demand, job.stocks[stock])
    for kind in pattern:
        placed.append((kind, start))
        start += job.kinds[kind][0].length_nm + demand.kerf_nm
    return tuple(placed)


def _bar(demand: CutDemand, job: Job, stock: int, cuts: tuple[Cut, ...]) -> Bar:
    bought = job.stocks[stock]
    trim = trim_nm(demand, bought)
    free = cuts[-1].start_nm + cuts[-1].length_nm + demand.kerf_nm
    usable_end = bought.length_nm - trim
    remnant = max(0, usable_end - free)
    kerf = len(cuts) * demand.kerf_nm - max(0, free - usable_end)
    sawn = sum([cut.length_nm for cut in cuts])
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
