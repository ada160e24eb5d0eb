"""Offcuts before bars, and remnants worth keeping with their phase."""

from dataclasses import replace
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.cutting.cut import cut
from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.cutting.offcuts import Offcut, cut_for_shop
from service.domain.cutting.plan import Remnant
from service.domain.cutting.verify import replay
from service.domain.lengths import inches

STOCK = StockLength("R8", inches(96), Decimal(40))


def demand(*lengths, **more):
    pieces = tuple(Piece(f"S{i}", f"S{i}", inches(n)) for i, n in enumerate(lengths))
    return CutDemand("top rail", pieces, (STOCK,), inches(0, 1, 8), inches(0, 1, 4), **more)


def test_an_offcut_is_used_before_a_bar_is_bought():
    plan = cut_for_shop(demand(50), [Offcut("left over", "R8", inches(51))], cut)
    (bar,) = plan.bars
    assert (bar.sku, bar.offcut, bar.trim_nm, plan.cost) == ("left over", True, 0, 0)


def test_an_offcut_that_saves_nothing_stays_on_its_shelf():
    plan = cut_for_shop(demand(50, 40), [Offcut("left over", "R8", inches(51))], cut)
    assert [bar.sku for bar in plan.bars] == ["R8"]


def test_offcuts_stay_where_bars_cost_the_same_without_them():
    offcuts = [Offcut(f"o{i}", "R8", inches(31)) for i in range(3)]
    # One bar holds the three pieces of 30 in; the piece of 80 in needs another in any case.
    without = cut_for_shop(demand(80, 30, 30, 30), [], cut)
    plan = cut_for_shop(demand(80, 30), [replace(offcuts[0], length_nm=inches(15))], cut)
    assert not any(bar.offcut for bar in plan.bars)
    assert cut_for_shop(demand(80, 30, 30, 30), offcuts, cut).cost < without.cost


def test_an_offcut_worth_more_than_a_bar_is_not_used():
    dear = Offcut("left over", "R8", inches(51), value=Decimal(41))
    assert [bar.sku for bar in cut_for_shop(demand(50), [dear], cut).bars] == ["R8"]


def test_each_of_several_alike_is_used_once_and_named():
    offcuts = [Offcut(f"piece {i}", "R8", inches(51)) for i in range(3)]
    plan = cut_for_shop(demand(50, 50, 50, 50), offcuts, cut)
    assert sorted(bar.sku for bar in plan.bars) == ["R8", "piece 0", "piece 1", "piece 2"]


def test_without_prices_an_offcut_is_free_whatever_its_value():
    asked = replace(demand(50), stocks=(replace(STOCK, price=None),))
    plan = cut_for_shop(asked, [Offcut("a", "R8", inches(51), value=Decimal(9))], cut)
    assert (plan.bars[0].sku, plan.cost, plan.cost_is_length) == ("a", 0, True)


def test_plain_offcuts_are_left_aside_on_punched_material_and_the_other_way_round():
    punched = Offcut("punched", "R8", inches(51), first_picket_nm=inches(2))
    assert [bar.sku for bar in cut_for_shop(demand(50), [punched], cut).bars] == ["R8"]
    asked = demand(50, pitch_nm=inches(4))
    plain = Offcut("plain", "R8", inches(51))
    assert [bar.sku for bar in cut_for_shop(asked, [plain], cut).bars] == ["R8"]


def test_only_remnants_worth_keeping_are_named():
    plan = cut_for_shop(demand(50, 80, least_remnant_nm=inches(24)), [], cut)
    kept = {bar.cuts[0].length_nm: bar.reusable for bar in plan.bars}
    # 96 less two trims of 1/4, the piece and a kerf of 1/8.
    assert kept[inches(50)] is not None
    assert kept[inches(50)].length_nm == inches(45, 3, 8)
    assert kept[inches(80)] is None
    exactly = cut_for_shop(demand(50, least_remnant_nm=inches(45, 3, 8)), [], cut)
    assert exactly.bars[0].reusable is not None
    above = cut_for_shop(demand(50, least_remnant_nm=inches(45, 3, 8) + 1), [], cut)
    assert above.bars[0].reusable is None


def test_the_remnant_of_a_punched_bar_starts_at_a_known_phase():
    piece = Piece("S1", "S1", inches(41), 0.0, inches(2, 1, 2), inches(2, 1, 2), 9)
    stock = replace(STOCK, first_picket_nm=inches(3))
    asked = CutDemand(
        "top rail",
        (piece,),
        (stock,),
        inches(0, 1, 8),
        inches(0, 1, 4),
        inches(4, 1, 2),
        inches(24),
    )
    (bar,) = cut_for_shop(asked, [], cut).bars
    # The piece starts at 1/2 and ends at 41-1/2; the remnant starts at 41-5/8; places fall at
    # 3 + 4-1/2 k = 43-1/2, so 1-7/8 from its start.
    assert bar.reusable == Remnant("top rail remnant 1", inches(54, 1, 8), inches(1, 7, 8))


@settings(max_examples=60, deadline=None)
@given(
    margins=st.lists(st.integers(0, 9), min_size=1, max_size=4),
    firsts=st.integers(0, 9),
    kerf=st.integers(0, 3),
)
def test_what_a_punched_bar_leaves_is_cut_again_in_phase(margins, firsts, kerf):
    """The remnant as stock gives the same places as the bar it came from."""
    pieces = tuple(
        Piece(f"p{i}", f"S{i}", margin + 23, 0.0, margin, 3, 3) for i, margin in enumerate(margins)
    )
    stock = StockLength("B", 300, Decimal(5), first_picket_nm=firsts)
    asked = CutDemand("rail", pieces, (stock,), kerf, 2, 10, 30)
    bar = cut_for_shop(asked, [], cut).bars[0]
    assert bar.reusable is not None
    last = bar.cuts[-1]
    start = last.start_nm + last.length_nm + kerf
    places = {firsts + 10 * k - start for k in range(30)}
    again = {bar.reusable.first_picket_nm + 10 * k for k in range(30)}
    assert {p for p in places if 0 <= p < bar.reusable.length_nm} == {
        p for p in again if p < bar.reusable.length_nm
    }
    more = Piece("q", "Q", 25, 0.0, 2, 3, 3)
    second = replace(asked, pieces=(more,))
    offcut = Offcut("left", "B", bar.reusable.length_nm, bar.reusable.first_picket_nm)
    plan = cut_for_shop(second, [offcut], cut)
    if plan.bars[0].offcut:
        assert start + plan.bars[0].cuts[0].start_nm + 2 - firsts in range(0, 400, 10)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.integers(10, 90), min_size=1, max_size=10),
    st.lists(st.integers(5, 80), max_size=6),
)
def test_offcuts_never_cost_more_than_doing_without(lengths, spare):
    asked = demand(*lengths)
    offcuts = [Offcut(f"o{i}", "R8", inches(n)) for i, n in enumerate(spare)]
    plan = cut_for_shop(asked, offcuts, cut)
    replay(
        plan,
        replace(
            asked,
            stocks=(
                *asked.stocks,
                *(
                    StockLength(o.name, o.length_nm, Decimal(0), None, 1, 0, offcut=True)
                    for o in offcuts
                ),
            ),
        ),
    )
    assert plan.cost <= cut(asked).cost
