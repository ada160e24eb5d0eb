"""One cut plan for several jobs, and what that saves against cutting each alone.

Guarantee: the plan costs no more than the jobs cut one after the other, each with the offcuts that
those before it left, unless a limit on stock forbids putting those plans together.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from service.domain.cutting.demand import CutDemand
from service.domain.cutting.nest import Saw
from service.domain.cutting.offcuts import Offcut, cut_for_shop, name_remnants, offcut_stock
from service.domain.cutting.plan import GOALS, Bar, CutPlan
from service.domain.cutting.verify import replay
from service.domain.errors import DemandsDisagree


@dataclass(frozen=True, slots=True)
class JobDemand:
    """What one job asks of the saw, of one material.

    Attributes:
        job: Name of the job, unique.
        sku: Of the material, the same in every job that is cut with it.
    """

    job: str
    sku: str
    demand: CutDemand


@dataclass(frozen=True, slots=True)
class PieceOf:
    """Where a piece of a combined plan belongs."""

    piece: str
    job: str
    section: str


@dataclass(frozen=True, slots=True)
class Alone:
    """One job cut by itself."""

    job: str
    cost: Decimal
    bars: int


@dataclass(frozen=True, slots=True)
class CombinedPlan:
    """One material cut for all jobs together.

    Attributes:
        sku: Of the material.
        alone: Each job cut by itself, in order, from the offcuts that those before it left.
        saved_cost: Price of all those plans together, less the price of this one.
        saved_bars: The same in bars, offcuts included.
        offcuts: Offcuts used.
    """

    sku: str
    plan: CutPlan
    pieces: tuple[PieceOf, ...]
    alone: tuple[Alone, ...]
    saved_cost: Decimal
    saved_bars: int
    offcuts: tuple[Offcut, ...]


def combine(jobs: Sequence[JobDemand], offcuts: Sequence[Offcut], saw: Saw) -> CombinedPlan:
    """Cut one material for several jobs in one plan.

    Args:
        jobs: What each asks for; stock, kerf, trim and pitch are the same in all.
        offcuts: On hand, of this material.
        saw: Plans the cutting.

    Raises:
        DemandsDisagree: Two jobs describe the material differently.
        PieceTooLong, NotEnoughStock: As the saw.

    Example:
        >>> from service.domain.cutting.cut import cut
        >>> from service.domain.cutting.demand import Piece, StockLength
        >>> stock = (StockLength("R", 1000, Decimal(10)),)
        >>> jobs = [JobDemand(job, "R", CutDemand("rail", (Piece("S1", "S1", 450),), stock, 2))
        ...         for job in ("Ash", "Elm")]
        >>> combined = combine(jobs, (), cut)
        >>> [cut.piece for cut in combined.plan.bars[0].cuts], combined.saved_bars
        (['Ash: S1', 'Elm: S1'], 1)
    """
    _refuse_differences(jobs)
    demands = [_named(job) for job in jobs]
    alone, left = list[CutPlan](), list(offcuts)
    for demand in demands:
        alone.append(cut_for_shop(demand, left, saw))
        used = {bar.sku for bar in alone[-1].bars if bar.offcut}
        left = [offcut for offcut in left if offcut.name not in used]
    together = replace(
        demands[0],
        pieces=tuple(piece for demand in demands for piece in demand.pieces),
        least_remnant_nm=max(demand.least_remnant_nm for demand in demands),
    )
    plan = alone[0] if len(jobs) == 1 else cut_for_shop(together, offcuts, saw)
    plan = _better(plan, alone, together, offcuts)
    return _compared(jobs, demands, alone, plan, offcuts)


def _refuse_differences(jobs: Sequence[JobDemand]) -> None:
    first = jobs[0]
    for other in jobs[1:]:
        for what, one, two in _described(first.demand, other.demand):
            if one != two:
                raise DemandsDisagree(
                    f"{first.job} and {other.job} are both cut from {first.sku}, but with "
                    f"different {what}.",
                    element=first.sku,
                    advice="Cut them in two plans, or make the quotes again with the same stock, "
                    "prices and saw.",
                )


def _described(one: CutDemand, two: CutDemand) -> Sequence[tuple[str, object, object]]:
    return (
        ("stock lengths or prices", frozenset(one.stocks), frozenset(two.stocks)),
        ("kerf or trim", (one.kerf_nm, one.end_trim_nm), (two.kerf_nm, two.end_trim_nm)),
        ("picket pitch", one.pitch_nm, two.pitch_nm),
        ("profiles", one.nest_depth_nm, two.nest_depth_nm),
    )


def _named(job: JobDemand) -> CutDemand:
    """Put the job before the name of each of its pieces."""
    pieces = (replace(piece, name=f"{job.job}: {piece.name}") for piece in job.demand.pieces)
    return replace(job.demand, pieces=tuple(pieces))


def _better(
    plan: CutPlan, alone: Sequence[CutPlan], together: CutDemand, offcuts: Sequence[Offcut]
) -> CutPlan:
    """Give the plans of the jobs put together where they are better and limits allow it."""
    cost = sum((one.cost for one in alone), Decimal(0))
    bars = tuple(bar for one in alone for bar in one.bars)
    used = Counter(bar.sku for bar in bars)
    allowed = all(s.limit is None or used[s.sku] <= s.limit for s in together.stocks)
    if (plan.cost, len(plan.bars)) <= (cost, len(bars)) or not allowed:
        return plan
    proven = plan.lower_bound >= cost
    joined = replace(
        plan,
        bars=tuple(replace(bar, reusable=None) for bar in bars),
        cost=cost,
        lower_bound=cost if proven else plan.lower_bound,
        proven_optimal=proven,
        proven=GOALS[:1] if proven else (),
        yield_ratio=_yield(together, bars),
        method="each job by itself",
    )
    complete = replace(together, stocks=(*together.stocks, *offcut_stock(together, offcuts)))
    replay(joined, complete)
    return name_remnants(joined, complete)


def _yield(demand: CutDemand, bars: Sequence[Bar]) -> Decimal:
    sawn = sum(piece.length_nm for piece in demand.pieces) - sum(bar.shared_nm for bar in bars)
    return (Decimal(sawn) / sum(bar.length_nm for bar in bars)).quantize(Decimal("0.0001"))


def _compared(
    jobs: Sequence[JobDemand],
    demands: Sequence[CutDemand],
    alone: Sequence[CutPlan],
    plan: CutPlan,
    offcuts: Sequence[Offcut],
) -> CombinedPlan:
    used = {bar.sku for bar in plan.bars if bar.offcut}
    return CombinedPlan(
        sku=jobs[0].sku,
        plan=plan,
        pieces=tuple(
            PieceOf(piece.name, job.job, piece.element)
            for job, demand in zip(jobs, demands, strict=True)
            for piece in demand.pieces
        ),
        alone=tuple(
            Alone(job.job, one.cost, len(one.bars)) for job, one in zip(jobs, alone, strict=True)
        ),
        saved_cost=sum((one.cost for one in alone), Decimal(0)) - plan.cost,
        saved_bars=sum(len(one.bars) for one in alone) - len(plan.bars),
        offcuts=tuple(offcut for offcut in offcuts if offcut.name in used),
    )
