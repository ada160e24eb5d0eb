"""Several jobs in one plan against each alone."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.cutting.combine import JobDemand, combine
from service.domain.cutting.cut import cut
from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.cutting.offcuts import Offcut
from service.domain.errors import DemandsDisagree, NotEnoughStock

STOCK = (StockLength("R10", 1000, Decimal(10)), StockLength("R5", 500, Decimal(6)))


def job(name, *lengths, stocks=STOCK, **more):
    pieces = tuple(Piece(f"S{i}", f"S{i}", n) for i, n in enumerate(lengths))
    return JobDemand(name, "R", CutDemand("rail", pieces, stocks, 4, 2, **more))


def test_two_halves_of_a_bar_make_one():
    combined = combine([job("Ash", 600), job("Elm", 390)], (), cut)
    assert [(a.job, a.cost, a.bars) for a in combined.alone] == [("Ash", 10, 1), ("Elm", 6, 1)]
    assert (combined.plan.cost, combined.saved_cost, combined.saved_bars) == (10, 6, 1)
    assert [(p.piece, p.job, p.section) for p in combined.pieces] == [
        ("Ash: S0", "Ash", "S0"),
        ("Elm: S0", "Elm", "S0"),
    ]


def test_one_job_saves_nothing():
    combined = combine([job("Ash", 600)], (), cut)
    assert (combined.saved_cost, combined.saved_bars) == (0, 0)


def test_an_offcut_serves_one_job_only_when_each_is_cut_alone():
    offcut = Offcut("left", "R", 450)
    combined = combine([job("Ash", 440), job("Elm", 440)], [offcut], cut)
    assert [alone.cost for alone in combined.alone] == [0, 6]
    assert combined.offcuts == (offcut,)


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        ({"stocks": STOCK[:1]}, "stock lengths or prices"),
        ({"stocks": (replace(STOCK[0], price=Decimal(11)), STOCK[1])}, "stock lengths or prices"),
        ({"pitch_nm": 50}, "picket pitch"),
        ({"nest_depth_nm": 40}, "profiles"),
    ],
)
def test_jobs_that_differ_are_refused(changes, what):
    with pytest.raises(DemandsDisagree, match=f"Ash and Elm .* different {what}"):
        combine([job("Ash", 300), job("Elm", 300, **changes)], (), cut)


def test_stock_in_another_order_is_the_same_stock():
    assert combine([job("Ash", 300), job("Elm", 300, stocks=STOCK[::-1])], (), cut).plan.bars


def test_a_limit_holds_for_the_day():
    few = (replace(STOCK[0], limit=1),)
    jobs = [job("Ash", 600, stocks=few), job("Elm", 600, stocks=few)]
    with pytest.raises(NotEnoughStock, match="within its limits is too little"):
        combine(jobs, (), cut)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.lists(st.integers(30, 900), min_size=1, max_size=5),
        min_size=1,
        max_size=4,
    ),
    st.lists(st.integers(30, 900), max_size=4),
)
def test_together_is_never_dearer_than_alone(jobs, spare):
    offcuts = [Offcut(f"o{i}", "R", n) for i, n in enumerate(spare)]
    combined = combine([job(f"J{i}", *n) for i, n in enumerate(jobs)], offcuts, cut)
    assert combined.saved_cost >= 0
    assert combined.plan.lower_bound <= combined.plan.cost
    cuts = sorted(cut.piece for bar in combined.plan.bars for cut in bar.cuts)
    assert cuts == sorted(piece.piece for piece in combined.pieces)
