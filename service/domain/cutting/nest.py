"""Slanted cuts that neighbours share, so that raked rails nest on the bar.

A raked rail is a parallelogram in elevation: both end cuts are parallel and its blank is measured
long point to long point. Two neighbours of one angle that lie the same way round share one slanted
cut. The next long point then lies ``depth * tan(saw)`` before the end of the piece before it, and
the blade, held at the angle, takes ``kerf / cos(saw)`` of the bar. The difference is saved once
for each shared cut. Where the profile is not symmetric a piece may not be flipped to lie the way
of its neighbour, so nothing is shared. Pieces that share no cut are parted square, as ever.

Let ``g`` be what a shared cut saves. Where all pieces have one angle, a bar of ``n`` pieces saves
``(n - 1) * g``. So pieces shorter by ``g`` on stock shorter by ``g`` at its far end are the same
problem, punched stock included: every start stays where it is, and so does every phase.

Guarantee: with one angle, the plan is as good and as proven as the saw's plan of that problem.
With several angles on plain stock, the plan is the better of one without shared cuts and one that
reserves the loss of every angle on each bar; the bound is that of a problem that reserves only the
least, so the proof stands where they meet. With several angles on punched stock nothing is
shared. On punched stock little is gained at best: a shared cut matters only where it
brings the next piece a whole pitch nearer.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from decimal import Decimal

from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.cutting.plan import GOALS, Bar, Cut, CutPlan
from service.domain.cutting.scale import scale, trim_nm
from service.domain.cutting.verify import replay
from service.domain.errors import NotEnoughStock, PieceTooLong
from service.domain.lengths import MILLIMETRE

Saw = Callable[[CutDemand], CutPlan]
Savings = Mapping[float, int]  # per angle [deg], what a shared cut saves [nm]


def cut_nested(demand: CutDemand, saw: Saw) -> CutPlan:
    """Cut a demand with slanted cuts shared wherever that is allowed and saves material.

    Args:
        demand: Pieces with the angles of their end cuts.
        saw: Plans the cutting of pieces that share nothing.

    Raises:
        PieceTooLong, NotEnoughStock: As the saw.
    """
    savings = savings_of(demand)
    if not any(savings.values()) or (demand.pitch_nm is not None and len(savings) > 1):
        return saw(replace(demand, nest_depth_nm=0))
    scale(demand)  # refuses what is too long, in its true lengths
    if len(savings) == 1:
        (saved,) = savings.values()
        plan = _true_plan(saw(_shortened(demand, savings, saved)), demand, savings)
    else:
        plan = _mixed(demand, savings, saw)
    replay(plan, demand)
    return plan


def savings_of(demand: CutDemand) -> Savings:
    """Give what a shared cut saves at each angle of a demand, 0 where nothing. [nm].

    Example:
        >>> pieces = (Piece("a", "S1", 1_000_000_000, 45.0),)
        >>> savings_of(CutDemand("rail", pieces, (), kerf_nm=0, nest_depth_nm=40_000_000))
        {45.0: 39999999}
    """
    angles = sorted({piece.saw_deg for piece in demand.pieces})
    savings = {angle: _saved_nm(angle, demand) for angle in angles}
    for piece in demand.pieces:  # an end longer than its piece leaves no edge to share
        if piece.length_nm <= _lean_nm(piece.saw_deg, demand):
            savings[piece.saw_deg] = 0
    return savings


def _saved_nm(angle_deg: float, demand: CutDemand) -> int:
    blade_nm = math.ceil(demand.kerf_nm / math.cos(math.radians(angle_deg)))
    return max(0, _lean_nm(angle_deg, demand) - (blade_nm - demand.kerf_nm))


def _lean_nm(angle_deg: float, demand: CutDemand) -> int:
    return math.floor(demand.nest_depth_nm * math.tan(math.radians(angle_deg)))


def _mixed(demand: CutDemand, savings: Savings, saw: Saw) -> CutPlan:
    """Give the better of two plans, bounded by a third problem that is easier than the true one."""
    plans: list[CutPlan] = []
    refusal: PieceTooLong | NotEnoughStock | None = None
    try:
        plans.append(
            _true_plan(saw(_shortened(demand, savings, sum(savings.values()))), demand, savings)
        )
    except (PieceTooLong, NotEnoughStock) as error:
        refusal = error
    try:
        plans.append(_true_plan(saw(replace(demand, nest_depth_nm=0)), demand, savings))
    except (PieceTooLong, NotEnoughStock) as error:
        refusal = error
    if not plans:
        raise refusal or AssertionError("no plan and no refusal")
    best = min(plans, key=lambda plan: (plan.cost, len(plan.bars)))
    easier = saw(_shortened(demand, savings, min(savings.values())))
    proven = easier.lower_bound >= best.cost
    bound = best.cost if proven else easier.lower_bound
    goals = GOALS[:1] if proven else ()
    return replace(best, lower_bound=bound, proven_optimal=proven, proven=goals)


def _shortened(demand: CutDemand, savings: Savings, off_nm: int) -> CutDemand:
    """Give the problem with what is shared taken off the pieces and, once, off each bar."""
    by_length = _length_is_price(demand)
    pieces = tuple(
        replace(
            piece,
            length_nm=piece.length_nm - savings[piece.saw_deg],
            saw_deg=0.0,
            last_picket_nm=None,  # the true plan is replayed with its pickets
            pickets=0,
        )
        for piece in demand.pieces
    )
    stocks = tuple(
        replace(
            stock,
            length_nm=stock.length_nm - off_nm,
            price=_price(stock, by_length),
        )
        for stock in demand.stocks
        if stock.length_nm > off_nm
    )
    return replace(demand, pieces=pieces, stocks=stocks, nest_depth_nm=0)


def _length_is_price(demand: CutDemand) -> bool:
    return any(stock.price is None and not stock.offcut for stock in demand.stocks)


def _price(stock: StockLength, by_length: bool) -> Decimal | None:
    if by_length and not stock.offcut:
        return Decimal(stock.length_nm) / MILLIMETRE
    return stock.price


def _true_plan(plan: CutPlan, demand: CutDemand, savings: Savings) -> CutPlan:
    """Lay the pieces of a plan out at their true lengths on the true stock."""
    pieces = {piece.name: piece for piece in demand.pieces}
    stocks = {stock.sku: stock for stock in demand.stocks}
    bars = tuple(_true_bar(bar, stocks[bar.sku], pieces, demand, savings) for bar in plan.bars)
    bought_nm = sum(bar.length_nm for bar in bars)
    sawn_nm = sum(piece.length_nm for piece in demand.pieces) - sum(bar.shared_nm for bar in bars)
    shares = any(bar.shared_nm for bar in bars)
    return replace(
        plan,
        bars=bars,
        cost_is_length=_length_is_price(demand),
        yield_ratio=(Decimal(sawn_nm) / bought_nm).quantize(Decimal("0.0001")),
        method=f"{plan.method}, slanted cuts shared" if shares else plan.method,
    )


def _true_bar(
    bar: Bar,
    stock: StockLength,
    pieces: Mapping[str, Piece],
    demand: CutDemand,
    savings: Savings,
) -> Bar:
    trim = trim_nm(demand, stock)
    free, drop, shared = trim, 0, 0
    last: Piece | None = None
    cuts: list[Cut] = []
    # Pieces of one angle lie together: each pair of neighbours then shares its cut.
    in_order = sorted(bar.cuts, key=lambda cut: -pieces[cut.piece].saw_deg)
    for planned in bar.cuts if demand.pitch_nm is not None else in_order:
        piece = pieces[planned.piece]
        saved = savings[piece.saw_deg] if last and last.saw_deg == piece.saw_deg else 0
        start = free - saved if demand.pitch_nm is None else planned.start_nm
        if start < free:
            free, shared = free - saved, shared + saved
        drop += start - free
        cuts.append(replace(planned, start_nm=start, length_nm=piece.length_nm))
        free = start + piece.length_nm + demand.kerf_nm
        last = piece
    usable_end = stock.length_nm - trim
    return replace(
        bar,
        length_nm=stock.length_nm,
        cuts=tuple(cuts),
        remnant_nm=max(0, usable_end - free),
        kerf_nm=len(cuts) * demand.kerf_nm - max(0, free - usable_end),
        drop_nm=drop,
        trim_nm=2 * trim,
        shared_nm=shared,
    )
