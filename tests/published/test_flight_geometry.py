"""Geometry of a flight against published and independently derived values.

Sources, by id of the value:
- STAIR-ANGLE-JLC: 7-5/8 over 10 rakes at 37.3 degrees (trade journal, "Quick Layout for Stair
  Rails and Balusters").
- STAIR-STRINGER: 2100 mm rise and 3000 mm run give 3662 mm on the slope (carpentry handbook site).
- stair.angle rows: stair tables in degrees and minutes, to 3 minutes of arc.
- STAIR-POST-H, -RAIL-VDEPTH, -RAIL-EDGE, -RAIL-STOCK, -RACK-GAP on a 7.5 / 10 stair (a 3-4-5
  triangle): plane trigonometry, checked by a second method.
"""

from dataclasses import replace

import pytest

from service.domain.layout.deck import Stair
from service.domain.layout.records import Rake
from service.domain.layout.stairs import (
    FlightPost,
    blank_nm,
    level_nm,
    plumb_depth_nm,
    rail_top_nm,
    rake_of,
    slope_nm,
)
from service.domain.lengths import inches, millimetres
from tests.unit.domain.layout.builders import SYSTEM, stair

PYTHAGOREAN = rake_of(stair())


def flight(rise_nm: int, run_nm: int) -> Stair:
    return replace(stair(), total_rise_nm=7 * rise_nm, unit_run_nm=run_nm)


@pytest.mark.parametrize(
    ("rise_nm", "run_nm", "angle_deg", "within_deg"),
    [
        pytest.param(inches(7, 5, 8), inches(10), 37.3, 0.05, id="STAIR-ANGLE-JLC"),
        pytest.param(inches(7, 1, 2), inches(10), 36.8699, 1e-4, id="STAIR-ANGLE-345"),
        pytest.param(inches(6, 1, 2), inches(11), 30 + 35 / 60, 0.05, id="stair.angle.6.5-11"),
        pytest.param(
            inches(6, 3, 4), inches(10, 3, 4), 32 + 8 / 60, 0.05, id="stair.angle.6.75-10.75"
        ),
        pytest.param(inches(7), inches(10, 1, 2), 33 + 41 / 60, 0.05, id="stair.angle.7-10.5"),
        pytest.param(
            inches(7, 1, 4), inches(10, 1, 4), 35 + 16 / 60, 0.05, id="stair.angle.7.25-10.25"
        ),
    ],
)
def test_rake_angle(rise_nm: int, run_nm: int, angle_deg: float, within_deg: float) -> None:
    assert rake_of(flight(rise_nm, run_nm)).angle_deg == pytest.approx(angle_deg, abs=within_deg)


def test_length_on_the_slope() -> None:
    rake = Rake(millimetres(2100), millimetres(3000), 0.0)
    assert slope_nm(rake, millimetres(3000)) == pytest.approx(millimetres(3662), abs=500_000)


def test_rail_top_above_a_tread() -> None:
    """STAIR-POST-H: H + s tan(rake) = 36 + 5 x 0.75 = 39.75 in."""
    post = FlightPost(inches(-5), 0, "deck")
    assert rail_top_nm(stair(), post, post.x_nm, SYSTEM) == inches(39, 3, 4)


def test_plumb_face_of_a_raked_rail() -> None:
    """STAIR-RAIL-VDEPTH: 1.5 / 0.8 = 1.875 in."""
    assert plumb_depth_nm(PYTHAGOREAN, inches(1, 1, 2)) == inches(1, 7, 8)


def test_rail_edge_and_stock_between_plumb_faces() -> None:
    """STAIR-RAIL-EDGE 60 / 0.8 = 75 in; STAIR-RAIL-STOCK 75 + 1.5 x 0.75 = 76.125 in."""
    assert slope_nm(PYTHAGOREAN, inches(60)) == inches(75)
    assert blank_nm(PYTHAGOREAN, inches(60), inches(1, 1, 2)) == inches(76, 1, 8)


def test_clear_gap_of_a_racked_panel() -> None:
    """STAIR-RACK-GAP: 4.5 x 0.8 - 0.75 = 2.85 in."""
    clear = level_nm(PYTHAGOREAN, inches(4, 1, 2)) - inches(0, 3, 4)
    assert clear == inches(2, 17, 20)
