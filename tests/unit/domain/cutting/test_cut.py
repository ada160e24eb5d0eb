"""The cut as a whole: small demands worked by hand, refusals, and what a plan states."""

import random
from dataclasses import replace
from decimal import Decimal
from time import monotonic

import pytest

from service.adapters.solver.highs import HighsMasterSolver
from service.adapters.solver.saw import Saw
from service.domain.cutting.cut import cut
from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.cutting.heuristics import good_plans
from service.domain.cutting.scale import scale
from service.domain.cutting.verify import WrongPlanError, replay
from service.domain.errors import NotEnoughStock, PieceTooLong

SOLVER = HighsMasterSolver()


def pieces(*lengths: int) -> tuple[Piece, ...]:
    return tuple(Piece(f"p{i}", f"S{i}", length) for i, length in enumerate(lengths, 1))


def stock(length: int, price: str | None = None, **more: object) -> StockLength:
    known = None if price is None else Decimal(price)
    return replace(StockLength(f"B{length}", length, known), **more)


def test_pieces_that_fill_the_bar_exactly_need_a_kerf_less_than_pieces() -> None:
    plan = cut(CutDemand("rail", pieces(48, 49), (stock(100, "1"),), kerf_nm=3))
    (bar,) = plan.bars
    assert [(one.start_nm, one.length_nm) for one in bar.cuts] == [(0, 49), (52, 48)]
    assert (bar.kerf_nm, bar.remnant_nm) == (3, 0)


def test_one_nanometre_more_needs_a_second_bar() -> None:
    plan = cut(CutDemand("rail", pieces(49, 49), (stock(100, "1"),), kerf_nm=3))
    assert len(plan.bars) == 2


def test_a_rest_shorter_than_the_kerf_goes_to_the_saw() -> None:
    (bar,) = cut(CutDemand("rail", pieces(98), (stock(100, "1"),), kerf_nm=3)).bars
    assert (bar.kerf_nm, bar.remnant_nm) == (2, 0)


def test_both_ends_are_trimmed() -> None:
    (bar,) = cut(CutDemand("rail", pieces(60), (stock(100, "1"),), kerf_nm=3, end_trim_nm=5)).bars
    assert bar.cuts[0].start_nm == 5
    assert (bar.trim_nm, bar.remnant_nm) == (10, 100 - 10 - 60 - 3)


def test_the_cheaper_stock_wins_over_the_better_yield() -> None:
    stocks = (stock(100, "10"), stock(150, "9"))
    plan = cut(CutDemand("rail", pieces(100), stocks, kerf_nm=0))
    assert [bar.sku for bar in plan.bars] == ["B150"]
    assert plan.cost == Decimal(9)
    assert plan.yield_ratio == Decimal("0.6667")


def test_without_prices_length_stands_for_price() -> None:
    stocks = (stock(100_000_000), stock(150_000_000))
    plan = cut(CutDemand("rail", pieces(90_000_000), stocks, kerf_nm=0))
    assert plan.cost_is_length
    assert plan.cost == Decimal(100)


def test_of_plans_at_one_price_the_one_with_fewer_bars_is_taken() -> None:
    stocks = (stock(100, "10"), stock(200, "20"))
    plan = cut(CutDemand("rail", pieces(90, 90, 90, 90), stocks, kerf_nm=0), solver=SOLVER)
    assert [bar.sku for bar in plan.bars] == ["B200", "B200"]


def test_the_remnant_is_gathered_on_one_bar() -> None:
    plan = cut(CutDemand("rail", pieces(50, 50, 30, 20), (stock(100, "1"),), kerf_nm=0))
    assert sorted(bar.remnant_nm for bar in plan.bars) == [0, 50]


def test_a_limited_cheap_stock_is_used_up_first() -> None:
    stocks = (stock(100, "1", limit=1), stock(101, "5"))
    plan = cut(CutDemand("rail", pieces(90, 90), stocks, kerf_nm=0), solver=SOLVER)
    assert sorted(bar.sku for bar in plan.bars) == ["B100", "B101"]
    assert plan.cost == 6


def test_a_free_offcut_is_used_before_new_stock() -> None:
    stocks = (stock(80, None, limit=1, offcut=True, end_trim_nm=0), stock(100, "5"))
    plan = cut(CutDemand("rail", pieces(75, 90), stocks, kerf_nm=0, end_trim_nm=2), solver=SOLVER)
    assert not plan.cost_is_length
    assert plan.cost == 5
    assert [bar.offcut for bar in plan.bars] == [False, True]


def test_a_piece_longer_than_every_stock_names_its_section() -> None:
    demand = CutDemand("top rail", pieces(50, 120), (stock(100, "1"),), kerf_nm=0)
    with pytest.raises(PieceTooLong, match="p2") as refusal:
        cut(demand)
    assert refusal.value.element == "S2"
    assert "Split section S2" in refusal.value.advice


def test_too_few_bars_are_refused() -> None:
    demand = CutDemand("rail", pieces(90, 90), (stock(100, "1", limit=1),), kerf_nm=0)
    with pytest.raises(NotEnoughStock, match="too little"):
        cut(demand)


