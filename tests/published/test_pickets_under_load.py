"""A picket under the infill load: central patch of 12 in on 32 in.

Source, PICKET rows of ``data/structure.json``: statics, confirmed by numerical integration.
"""

import pytest

from service.domain.structure.members import simple_line, simple_patch, simple_point
from tests.published.structure_table import given, within

TUBE = given("PICKET-D-TRIB")


@pytest.mark.parametrize("load", ["TRIB", "SINGLE"])
def test_moment_stress_and_deflection(load: str) -> None:
    case = given(f"PICKET-M-{load}")
    bent = simple_patch(case["W_lb"], case["c_in"], case["L_in"], TUBE["E_psi"], TUBE["I_in4"])
    stress_ksi = bent.moment_n_mm / given(f"PICKET-F-{load}")["S_in3"] / 1000
    assert bent.moment_n_mm == within(f"PICKET-M-{load}")
    assert stress_ksi == within(f"PICKET-F-{load}")
    assert bent.deflection_mm == within(f"PICKET-D-{load}")


def test_patch_lies_between_point_and_line() -> None:
    """No patch gives P L / 4, a patch over the whole span w L^2 / 8."""
    assert simple_patch(50, 0, 32, 1, 1) == simple_point(50, 32, 1, 1)
    whole, line = simple_patch(50, 32, 32, 1, 1), simple_line(50 / 32, 32, 1, 1)
    assert whole.moment_n_mm == pytest.approx(line.moment_n_mm)
    assert whole.deflection_mm == pytest.approx(line.deflection_mm)
