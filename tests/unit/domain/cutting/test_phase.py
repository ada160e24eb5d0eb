"""Pre-punched stock: pieces start in phase, neighbours share a picket only where margins allow."""

from dataclasses import replace
from decimal import Decimal
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.adapters.solver.highs import HighsMasterSolver
from service.domain.cutting.cut import cut
from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.cutting.phase import PunchedBars
from service.domain.cutting.plan import Cut, CutPlan
from service.domain.cutting.scale import Job, scale
from service.domain.cutting.verify import WrongPlanError, replay
from service.domain.errors import PieceTooLong

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


@pytest.mark.parametrize("solver", [None, SOLVER])
def test_a_piece_out_of_phase_with_every_stock_is_refused_by_name(solver) -> None:
    # 300 long, on a bar of 310 punched at 40, 140, ...: it starts at 90 and would end at 390.
    asked = demand(railing(20, 50), length=310, first=40)
    with pytest.raises(PieceTooLong, match=r"piece p2 .* ends 0.1 mm past") as refusal:
        cut(replace(asked, **in_micrometres(asked)), solver=solver)
    assert refusal.value.element == "S2"
    assert "Split section S2 at a line post" in refusal.value.advice
    assert "at least 0.4 mm" in refusal.value.advice


def in_micrometres(asked: CutDemand) -> dict[str, object]:
    """Give a demand a thousand times as long, so that its lengths can be printed."""
    row = tuple(
        replace(p, length_nm=1000 * p.length_nm, first_picket_nm=1000 * (p.first_picket_nm or 0),
                last_picket_nm=1000 * (p.last_picket_nm or 0))
        for p in asked.pieces
    )  # fmt: skip
    (stock,) = asked.stocks
    bar = replace(
        stock, length_nm=1000 * stock.length_nm, first_picket_nm=1000 * (stock.first_picket_nm or 0)
    )
    return {"pieces": row, "stocks": (bar,), "pitch_nm": 1000 * PITCH}


def test_a_piece_that_one_stock_holds_in_phase_is_cut_from_it() -> None:
    row, other = railing(50), StockLength("Q", 300, Decimal(90), 50)
    plan = cut(replace(demand(row, length=310, first=40), stocks=(other, *demand(row).stocks)))
    assert plan.bars[0].sku == "R"
    plan = cut(replace(demand(row), stocks=(other, *demand(row, length=310, first=40).stocks)))
    assert plan.bars[0].sku == "Q"


TWO = demand(railing(48, 48))
SAWN = cut(TWO)
FIRST, SECOND = SAWN.bars[0].cuts  # at 2 and 302; places 1 and 4


def on_the_bar(*cuts: Cut, **changes: int) -> CutPlan:
    return replace(SAWN, bars=(replace(SAWN.bars[0], cuts=cuts, **changes),))


@pytest.mark.parametrize(
    ("wrong", "fault"),
    [
        # The whole grid moved by a nanometre, and by half a pitch.
        (on_the_bar(replace(FIRST, start_nm=3), replace(SECOND, start_nm=303)), "out of phase"),
        (on_the_bar(FIRST, replace(SECOND, start_nm=352)), "out of phase"),
        # A place is named that is not the one under the saw, none, or one before the bar.
        (on_the_bar(FIRST, replace(SECOND, first_picket=5)), "out of phase"),
        (on_the_bar(FIRST, replace(SECOND, first_picket=None)), "no punched place"),
        (on_the_bar(replace(FIRST, start_nm=-98, first_picket=0), SECOND), r"inside|punched"),
        # In phase, and yet inside the piece before; in the other order, too.
        (on_the_bar(FIRST, replace(SECOND, start_nm=202, first_picket=3)), "inside the cut"),
        (on_the_bar(SECOND, FIRST), "inside the cut"),
        # In phase on a bar that is too short for it.
        (on_the_bar(FIRST, replace(SECOND, start_nm=802, first_picket=9)), "usable end"),
        # What the saw takes is left out, or told as drop or remnant.
        (on_the_bar(FIRST, SECOND, kerf_nm=0), "losses"),
        (on_the_bar(FIRST, SECOND, kerf_nm=0, drop_nm=10), "losses"),
        (on_the_bar(FIRST, SECOND, kerf_nm=0, remnant_nm=SAWN.bars[0].remnant_nm + 8), "remnant"),
        (on_the_bar(FIRST), "remnant"),
        (on_the_bar(FIRST, SECOND, length_nm=1001), "no stock"),
        (replace(SAWN, bars=SAWN.bars * 2), "not the pieces asked for"),
    ],
)
def test_a_plan_tampered_with_is_refused(wrong: CutPlan, fault: str) -> None:
    replay(SAWN, TWO)
    with pytest.raises(WrongPlanError, match=fault):
        replay(wrong, TWO)