def test_stock_just_enough_is_used_though_no_heuristic_finds_how() -> None:
    # Three bars are filled to the brim.
    row = pieces(*(49, 26, 25), *(40, 35, 25), *(44, 21, 19, 16))
    demand = CutDemand("rail", row, (stock(100, "1", limit=3),), kerf_nm=0)
    assert good_plans(scale(demand), None) == []
    plan = cut(demand, solver=SOLVER)
    assert plan.cost == 3
    assert plan.proven_optimal


def test_stock_too_little_by_its_shape_is_refused_by_proof() -> None:
    # 197 of 200. The bar with 50 must hold 97 or more, but no others add up to 47 to 50.
    row = pieces(50, 37, 33, 32, 23, 22)
    demand = CutDemand("rail", row, (stock(100, "1", limit=2),), kerf_nm=0)
    with pytest.raises(NotEnoughStock, match="is too little for all pieces"):
        cut(demand, solver=SOLVER)
    with pytest.raises(NotEnoughStock, match="was not found to be enough"):
        cut(demand)


def test_without_a_solver_the_gap_is_stated() -> None:
    # 24 pieces on two stocks of unlike rates, made so that first fit is not proven by the bounds.
    row = pieces(*[53, 41, 37, 29, 23, 19] * 4)
    demand = CutDemand("rail", row, (stock(101, "7.1"), stock(149, "10")), kerf_nm=1)
    plain, solved = cut(demand), cut(demand, solver=SOLVER)
    assert plain.lower_bound <= solved.cost <= plain.cost
    assert solved.proven_optimal


def test_a_clock_that_has_run_out_still_gives_a_plan_with_its_bound() -> None:
    row = pieces(*[53, 41, 37, 29, 23, 19] * 10)
    demand = CutDemand("rail", row, (stock(101, "7.1"), stock(149, "10")), kerf_nm=1)
    plan = cut(demand, solver=SOLVER, seconds_left=lambda: 0.0)
    assert plan.lower_bound <= plan.cost
    replay(plan, demand)


@pytest.mark.parametrize(
    ("demand", "fault"),
    [
        (CutDemand("rail", (), (stock(9, "1"),), 0), "longer than 0"),
        (CutDemand("rail", pieces(5, -1), (stock(9, "1"),), 0), "longer than 0"),
        (CutDemand("rail", pieces(5) * 2, (stock(9, "1"),), 0), "same name"),
        (CutDemand("rail", pieces(5), (stock(9, "1"), stock(9, "2")), 0), "same SKU"),
        (CutDemand("rail", pieces(5), (stock(9, "-1"),), 0), "price is below 0"),
        (CutDemand("rail", pieces(5), (stock(9, "1", limit=-1),), 0), "limit is below 0"),
    ],
)
def test_nonsense_is_an_error(demand: CutDemand, fault: str) -> None:
    with pytest.raises(ValueError, match=fault):
        cut(demand)


DEMAND = CutDemand("rail", pieces(60, 30), (stock(100, "4"),), kerf_nm=3, end_trim_nm=1)
PLAN = cut(DEMAND)
BAR = PLAN.bars[0]
LONG, SHORT = BAR.cuts


@pytest.mark.parametrize(
    ("wrong", "fault"),
    [
        (replace(PLAN, bars=()), "not the pieces asked for"),
        (replace(PLAN, bars=(BAR, BAR)), "not the pieces asked for"),
        (replace(PLAN, cost=Decimal(3)), "cost"),
        (replace(PLAN, lower_bound=Decimal(5)), "lower bound"),
        (replace(PLAN, proven=("bars",)), "out of order"),
        (replace(PLAN, proven=()), "out of order"),
        (replace(PLAN, bars=(replace(BAR, sku="?"),)), "no stock"),
        (replace(PLAN, bars=(replace(BAR, remnant_nm=1),)), "remnant"),
        (replace(PLAN, bars=(replace(BAR, kerf_nm=0),)), "losses"),
        (replace(PLAN, bars=(replace(BAR, cuts=(LONG, replace(SHORT, start_nm=62))),)), "inside"),
        (replace(PLAN, bars=(replace(BAR, cuts=(LONG, replace(SHORT, start_nm=75))),)), "usable"),
        (replace(PLAN, bars=(replace(BAR, cuts=(LONG, replace(SHORT, length_nm=9))),)), "length"),
    ],
)
def test_the_replay_finds_every_fault(wrong: object, fault: str) -> None:
    with pytest.raises(WrongPlanError, match=fault):
        replay(wrong, DEMAND)  # type: ignore[arg-type]


def test_the_saw_stops_in_time_on_hundreds_of_unlike_lengths() -> None:
    draw = random.Random(1)
    row = pieces(*[draw.randrange(10**8, 24 * 10**8) for _ in range(250)])
    stocks = (stock(2_438_400_000, "41.20"), stock(6_096_000_000, "102.40"))
    demand = CutDemand("rail", row, stocks, kerf_nm=3_175_000)
    start = monotonic()
    plan = Saw(0.5)(demand)
    assert monotonic() - start < 10
    assert plan.lower_bound <= plan.cost
