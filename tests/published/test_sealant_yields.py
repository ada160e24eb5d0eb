"""Length of bead a cartridge yields, against published figures.

Sources:
    midwestsealantsupply.com, "Estimating sealant" (page 24023, copy read 2026-11-25): a 10.1 oz
    cartridge holds 18.3 in3 and yields 18 in3 / (12 x section in in2) feet, 24 ft of 1/4 x 1/4 in.
    calculatorsconversion.com, "Sealant calculation" (copy read 2026-11-25): table of the volume
    of rectangular joints by length, width and depth.

A third page, constructionmaterialcalculator.online, prints 50 to 55 ft of 1/4 x 1/4 in for the
same cartridge: twice what it holds. It is not followed.
"""

import pytest

from service.domain.lengths import METRE, inches, millimetres
from service.domain.takeoff.beads import VOLUMES, Bead, BeadShape

# 10.1 US fl oz; 1 US fl oz = 231/128 in3 (from memory, checked by the page's 18.3 in3).
CARTRIDGE_IN3 = 10.1 * 231 / 128


def yield_ft(bead):
    """Feet that one cartridge yields."""
    section_in2 = float(bead.section_nm2) / inches(1) ** 2
    return CARTRIDGE_IN3 / (12 * section_in2)


def test_the_cartridge_holds_what_is_printed():
    assert pytest.approx(18.3, abs=0.1) == CARTRIDGE_IN3


@pytest.mark.parametrize(
    ("width", "depth", "printed_ft"),
    [
        pytest.param(inches(0, 1, 4), inches(0, 1, 4), 24, id="1/4 x 1/4 in"),
        pytest.param(inches(0, 3, 8), inches(0, 1, 4), 16, id="3/8 x 1/4 in"),
        pytest.param(inches(0, 1, 2), inches(0, 1, 4), 12, id="1/2 x 1/4 in"),
    ],
)
def test_yield_as_the_supplier_reckons_it(width, depth, printed_ft):
    """Its rule takes 18 in3 for 18.23, 1.3 % less."""
    assert yield_ft(Bead(BeadShape.RECTANGLE, width, depth)) == pytest.approx(printed_ft, rel=0.015)


@pytest.mark.parametrize(
    ("length_m", "width_mm", "depth_mm", "printed_ml"),
    [
        (1, 5, 5, 25), (1, 10, 5, 50), (1, 20, 5, 100), (5, 10, 5, 250), (10, 10, 10, 1000),
        (50, 15, 10, 7500), (100, 20, 10, 20000),
    ],
)  # fmt: skip
def test_volume_as_tabulated(length_m, width_mm, depth_mm, printed_ml):
    bead = Bead(BeadShape.RECTANGLE, millimetres(width_mm), millimetres(depth_mm))
    assert bead.section_nm2 * length_m * METRE == printed_ml * 10 ** VOLUMES["MLT"]


def test_a_fillet_is_half_a_square_and_a_round_bead_pi_quarters_of_one():
    """Yields 48.61 and 30.94 ft of 1/4 in; by hand, 24.30 x 2 and x 4/pi."""
    assert yield_ft(Bead(BeadShape.FILLET, inches(0, 1, 4))) == pytest.approx(48.61, abs=0.005)
    assert yield_ft(Bead(BeadShape.ROUND, inches(0, 1, 4))) == pytest.approx(30.94, abs=0.005)
