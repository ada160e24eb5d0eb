"""The cheapest cut of railing jobs against CP-SAT of OR-Tools (Apache-2.0), on a model of its own.

The model knows nanometres, prices in cents and the kerf, and nothing of the service's scaling:
which bar each piece lies on, and which stock each bar is.
"""

import random
from decimal import Decimal

import pytest
from ortools.sat.python import cp_model

from service.adapters.solver.highs import HighsMasterSolver
from service.domain.cutting.cut import cut
from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.lengths import inches

CENTS = 100


def cheapest_cents(demand: CutDemand, bars: int) -> int:
    """Give the least price of a demand on so many bars at most, proven by CP-SAT."""
    model = cp_model.CpModel()
    bought = [[model.new_bool_var("") for _ in demand.stocks] for _ in range(bars)]
    on = [[model.new_bool_var("") for _ in range(bars)] for _ in demand.pieces]
    for row in on:
        model.add_exactly_one(row)
    for bar, stocks in enumerate(bought):
        model.add_at_most_one(stocks)
        # A kerf between each two pieces: one less than there are pieces.
        room = sum(
            (stock.length_nm - 2 * demand.end_trim_nm + demand.kerf_nm) * chosen
            for stock, chosen in zip(demand.stocks, stocks, strict=True)
        )
        taken = sum(
            (piece.length_nm + demand.kerf_nm) * row[bar]
            for piece, row in zip(demand.pieces, on, strict=True)
        )
        model.add(taken <= room)
    cents = [int((stock.price or 0) * CENTS) for stock in demand.stocks]
    model.minimize(
        sum(price * one for stocks in bought for price, one in zip(cents, stocks, strict=True))
    )
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_time_in_seconds = 60
    assert solver.solve(model) == cp_model.OPTIMAL
    return round(solver.objective_value)


def railing(seed: int) -> CutDemand:
    """Make up rails of one deck: edges of 4 to 24 ft in even sections, two rails a section."""
    draw = random.Random(f"rails {seed}")
    lengths: list[int] = []
    while len(lengths) < 8 + seed % 5:
        edge = draw.randrange(4 * 12 * 16, 24 * 12 * 16)
        sections = -(-edge // (6 * 12 * 16))
        lengths += [inches(0, edge // sections - 32, 16)] * (2 * sections)
    row = [Piece(f"p{i}", "S1", length) for i, length in enumerate(lengths[:12])]
    stocks = [
        StockLength(f"R{feet}", inches(12 * feet), Decimal(feet * draw.randrange(480, 540)) / CENTS)
        for feet in (8, 12, 16, 20)
    ]
    return CutDemand("rail", tuple(row), tuple(stocks), inches(0, 1, 8), inches(0, 1, 4))


@pytest.mark.parametrize("seed", range(8))
def test_railing_jobs_cost_what_cp_sat_finds_least(seed: int) -> None:
    demand = railing(seed)
    plan = cut(demand, solver=HighsMasterSolver())
    assert plan.proven_optimal
    cheapest = min(stock.price or Decimal(0) for stock in demand.stocks)
    most = min(len(demand.pieces), int(plan.cost / cheapest))  # no plan as cheap has more bars
    assert plan.cost * CENTS == cheapest_cents(demand, most)
