"""Slanted cuts that neighbours share, worked by hand and against drawn polygons."""

import math
import random
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import pytest
from shapely.geometry import Polygon

from service.adapters.solver.highs import HighsMasterSolver
from service.domain.cutting.cut import cut
from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.cutting.nest import cut_nested, savings_of
from service.domain.cutting.verify import WrongPlanError, replay
from service.domain.errors import PieceTooLong
from service.domain.lengths import inches

DEPTH = inches(1, 1, 2)
KERF = inches(0, 1, 8)
SOLVER = HighsMasterSolver()


def saw(demand):
    return cut(demand, solver=SOLVER)


def rails(count, length, angle, prefix="S"):
    return tuple(Piece(f"{prefix}{i} top", f"{prefix}{i}", length, angle) for i in range(count))


def demand(pieces, *stocks, **more):
    return CutDemand("top rail", pieces, stocks, KERF, inches(0, 1, 4), nest_depth_nm=DEPTH, **more)


def drawn(bar, pieces, depth):
    """Each piece as the polygon it is in elevation, in mm along and across the bar."""
    shapes = []
    for one in bar.cuts:
        lean = depth * math.tan(math.radians(pieces[one.piece].saw_deg))
        start, end = one.start_nm, one.start_nm + one.length_nm
        corners = [(start, depth), (end - lean, depth), (end, 0), (start + lean, 0)]
        shapes.append(Polygon([(x / 1e6, y / 1e6) for x, y in corners]))
    return shapes


def test_a_shared_cut_saves_the_lean_less_what_the_leaning_blade_takes():
    # 36.87 degrees is the 3-4-5 triangle: tan = 0.75, cos = 0.8, so a 1-1/2 in rail leans
    # 1.125 in, the 1/8 in blade takes 5/32 in of the bar, and 1.125 - 1/32 in is saved.
    angle = math.degrees(math.atan2(3, 4))
    saved = savings_of(demand(rails(1, inches(40), angle)))[angle]
    assert abs(saved - inches(1, 3, 32)) <= 2


def test_two_rails_fit_a_bar_only_because_they_share_a_cut():
    angle = math.degrees(math.atan2(3, 4))
    # Two 48 in rails and a square cut take 96-1/8 in of the 95-1/2 in usable; sharing, 95-1/32 in.
    stock = StockLength("R8", inches(96), Decimal(30))
    nested = cut_nested(demand(rails(2, inches(48), angle), stock), saw)
    assert (len(nested.bars), nested.cost, nested.proven_optimal) == (1, Decimal(30), True)
    bar = nested.bars[0]
    assert abs(bar.remnant_nm - (inches(95, 1, 2) - inches(95, 1, 32) - KERF)) <= 2
    square = cut_nested(replace(demand(rails(2, inches(48), angle), stock), nest_depth_nm=0), saw)
    assert len(square.bars) == 2


def test_pieces_drawn_on_the_bar_stay_a_kerf_apart():
    pieces = rails(7, inches(31), 33.0)
    asked = demand(pieces, StockLength("R12", inches(144), Decimal(50)))
    plan = cut_nested(asked, saw)
    assert sum(bar.shared_nm for bar in plan.bars) > 0
    by_name = {piece.name: piece for piece in pieces}
    for bar in plan.bars:
        shapes = drawn(bar, by_name, DEPTH)
        for first, then in pairwise(shapes):
            assert KERF / 1e6 - 1e-6 <= first.distance(then) < KERF / 1e6 + 1e-5


def test_several_angles_share_each_with_its_own_and_are_bounded():
    pieces = (*rails(3, inches(40), 30.0, "A"), *rails(3, inches(40), 40.0, "B"))
    asked = demand(pieces, StockLength("R12", inches(144), Decimal(50)))
    plan = cut_nested(asked, saw)
    replay(plan, asked)
    assert plan.cost <= saw(replace(asked, nest_depth_nm=0)).cost
    assert plan.lower_bound <= plan.cost


def test_a_square_piece_beside_raked_ones_is_parted_square():
    pieces = (*rails(2, inches(40), 30.0), *rails(1, inches(20), 0.0, "L"))
    asked = demand(pieces, StockLength("R12", inches(144), Decimal(50)))
    (bar,) = cut_nested(asked, saw).bars
    first, second, third = bar.cuts
    assert second.start_nm < first.start_nm + first.length_nm
    assert third.start_nm == second.start_nm + second.length_nm + KERF


