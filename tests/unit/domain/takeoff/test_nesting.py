"""Which rails may share slanted cuts, and what the saw is told of them."""

from dataclasses import replace

import pytest

from service.domain.cutting.cut import cut
from service.domain.cutting.demand import StockLength
from service.domain.cutting.offcuts import cut_for_shop
from service.domain.layout.system import RailProfile
from service.domain.lengths import inches
from service.domain.takeoff.parts import PartsList, Shop
from service.domain.takeoff.take_off import take_off
from tests.unit.domain.takeoff.builders import SYSTEM, part, small_deck

STOCK = (StockLength("SR-12", inches(144)),)
ALIKE = replace(SYSTEM, top_rail=RailProfile(inches(1, 1, 2), inches(2), symmetric=True))


def demand_of(system, *, per="rail", pieces="1", **where):
    rule = part("SR", per, pieces, category="rail", where=where, stock=STOCK)
    shop = Shop(inches(0, 1, 8), inches(0, 1, 4), least_remnant_nm=inches(20))
    laid_out = replace(small_deck(), system=system)
    (demand,) = take_off(laid_out, PartsList((rule,), (), shop)).demands
    return demand


@pytest.mark.parametrize(
    ("system", "where", "depth"),
    [
        pytest.param(SYSTEM, {"place": ("top",)}, 0, id="sides not alike"),
        pytest.param(ALIKE, {"place": ("top",)}, inches(1, 1, 2), id="alike"),
        pytest.param(ALIKE, {"place": ("bottom",)}, 0, id="only the top rail is"),
        pytest.param(ALIKE, {}, 0, id="two profiles from one stock"),
    ],
)
def test_depth_for_sharing_cuts(system, where, depth):
    demand = demand_of(system, **where)
    assert demand.nest_depth_nm == depth
    assert demand.least_remnant_nm == inches(20)


def test_what_is_no_rail_shares_nothing():
    assert demand_of(ALIKE, per="picket").nest_depth_nm == 0


def test_two_raked_rails_of_one_stair_share_a_cut():
    # Blanks of 50 in, so two of them and a square cut take 100-1/8 in; atan(3/4) at 1-1/2 in
    # depth leans 1-1/8 in, of which the leaning blade takes 1/32 in back.
    demand = demand_of(ALIKE, pieces="2", place=("top",), raked=("yes",))
    (bar,) = cut_for_shop(demand, (), cut).bars
    assert abs(bar.shared_nm - inches(1, 3, 32)) < inches(0, 1, 64)  # the deck says 36.87 degrees
    used = inches(143, 1, 2) - bar.remnant_nm
    assert abs(used - (inches(100, 1, 4) - bar.shared_nm)) <= 1
    assert bar.reusable is not None
