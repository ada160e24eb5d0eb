"""Movement of rails with heat against published and independently derived values.

Sources, by id of the value:
- TH-GYP: a gypsum association's glossary gives "approximately 3/4 in" for 100 ft of aluminium and
  50 F. The coefficient 13.1e-6 per F is from memory.
- TH-SHEET: a published worksheet, 360 in, 100 F, 12.3e-6 per F: 0.4428 in.
- TH-20-100, TH-6m-60, TH-GAP, TH-MAXOPEN: worked out from alpha L dT and checked a second way.

A trade magazine's table prints 0.96 in for 200 ft, 60 F and 13.3e-6 per F. That is the value of
100 ft; the sum is 1.9152 in, and the misprint is no oracle here.
"""

import pytest

from service.domain.layout.clearances import end_gaps, movement_nm
from service.domain.layout.deck import Conditions
from service.domain.layout.system import Joint, JointKind
from service.domain.lengths import inches, millimetres
from tests.unit.domain.layout.builders import SYSTEM, replace

PER_F = 1.8  # kelvin in a degree Fahrenheit's coefficient: 1 K = 1.8 F
ALUMINIUM = 13.1e-6 * PER_F


def fahrenheit(degrees: float) -> float:
    return (degrees + 459.67) / 1.8


@pytest.mark.parametrize(
    ("length_in", "change_f", "per_f", "expected_in", "within_in"),
    [
        pytest.param(1200, 50, 13.1e-6, 0.75, 0.04, id="TH-GYP"),
        pytest.param(360, 100, 12.3e-6, 0.4428, 1e-6, id="TH-SHEET"),
        pytest.param(240, 100, 13.1e-6, 0.3144, 1e-6, id="TH-20-100"),
        pytest.param(2400, 60, 13.3e-6, 1.9152, 1e-4, id="TH-NOMMA-CORRECTED"),
        pytest.param(1200, 60, 13.3e-6, 0.9576, 1e-4, id="100 ft is what the misprint gives"),
    ],
)
def test_movement_in_inches(
    length_in: int, change_f: float, per_f: float, expected_in: float, within_in: float
) -> None:
    moved = movement_nm(per_f * PER_F, inches(length_in), change_f / 1.8)
    assert moved / inches(1) == pytest.approx(expected_in, abs=within_in)


def test_movement_in_millimetres() -> None:
    """TH-6m-60: 6 m and 60 K with 23.58e-6 make 8.49 mm (printed 8.50)."""
    moved = movement_nm(ALUMINIUM, millimetres(6000), 60.0)
    assert moved / millimetres(1) == pytest.approx(8.50, abs=0.02)


def test_gap_to_leave_and_widest_opening() -> None:
    """TH-GAP 0.3144 in at 50 F up to 150 F; TH-MAXOPEN 0.534 in down to -20 F; 20 ft of rail."""
    system = replace(
        SYSTEM,
        expansion_per_k=ALUMINIUM,
        joints={JointKind.SLEEVE: Joint(), JointKind.FIXED: Joint()},
    )
    conditions = Conditions(fahrenheit(50), fahrenheit(-20), fahrenheit(150))
    joints = (JointKind.SLEEVE, JointKind.FIXED)
    sleeve, fixed = end_gaps(joints, inches(240), system, conditions)
    assert sleeve.gap_nm / inches(1) == pytest.approx(0.3144, abs=1e-6)
    assert sleeve.widest_nm is not None
    assert sleeve.widest_nm / inches(1) == pytest.approx(0.534, abs=5e-4)
    assert (fixed.gap_nm, fixed.widest_nm) == (0, 0)
