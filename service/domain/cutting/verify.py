"""Saw the plan on paper: replay every cut on the stock and check every piece.

Written against the demand alone and sharing nothing with the search that made the plan, so that an
error there cannot hide here. Guarantee: when ``replay`` returns, each piece of the demand is cut
exactly once at its length, with a kerf between neighbours (square, or across the slanted cut that
two pieces of one angle share), clear of the trimmed ends, with its pickets on punched places; each
bar adds up to the nanometre; no stock passes its limit; the cost is the sum of the bars and not
under the stated bound.
"""

import math
from collections import Counter
from decimal import Decimal

from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.cutting.plan import GOALS, Bar, Cut, CutPlan
from service.domain.lengths import MILLIMETRE


class WrongPlanError(AssertionError):
    """A cut plan that cannot be sawn as printed: a fault of the service, never of the request."""


def replay(plan: CutPlan, demand: CutDemand) -> None:
    """Replay a plan on the stock of its demand.

    Raises:
        WrongPlanError: The plan cannot be sawn, or does not give the pieces asked for.
    """
    pieces = {piece.name: piece for piece in demand.pieces}
    stocks = {stock.sku: stock for stock in demand.stocks}
    used: Counter[str] = Counter()
    sawn: Counter[str] = Counter()
    for bar in plan.bars:
        stock = stocks.get(bar.sku)
        if stock is None or stock.length_nm != bar.length_nm:
            raise WrongPlanError(f"no stock {bar.sku}")
        _saw(bar, stock, pieces, demand)
        used[bar.sku] += 1
        sawn.update(cut.piece for cut in bar.cuts)
    _check(sawn == Counter(list(pieces)), "pieces sawn are not the pieces asked for")
    for sku, bars in used.items():
        limit = stocks[sku].limit
        _check(limit is None or bars <= limit, f"{bars} bars of {sku} are more than there are")
    _check_cost(plan, used, stocks)


def _saw(bar: Bar, stock: StockLength, pieces: dict[str, Piece], demand: CutDemand) -> None:
    trim = demand.end_trim_nm if stock.end_trim_nm is None else stock.end_trim_nm
    usable_end = bar.length_nm - trim
    free, drops, shared = trim, 0, 0
    before: Cut | None = None
    for cut in bar.cuts:
        piece = pieces.get(cut.piece)
        if piece is None:
            raise WrongPlanError(f"no piece {cut.piece}")
        _check(cut.length_nm == piece.length_nm, f"{cut.piece} has the wrong length")
        if before is not None and cut.start_nm < free:
            overlap = free - _past_shared_cut(before, pieces[before.piece], cut, piece, demand)
            free, shared = free - overlap, shared + overlap
        _check(cut.start_nm >= free, f"{cut.piece} starts inside the cut before it")
        _check(cut.start_nm + cut.length_nm <= usable_end, f"{cut.piece} passes the usable end")
        if demand.pitch_nm is not None:
            _check_phase(cut, piece, stock, demand.pitch_nm)
        drops += cut.start_nm - free
        free = cut.start_nm + cut.length_nm + demand.kerf_nm
        before = cut
    remnant = max(0, usable_end - free)
    kerf = len(bar.cuts) * demand.kerf_nm - max(0, free - usable_end)
    _check(bool(bar.cuts), "a bar without cuts")
    _check(bar.remnant_nm == remnant, f"the remnant of a {bar.sku} is wrong")
    _check((bar.kerf_nm, bar.drop_nm, bar.trim_nm) == (kerf, drops, 2 * trim), "wrong losses")
    _check(bar.shared_nm == shared, "the cuts shared are wrong")
    sawn = sum(cut.length_nm for cut in bar.cuts)
    total = sawn + bar.kerf_nm + bar.drop_nm + bar.trim_nm + bar.remnant_nm
    _check(total == bar.length_nm + shared, f"a {bar.sku} does not add up")


def _past_shared_cut(before: Cut, first: Piece, cut: Cut, piece: Piece, demand: CutDemand) -> int:
    """Give where a piece may start that shares a slanted cut with the one before it. [nm].

    In elevation a piece is a parallelogram: its end face runs from the long point on one edge
    back to the other edge, and there the next piece has its own long point.
    """
    same = demand.nest_depth_nm > 0 and first.saw_deg == piece.saw_deg > 0
    _check(same, f"{cut.piece} starts inside the cut before it")
    angle = math.radians(piece.saw_deg)
    corner = before.start_nm + before.length_nm
    corner -= math.floor(demand.nest_depth_nm * math.tan(angle))
    _check(corner > before.start_nm, f"{before.piece} is shorter than its slanted end")
    apart = (cut.start_nm - corner) * math.cos(angle)
    _check(apart >= demand.kerf_nm - 1e-3, f"{cut.piece} starts inside a slanted cut")
    return corner + math.ceil(demand.kerf_nm / math.cos(angle))


def _check_phase(cut: Cut, piece: Piece, stock: StockLength, pitch_nm: int) -> None:
    if piece.first_picket_nm is None:
        _check(cut.first_picket is None, f"{cut.piece} has no pickets")
        return
    first = pitch_nm // 2 if stock.first_picket_nm is None else stock.first_picket_nm
    place = cut.first_picket
    if place is None or place < 1:
        raise WrongPlanError(f"{cut.piece} starts at no punched place")
    picket = first + (place - 1) * pitch_nm
    _check(picket == cut.start_nm + piece.first_picket_nm, f"{cut.piece} is out of phase")
    last = picket + max(0, piece.pickets - 1) * pitch_nm
    _check(last <= cut.start_nm + cut.length_nm, f"{cut.piece} is too short for its pickets")
    if piece.last_picket_nm is not None and piece.pickets:
        margin = cut.start_nm + cut.length_nm - last
        _check(margin == piece.last_picket_nm, f"{cut.piece} ends at the wrong margin")


def _check_cost(plan: CutPlan, used: Counter[str], stocks: dict[str, StockLength]) -> None:
    cost = Decimal(0)
    for sku, bars in used.items():
        stock = stocks[sku]
        if plan.cost_is_length and not stock.offcut:
            cost += bars * Decimal(stock.length_nm) / MILLIMETRE
        else:
            cost += bars * (stock.price or Decimal(0))
    _check(plan.cost == cost, "the cost is not that of the bars")
    _check(plan.lower_bound <= cost, "the cost is under its lower bound")
    _check(not plan.proven_optimal or plan.lower_bound == cost, "a proof without a closed gap")
    in_order = plan.proven == GOALS[: len(plan.proven)]
    _check(in_order and bool(plan.proven) == plan.proven_optimal, "goals proven out of order")


def _check(true: bool, otherwise: str) -> None:
    if not true:
        raise WrongPlanError(otherwise)
