"""Pre-punched stock: pieces start in phase, neighbours share a picket only where margins allow."""

from dataclasses import replace
from decimal import Decimal

import pytest

from service.adapters.solver.highs import HighsMasterSolver
from service.domain.cutting.cut import cut
from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.cutting.verify import WrongPlanError, replay

SOLVER = HighsMasterSolver()
PITCH = 100


def railing(*margins: int, pickets: int = 3) -> tuple[Piece, ...]:
    return tuple(
        Piece(f"p{i}", f"S{i}", 2 * m + (pickets - 1) * PITCH, 0.0, m, m, pickets)
        for i, m in enumerate(margins, 1)
    )


def demand(
    row: tuple[Piece, ...], length: int = 1000, first: int | None = 50, kerf: int = 4
) -> CutDemand:
    stock = StockLength("R", length, Decimal(10), first)
    return CutDemand("rail", row, (stock,), kerf, 0, PITCH)


def test_neighbours_share_the_grid_where_margins_and_kerf_fit_the_pitch() -> None:
    # 48 + 4 + 48 = 100: exactly the pitch, so no punched place is lost.
    (bar,) = cut(demand(railing(48, 48))).bars
    assert [one.first_picket for one in bar.cuts] == [1, 4]
    assert bar.drop_nm == 2  # from the end of the bar to the first piece


def test_one_nanometre_more_loses_a_punched_place() -> None:
    (bar,) = cut(demand(railing(48, 48), kerf=5)).bars
    assert [one.first_picket for one in bar.cuts] == [1, 5]


def test_the_first_place_is_half_a_pitch_in_where_the_stock_does_not_say() -> None:
    plan = cut(demand(railing(50), first=None))
    assert plan.bars[0].cuts[0].start_nm == 0
    assert plan.bars[0].cuts[0].first_picket == 1


def test_a_place_before_the_bar_begins_is_no_place() -> None:
    # First place at 250: a piece with a margin of 50 cannot use 50 or 150, which are not punched.
    (bar,) = cut(demand(railing(50), first=250)).bars
    assert (bar.cuts[0].start_nm, bar.cuts[0].first_picket) == (200, 1)


def test_order_on_the_bar_is_chosen_so_that_margins_fit() -> None:
    # 76 beside 76 would lose a place; 20 + 4 + 76 is exactly the pitch, so in turn none is lost:
    # first place 50, eleven pitches on the last at 1150, and a margin of 76 ends at 1226.
    row = railing(20, 20, 76, 76)
    plan = cut(demand(row, length=1226))
    assert len(plan.bars) == 1
    assert len(cut(demand(row, length=1225)).bars) == 2


def test_plain_pieces_are_cut_anywhere() -> None:
    row = (*railing(48), Piece("plain", "S9", 333))
    plan = cut(demand(row), solver=SOLVER)
    assert len(plan.bars) == 1
    places = {one.piece: one.first_picket for one in plan.bars[0].cuts}
    assert places == {"p1": 1, "plain": None}


def test_a_plan_that_ignores_the_phase_does_not_replay() -> None:
    asked = demand(railing(48, 48))
    plan = cut(asked)
    first, second = plan.bars[0].cuts
    moved = replace(plan.bars[0], cuts=(first, replace(second, start_nm=second.start_nm + 1)))
    with pytest.raises(WrongPlanError, match="out of phase"):
        replay(replace(plan, bars=(moved,)), asked)


def test_punched_stock_needs_more_than_plain_stock_and_says_so_truly() -> None:
    # Plain: 3 pieces of 300 and kerfs fill 908 of 910. Punched: each junction loses a place.
    row = railing(50, 50, 50)
    assert len(cut(demand(row, length=910)).bars) == 2
    plain = replace(demand(row, length=910), pitch_nm=None)
    assert len(cut(plain).bars) == 1
