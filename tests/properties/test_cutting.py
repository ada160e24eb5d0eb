"""Properties of every cut plan, and the optimum of tiny demands by trying everything."""

import random
from collections import Counter
from decimal import Decimal
from functools import lru_cache
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.adapters.solver.highs import HighsMasterSolver
from service.domain.cutting import heuristics
from service.domain.cutting.cut import cut
from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.cutting.plan import GOALS, CutPlan
from service.domain.cutting.scale import scale
from service.domain.errors import NotEnoughStock, PieceTooLong

SOLVER = HighsMasterSolver()
PITCH = 10


@st.composite
def demands(
    draw: st.DrawFn,
    most_pieces: int = 40,
    kinds: int = 8,
    punched: bool = False,
    limited: bool = False,
) -> CutDemand:
    lengths = draw(st.lists(st.integers(3, 60), min_size=1, max_size=kinds))
    kerf = draw(st.integers(0, 3))
    trim = draw(st.integers(0, 2))
    count = draw(st.integers(1, most_pieces))
    margins = [draw(st.one_of(st.none(), st.integers(0, 12))) for _ in lengths]
    pieces = []
    for i in range(count):
        at = draw(st.integers(0, len(lengths) - 1))
        margin = margins[at] if punched else None
        pickets = 0 if margin is None else max(0, (lengths[at] - margin) // PITCH + 1)
        if margin is not None and margin > lengths[at]:
            margin, pickets = None, 0
        pieces.append(Piece(f"p{i}", f"S{i}", lengths[at], 0.0, margin, None, pickets))
    stocks = []
    for length in draw(st.lists(st.integers(60, 130), min_size=1, max_size=4, unique=True)):
        price = draw(st.one_of(st.integers(1, 40), st.just(length)))
        few = st.integers(0, 3 if limited else 4)
        limit = draw(few if limited else st.one_of(st.none(), st.none(), few))
        first = draw(st.one_of(st.none(), st.integers(0, PITCH))) if punched else None
        stocks.append(StockLength(f"B{length}", length + 12, Decimal(price) / 4, first, limit))
    return CutDemand("rail", tuple(pieces), tuple(stocks), kerf, trim, PITCH if punched else None)


def cheapest_by_trying_everything(demand: CutDemand) -> Decimal | None:
    """Cheapest cost over all ways to share the pieces out; independent of the service's search."""
    alike = Counter((piece.length_nm, piece.first_picket_nm) for piece in demand.pieces)
    kinds = sorted(alike, key=str)

    @lru_cache(None)
    def lies(sku: int, chosen: tuple[int, ...]) -> bool:
        stock = demand.stocks[sku]
        row = [kind for kind, n in zip(kinds, chosen, strict=True) for _ in range(n)]
        orders = set(permutations(row)) if demand.pitch_nm else [tuple(row)]
        return any(_lies_in_order(demand, stock, order) for order in orders)

    def subsets(left: tuple[int, ...], at: int = 0) -> list[tuple[int, ...]]:
        if at == len(left):
            return [()]
        return [(n, *rest) for rest in subsets(left, at + 1) for n in range(left[at] + 1)]

    @lru_cache(None)
    def best(left: tuple[int, ...], bars: tuple[int, ...]) -> Decimal | None:
        if not any(left):
            return Decimal(0)
        first = next(i for i, n in enumerate(left) if n)
        found = None
        for chosen in subsets(left):
            if not chosen[first]:
                continue
            for sku, stock in enumerate(demand.stocks):
                if bars[sku] == 0 or not lies(sku, chosen):
                    continue
                fewer = tuple(n - (i == sku) for i, n in enumerate(bars))
                rest = best(tuple(a - b for a, b in zip(left, chosen, strict=True)), fewer)
                price = stock.price
                assert price is not None
                if rest is not None and (found is None or rest + price < found):
                    found = rest + price
        return found

    limits = tuple(len(demand.pieces) if s.limit is None else s.limit for s in demand.stocks)
    return best(tuple(alike[kind] for kind in kinds), limits)


def _lies_in_order(
    demand: CutDemand, stock: StockLength, order: tuple[tuple[int, int | None], ...]
) -> bool:
    at = demand.end_trim_nm
    for length, margin in order:
        if demand.pitch_nm and margin is not None:
            first = demand.pitch_nm // 2 if stock.first_picket_nm is None else stock.first_picket_nm
            while not (at + margin >= first and (at + margin - first) % demand.pitch_nm == 0):
                at += 1
        at += length + demand.kerf_nm
    return at - demand.kerf_nm <= stock.length_nm - demand.end_trim_nm


def assert_sawable(plan: CutPlan, demand: CutDemand) -> None:
    """Replay a plan without the service's own replay."""
    pieces = {piece.name: piece for piece in demand.pieces}
    assert sorted(cut.piece for bar in plan.bars for cut in bar.cuts) == sorted(pieces)
    by_sku = {stock.sku: stock for stock in demand.stocks}
    for sku, n in Counter(bar.sku for bar in plan.bars).items():
        limit = by_sku[sku].limit
        assert limit is None or n <= limit
    for bar in plan.bars:
        stock = by_sku[bar.sku]
        assert bar.length_nm == stock.length_nm
        at = demand.end_trim_nm
        for i, one in enumerate(bar.cuts):
            piece = pieces[one.piece]
            assert one.length_nm == piece.length_nm
            assert one.start_nm >= at + (demand.kerf_nm if i else 0)
            at = one.start_nm + one.length_nm
            if demand.pitch_nm and piece.first_picket_nm is not None:
                first = (
                    demand.pitch_nm // 2 if stock.first_picket_nm is None else stock.first_picket_nm
                )
                places = [first + k * demand.pitch_nm for k in range(200)]
                assert one.first_picket is not None
                assert places[one.first_picket - 1] == one.start_nm + piece.first_picket_nm
                held = [p for p in places if piece.first_picket_nm + one.start_nm <= p <= at]
                assert len(held) >= piece.pickets
        assert at <= bar.length_nm - demand.end_trim_nm
        sawn = sum(one.length_nm for one in bar.cuts)
        total = sawn + bar.kerf_nm + bar.drop_nm + bar.trim_nm + bar.remnant_nm
        assert total == bar.length_nm
        assert min(bar.kerf_nm, bar.drop_nm, bar.trim_nm, bar.remnant_nm) >= 0


def _plan(demand: CutDemand) -> CutPlan | None:
    try:
        return cut(demand, solver=SOLVER)
    except (PieceTooLong, NotEnoughStock):
        return None


@given(st.one_of(demands(), demands(punched=True, most_pieces=15)))
@settings(max_examples=60, deadline=None)
def test_plans_can_be_sawn_and_state_an_honest_bound(demand: CutDemand) -> None:
    plan = _plan(demand)
    if plan is None:
        return
    assert_sawable(plan, demand)
    assert plan.lower_bound <= plan.cost
    assert plan.proven_optimal == (plan.lower_bound == plan.cost)
    assert plan.proven == GOALS[: len(plan.proven)]
    assert plan.proven_optimal == bool(plan.proven)
    job = scale(demand)
    if demand.pitch_nm is None:
        first_fits = [heuristics.first_fit(job, s, None) for s in range(len(job.rooms))]
        for loads in first_fits:
            if loads is not None:
                assert plan.cost <= job.price(heuristics.cost_of(job, loads))


@given(demands(most_pieces=7, kinds=4))
@settings(max_examples=120, deadline=None)
def test_tiny_plain_demands_are_cut_at_the_least_cost(demand: CutDemand) -> None:
    plan = _plan(demand)
    if plan is None:
        return
    assert plan.proven_optimal
    assert plan.cost == cheapest_by_trying_everything(demand)


@given(demands(most_pieces=6, kinds=3, punched=True))
@settings(max_examples=80, deadline=None)
def test_tiny_punched_demands_are_cut_at_the_least_cost(demand: CutDemand) -> None:
    plan = _plan(demand)
    if plan is None:
        return
    assert plan.proven_optimal
    assert plan.cost == cheapest_by_trying_everything(demand)


@given(demands(most_pieces=6, kinds=3, limited=True))
@settings(max_examples=120, deadline=None)
def test_a_refusal_is_proven_and_true(demand: CutDemand) -> None:
    refusal: PieceTooLong | NotEnoughStock | None = None
    try:
        cut(demand, solver=SOLVER)
    except (PieceTooLong, NotEnoughStock) as error:
        refusal = error
    assert (refusal is None) == (cheapest_by_trying_everything(demand) is not None)
    assert refusal is None or "not found" not in refusal.detail


@given(demands(most_pieces=6, kinds=3, punched=True, limited=True))
@settings(max_examples=60, deadline=None)
def test_a_refusal_of_punched_rails_is_true(demand: CutDemand) -> None:
    if _plan(demand) is None:
        assert cheapest_by_trying_everything(demand) is None


@given(demands(), st.integers(0, 2**32))
@settings(max_examples=40, deadline=None)
def test_the_order_of_entry_changes_nothing(demand: CutDemand, seed: int) -> None:
    pieces, stocks = list(demand.pieces), list(demand.stocks)
    random.Random(seed).shuffle(pieces)
    random.Random(seed).shuffle(stocks)
    shuffled = CutDemand(
        demand.material, tuple(pieces), tuple(stocks), demand.kerf_nm, demand.end_trim_nm
    )
    assert _plan(demand) == _plan(shuffled)


def test_brute_force_itself_knows_a_case_worked_by_hand() -> None:
    # 3 pieces of 50 with kerf 2 on bars of 100 and 110: two fit 110 (102), none fit 100 but one.
    pieces = tuple(Piece(f"p{i}", "S", 50) for i in range(3))
    stocks = (StockLength("A", 100, Decimal(10)), StockLength("B", 110, Decimal(12)))
    assert cheapest_by_trying_everything(CutDemand("m", pieces, stocks, 2)) == Decimal(22)
    with pytest.raises(PieceTooLong, match="longer than"):
        cut(CutDemand("m", (Piece("p", "S", 200),), stocks, 2))
