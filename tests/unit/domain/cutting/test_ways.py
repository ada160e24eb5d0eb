"""The ways to cut a bar, against every choice of pieces, and what the pieces are worth."""

from decimal import Decimal
from itertools import combinations_with_replacement

from hypothesis import given, settings
from hypothesis import strategies as st

from service.adapters.solver.highs import HighsMasterSolver
from service.domain.cutting import few
from service.domain.cutting.cut import cut
from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.cutting.plan import GOALS
from service.domain.cutting.scale import Job, Load, scale
from service.domain.cutting.ways import PARTS, values_of, ways_of


def demand_of(lengths: list[int], prices: list[int]) -> CutDemand:
    pieces = tuple(Piece(f"p{i}", "S1", length) for i, length in enumerate(lengths))
    stocks = tuple(
        StockLength(f"s{i}", 100 + 45 * i, Decimal(price)) for i, price in enumerate(prices)
    )
    return CutDemand("rail", pieces, stocks, kerf_nm=1)


def every_way(job: Job) -> set[tuple[int, Load]]:
    """Give every pattern on its cheapest stock, and what it costs, by trying all."""
    found = set()
    for pieces in range(1, sum(job.counts) + 1):
        for pattern in combinations_with_replacement(range(len(job.takes)), pieces):
            taken = sum(job.takes[kind] for kind in pattern)
            fitting = [
                (job.costs[s], -room, s) for s, room in enumerate(job.rooms) if taken <= room
            ]
            if fitting and all(pattern.count(k) <= n for k, n in enumerate(job.counts)):
                cost, _, stock = min(fitting)
                found.add((cost, (stock, pattern)))
    return found


_LENGTHS = st.lists(st.integers(20, 100), min_size=1, max_size=8)
_PRICES = st.lists(st.integers(10, 40), min_size=1, max_size=3)


@settings(deadline=None)
@given(_LENGTHS, _PRICES)
def test_every_pattern_is_given_once_on_its_cheapest_stock(
    lengths: list[int], prices: list[int]
) -> None:
    job = scale(demand_of(lengths, prices))
    ways = ways_of(job, None)
    assert {(cost, load) for cost, _, load, _ in ways} == every_way(job)
    assert len({load for _, _, load, _ in ways}) == len(ways)
    for _, taken, (_, pattern), before in ways:
        assert taken == sum(job.takes[kind] for kind in pattern)
        assert pattern[:-1] == (ways[before][2][1] if before >= 0 else ())


@settings(deadline=None)
@given(_LENGTHS, _PRICES)
def test_no_way_is_worth_more_than_it_costs(lengths: list[int], prices: list[int]) -> None:
    job = scale(demand_of(lengths, prices))
    ways = ways_of(job, None)
    values, wastes = values_of(job, ways)
    for (cost, _, (_, pattern), _), waste in zip(ways, wastes, strict=True):
        assert waste == cost * PARTS - sum(values[kind] for kind in pattern) >= 0
    for kind in range(len(values)):
        copies = [(load[1].count(kind), at) for at, (_, _, load, _) in enumerate(ways)]
        assert any(wastes[at] < n for n, at in copies), "its value could be raised"


def test_set_ups_are_proven_without_a_search_where_no_bar_can_be_cut_twice(monkeypatch) -> None:
    """Two pieces are alike, and two bars with one of them each leave 100 unused."""
    monkeypatch.setattr(few, "SPREAD_STEPS", 0)
    demand = demand_of([49, 49, 70, 26, 60, 37], [10])
    plan = cut(demand, solver=HighsMasterSolver())
    assert (len(plan.bars), plan.set_ups, plan.proven) == (3, 3, GOALS)


def test_set_ups_are_searched_for_where_a_bar_can_be_cut_twice(monkeypatch) -> None:
    demand = demand_of([49, 49, 49, 49, 70, 26], [10])
    plan = cut(demand, solver=HighsMasterSolver())
    assert (len(plan.bars), plan.set_ups, plan.proven) == (3, 2, GOALS)