def test_a_plan_for_a_thinner_blade_or_another_grid_is_refused() -> None:
    with pytest.raises(WrongPlanError, match="inside the cut"):
        replay(SAWN, replace(TWO, kerf_nm=5))
    with pytest.raises(WrongPlanError, match=r"losses|remnant"):
        replay(SAWN, replace(TWO, kerf_nm=3))
    for first in (49, 51, 0):
        with pytest.raises(WrongPlanError, match="out of phase"):
            replay(SAWN, demand(TWO.pieces, first=first))
    with pytest.raises(WrongPlanError, match=r"out of phase|wrong margin|too short"):
        replay(SAWN, replace(TWO, pitch_nm=99))


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 90), st.integers(1, 4)), min_size=1, max_size=6),
    st.integers(0, 6),
    st.data(),
)
def test_no_cut_of_any_punched_plan_can_be_moved(
    rails: list[tuple[int, int]], kerf: int, data: st.DataObject
) -> None:
    row = tuple(
        replace(one, name=f"p{i}")
        for i, (margin, pickets) in enumerate(rails)
        for one in railing(max(margin, 1), pickets=pickets)
    )
    asked = demand(row, kerf=kerf)
    plan = cut(asked)
    at = data.draw(st.integers(0, len(plan.bars) - 1))
    bar = plan.bars[at]
    number = data.draw(st.integers(0, len(bar.cuts) - 1))
    by = data.draw(st.integers(-PITCH, PITCH).filter(bool))
    place = bar.cuts[number].first_picket or 0
    moved = replace(bar.cuts[number], start_nm=bar.cuts[number].start_nm + by,
                    first_picket=place + by // PITCH)  # fmt: skip
    cuts = (*bar.cuts[:number], moved, *bar.cuts[number + 1 :])
    bars = (*plan.bars[:at], replace(bar, cuts=cuts), *plan.bars[at + 1 :])
    with pytest.raises(WrongPlanError):
        replay(replace(plan, bars=bars), asked)


@st.composite
def bars_of_pieces(draw: st.DrawFn) -> tuple[PunchedBars, Job]:
    """A few pieces, and stocks punched from different places; most sets just fit or just do not."""
    pieces = []
    for number in range(draw(st.integers(1, 5))):
        length = draw(st.integers(30, 400))
        margin = draw(st.none() | st.integers(0, min(length, 130)))
        pickets = 0 if margin is None else (length - margin) // PITCH + 1
        pieces.append(Piece(f"p{number}", f"S{number}", length, 0.0, margin, None, pickets))
    stocks = tuple(
        StockLength(f"R{length}", length, Decimal(length), draw(st.none() | st.integers(0, 250)))
        for length in draw(st.lists(st.integers(700, 1400), min_size=1, max_size=3, unique=True))
    )
    railing = CutDemand("rail", tuple(pieces), stocks, draw(st.integers(0, 5)), 5, PITCH)
    job = scale(railing)
    return PunchedBars(railing, job, PITCH), job


def earliest_end(bars: PunchedBars, job: Job, stock: int, order: tuple[int, ...]) -> int:
    """Lay pieces on a bar one after the other, each as early as its pickets allow."""
    first = job.stocks[stock].first_picket_nm
    grid = PITCH // 2 if first is None else first
    end = None
    for kind in order:
        piece = job.kinds[kind][0]
        start = 5 if end is None else end + bars._kerf
        margin = piece.first_picket_nm
        while margin is not None and (start + margin < grid or (start + margin - grid) % PITCH):
            start += 1
        end = start + piece.length_nm
    assert end is not None
    return end


@given(bars_of_pieces(), st.data())
def test_a_set_fits_where_one_of_its_orders_does(
    drawn: tuple[PunchedBars, Job], data: st.DataObject
):
    bars, job = drawn
    every = [kind for kind, count in enumerate(job.counts) for _ in range(count)]
    for stock, bought in enumerate(job.stocks):
        pattern = tuple(sorted(data.draw(st.sets(st.sampled_from(range(len(every))), min_size=1))))
        pattern = tuple(every[at] for at in pattern)
        end = min(earliest_end(bars, job, stock, order) for order in permutations(pattern))
        room = bought.length_nm - 5 - end
        assert bars.fits(stock, pattern) == (room >= 0)
        assert bars.most_room_after(stock, pattern) >= room
        assert bars.room_after(stock, pattern) == room
