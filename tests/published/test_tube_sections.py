"""Section properties of sharp-cornered tubes.

Source, TUBE rows of ``data/structure.json``: closed forms, agreeing with the finite elements of an
open library (sectionproperties), which ``tests/oracles`` runs afresh.
"""

import pytest

from service.domain.structure.sections import rectangular_tube
from tests.published.structure_table import given, ids, within


@pytest.mark.parametrize("row", ids("TUBE"))
def test_tube(row: str) -> None:
    case = given(row)
    tube = rectangular_tube(case["b_in"], case["d_in"], case["t_in"])
    by_letter = {"A": tube.area_mm2, "I": tube.i_mm4, "S": tube.s_mm3, "Z": tube.z_mm3}
    assert by_letter[row[-1]] == within(row)