def test_punched_rails_keep_their_phase_and_gain_only_whole_pitches():
    pitch = inches(5, 1, 2)
    pieces = tuple(
        Piece(f"S{i}", f"S{i}", inches(46), 36.87, inches(4), inches(3, 1, 2), 8) for i in range(2)
    )
    stock = StockLength("P8", inches(96), Decimal(30), first_picket_nm=inches(4, 1, 4))
    asked = demand(pieces, stock, pitch_nm=pitch)
    plan = cut_nested(asked, saw)  # replayed with its pickets
    first, second = plan.bars[0].cuts
    assert (second.start_nm - first.start_nm) % pitch == 0
    # Starts 49-1/2 in apart with a square cut (46-1/8 in passes 44 in); sharing needs 45-1/32 in
    # and so still 49-1/2 in: nothing is gained.
    assert second.start_nm - first.start_nm == inches(49, 1, 2)
    assert plan.bars[0].shared_nm == 0


def test_punched_rails_share_where_a_whole_pitch_is_won():
    pitch = inches(5, 1, 2)
    pieces = tuple(
        Piece(f"S{i}", f"S{i}", inches(44), 36.87, inches(4), inches(1, 1, 2), 8) for i in range(2)
    )
    stock = StockLength("P8", inches(96), Decimal(30), first_picket_nm=inches(4, 1, 4))
    plan = cut_nested(demand(pieces, stock, pitch_nm=pitch), saw)
    first, second = plan.bars[0].cuts
    assert second.start_nm - first.start_nm == inches(44)  # 8 pitches; a square cut takes 9
    assert plan.bars[0].shared_nm > 0


def test_too_long_a_rail_is_refused_in_its_true_length():
    asked = demand(rails(1, inches(100), 30.0), StockLength("R8", inches(96), Decimal(1)))
    with pytest.raises(PieceTooLong, match=r"2540\.0 mm is longer than the 2425\.7 mm"):
        cut_nested(asked, saw)


def test_length_stands_for_price_where_there_is_none():
    asked = demand(rails(2, inches(48), 36.87), StockLength("R8", inches(96)))
    plan = cut_nested(asked, saw)
    assert (plan.cost_is_length, plan.cost) == (True, Decimal("2438.4"))


@pytest.mark.parametrize(
    ("move", "message"),
    [
        pytest.param(-2, "inside a slanted cut", id="nearer than the blade"),
        pytest.param(5, "the remnant of a R8 is wrong", id="farther than it says"),
    ],
)
def test_the_replay_sees_a_piece_moved(move, message):
    asked = demand(rails(2, inches(48), 36.87), StockLength("R8", inches(96), Decimal(30)))
    plan = cut_nested(asked, saw)
    first, second = plan.bars[0].cuts
    moved = replace(second, start_nm=second.start_nm + move)
    bar = replace(plan.bars[0], cuts=(first, moved))
    with pytest.raises(WrongPlanError, match=message):
        replay(replace(plan, bars=(bar,)), asked)


def test_the_replay_lets_nothing_be_shared_on_a_profile_that_may_not_be_flipped():
    asked = demand(rails(2, inches(48), 36.87), StockLength("R8", inches(96), Decimal(30)))
    plan = cut_nested(asked, saw)
    with pytest.raises(WrongPlanError, match="starts inside the cut before it"):
        replay(plan, replace(asked, nest_depth_nm=0))


def brute_force(pieces, usable, saved):
    """Fewest bars over all ways to share the pieces out; a bar of n saves (n - 1) times."""
    best = len(pieces)

    def place(at, bars):
        nonlocal best
        if len(bars) >= best:
            return
        if at == len(pieces):
            best = len(bars)
            return
        for bar in [*bars, []]:
            trial = [*bar, pieces[at]]
            takes = sum(p + KERF for p in trial) - KERF - (len(trial) - 1) * saved
            if takes <= usable:
                place(at + 1, [*(b for b in bars if b is not bar), trial])

    place(0, [])
    return best


@pytest.mark.parametrize("seed", range(12))
def test_one_angle_agrees_with_trying_everything(seed):
    chosen = random.Random(seed)
    lengths = [inches(chosen.randint(18, 50)) for _ in range(7)]
    pieces = tuple(Piece(f"p{i}", f"S{i}", n, 36.0) for i, n in enumerate(lengths))
    asked = demand(pieces, StockLength("R8", inches(96), Decimal(1)))
    saved = savings_of(asked)[36.0]
    plan = cut_nested(asked, saw)
    assert plan.proven_optimal
    assert len(plan.bars) == brute_force(lengths, inches(95, 1, 2), saved)
