"""Plans kept between demands are those that would be found again, and no others."""

from dataclasses import replace
from decimal import Decimal

import pytest

from service.adapters.solver import saw as saw_module
from service.adapters.solver.saw import Saw
from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.cutting.plan import CutPlan

PIECES = tuple(Piece(f"S{i} top", f"S{i}", 700 + 30 * i) for i in range(6))
STOCKS = (StockLength("R16", 1_800, Decimal(16)), StockLength("R24", 2_600, Decimal(23)))
DEMAND = CutDemand("rail", PIECES, STOCKS, kerf_nm=3)
CHANGES = (
    {"kerf_nm": 4},
    {"end_trim_nm": 5},
    {"least_remnant_nm": 100},
    {"pieces": PIECES[1:]},
    {"pieces": (replace(PIECES[0], element="S9"), *PIECES[1:])},
    {"stocks": (replace(STOCKS[0], price=Decimal(30)), STOCKS[1])},
    {"stocks": (replace(STOCKS[0], limit=1), STOCKS[1])},
    {"stocks": (replace(STOCKS[0], end_trim_nm=2), STOCKS[1])},
)


@pytest.fixture
def cuts(monkeypatch) -> list[CutDemand]:
    """Give the demands that were cut rather than remembered."""
    seen: list[CutDemand] = []
    truly = saw_module.cut

    def counted(demand: CutDemand, **how: object) -> CutPlan:
        seen.append(demand)
        return truly(demand, **how)

    monkeypatch.setattr(saw_module, "cut", counted)
    return seen


def test_the_same_demand_is_cut_once(cuts):
    saw = Saw(10)
    first = saw(DEMAND)
    assert saw(replace(DEMAND)) == first == Saw(10, kept=0)(DEMAND)
    assert len(cuts) == 2  # one by each saw


@pytest.mark.parametrize("change", CHANGES, ids=[next(iter(change)) for change in CHANGES])
def test_whatever_differs_is_cut_anew(cuts, change):
    saw, other = Saw(10), replace(DEMAND, **change)
    saw(DEMAND)
    assert saw(other) == Saw(10, kept=0)(other)
    assert cuts == [DEMAND, other, other]


def test_the_longest_unused_is_forgotten(cuts):
    saw, others = Saw(10, kept=2), [replace(DEMAND, kerf_nm=kerf) for kerf in (1, 2)]
    for demand in (DEMAND, others[0], DEMAND, others[1], DEMAND):
        saw(demand)
    assert cuts == [DEMAND, *others]
    saw(others[0])
    assert cuts == [DEMAND, *others, others[0]]


def test_a_plan_that_the_clock_ended_is_not_kept(cuts):
    saw = Saw(0)
    assert saw(DEMAND) == saw(DEMAND)
    assert len(cuts) == 2


def test_what_is_forgotten_is_cut_anew(cuts):
    saw = Saw(10)
    first = saw(DEMAND)
    saw.forget()
    assert saw(DEMAND) == first
    assert len(cuts) == 2
