"""Small jobs settled exactly, against all partitions of the pieces into bars."""

from collections.abc import Iterator
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from service.adapters.solver.highs import HighsMasterSolver
from service.domain.cutting import few, heuristics
from service.domain.cutting.cut import cut
from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.cutting.phase import PunchedBars
from service.domain.cutting.scale import scale

SOLVER = HighsMasterSolver()  # with one, small jobs begin with their patterns


def partitions(items: list[int]) -> Iterator[list[list[int]]]:
    """Give every way to put items into unordered bars."""
    if not items:
        yield []
        return
    first, *others = items
    for rest in partitions(others):
        yield [[first], *rest]
        for i, group in enumerate(rest):
            yield [*rest[:i], [first, *group], *rest[i + 1 :]]


def cheapest_by_hand(demand: CutDemand) -> Decimal:
    """Cheapest price over all partitions; pieces plus a kerf between each two must fit."""
    lengths = [piece.length_nm for piece in demand.pieces]
    usable = [(s.length_nm - 2 * demand.end_trim_nm, s.price or Decimal(0)) for s in demand.stocks]

    def price(group: list[int]) -> Decimal:
        taken = sum(group) + (len(group) - 1) * demand.kerf_nm
        return min((p for room, p in usable if taken <= room), default=Decimal("Infinity"))

    return min(sum(map(price, groups), Decimal(0)) for groups in partitions(lengths))


def demand_of(lengths: list[int], prices: list[int], kerf: int) -> CutDemand:
    pieces = tuple(Piece(f"p{i}", "S1", length) for i, length in enumerate(lengths))
    stocks = tuple(
        StockLength(f"s{i}", 100 + 45 * i, Decimal(price)) for i, price in enumerate(prices)
    )
    return CutDemand("rail", pieces, stocks, kerf_nm=kerf)


@settings(deadline=None)
@given(
    st.lists(st.integers(20, 100), min_size=1, max_size=7),
    st.lists(st.integers(10, 40), min_size=1, max_size=3),
    st.integers(0, 3),
)
def test_small_jobs_agree_with_all_partitions(
    lengths: list[int], prices: list[int], kerf: int
) -> None:
    demand = demand_of(lengths, prices, kerf)
    by_hand = cheapest_by_hand(demand)
    for plan in (cut(demand), cut(demand, solver=SOLVER)):
        assert plan.proven_optimal
        assert plan.cost == plan.lower_bound == by_hand


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.integers(1, 5), st.integers(2, 6)), min_size=2, max_size=6),
    st.integers(0, 2),
)
def test_punched_jobs_agree_with_all_partitions_that_lie_in_phase(
    rails: list[tuple[int, int]], kerf: int
) -> None:
    """Rails of so many pickets at a pitch of 10, with so much at either end; every partition.

    Each bar is tried by the phase rule itself.
    """
    pieces = tuple(
        Piece(f"p{i}", "S1", 10 * (count - 1) + 2 * margin, 0.0, margin, margin, count)
        for i, (count, margin) in enumerate(rails)
    )
    stocks = (StockLength("short", 70, Decimal(9), 5), StockLength("long", 130, Decimal(16), 5))
    demand = CutDemand("rail", pieces, stocks, kerf_nm=kerf, pitch_nm=10)
    job = scale(demand)
    punched = PunchedBars(demand, job, 10)
    kind_of = {p.name: k for k, kind in enumerate(job.kinds) for p in kind}

    def price(group: list[int]) -> Decimal:
        pattern = tuple(sorted(kind_of[pieces[i].name] for i in group))
        fitting = [
            stock.price or Decimal(0)
            for number, stock in enumerate(job.stocks)
            if punched.fits(number, pattern)
        ]
        return min(fitting, default=Decimal("Infinity"))

    by_hand = min(
        sum(map(price, groups), Decimal(0)) for groups in partitions(list(range(len(pieces))))
    )
    assert cut(demand).cost == cut(demand, solver=SOLVER).cost == by_hand


def test_what_is_too_large_is_left_to_the_solver() -> None:
    lengths = list(range(40, 40 + few.MOST_PIECES + 1))
    job = scale(demand_of(lengths, [10, 13], 1))
    first = heuristics.good_plans(job, None)[0]
    assert few.SmallJob(job, None).settle(first) is None


def test_limited_stock_is_left_to_the_solver() -> None:
    pieces = tuple(Piece(f"p{i}", "S1", 60) for i in range(3))
    stocks = (StockLength("offcut", 130, Decimal(1), limit=1), StockLength("new", 130, Decimal(5)))
    job = scale(CutDemand("rail", pieces, stocks, kerf_nm=0))
    first = heuristics.good_plans(job, None)[0]
    assert few.SmallJob(job, None).settle(first) is None


def test_a_job_whose_patterns_give_no_answer_is_cut_all_the_same(monkeypatch) -> None:
    demand = demand_of([50, 47, 44, 41, 38, 35], [10, 13], 1)
    settled = cut(demand, solver=SOLVER)
    monkeypatch.setattr(few, "MOST_STEPS", 0)
    searched = cut(demand, solver=SOLVER)
    assert settled.method == "all patterns" != searched.method
    assert settled.cost == searched.cost == cheapest_by_hand(demand)


def test_too_many_steps_give_no_answer(monkeypatch) -> None:
    monkeypatch.setattr(few, "MOST_STEPS", 1)
    job = scale(demand_of([50, 47, 44, 41, 38, 35], [10, 13], 1))
    first = heuristics.good_plans(job, None)[0]
    assert few.SmallJob(job, None).settle(first) is None
    monkeypatch.setattr(few, "MOST_STEPS", 3_000)
    assert few.SmallJob(job, None).settle(first) is not None
