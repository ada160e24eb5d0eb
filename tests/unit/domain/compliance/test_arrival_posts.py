"""Posts at the foot of a flight that belong to the level it arrives at."""

from dataclasses import replace

import pytest

from service.domain.compliance.inspection import Inspection
from service.domain.compliance.measures_handrail import reaches_rail
from service.domain.compliance.site import NOTHING_SAID
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import PostPosition
from service.domain.lengths import inches
from tests.unit.domain.layout.builders import SYSTEM
from tests.unit.domain.layout.test_landings import two_levels


@pytest.mark.parametrize(
    ("height", "reaches"),
    [
        pytest.param(43, True, id="as laid out"),
        pytest.param(2, False, id="a stump on the lower level"),
    ],
)
def test_a_post_of_the_lower_level_is_measured_from_its_own_surface(
    height: int, reaches: bool
) -> None:
    """Rail top at the foot: 36 - 32 x 0.75 + 30 = 42 in above the lower level, underside 40.5."""
    layout = lay_out(two_levels(-29), SYSTEM)
    feet = {run.end for run in layout.runs if run.stair}
    foot = next(p for p in layout.posts if p.name in feet)
    assert foot.position is PostPosition.STAIR_BOTTOM
    assert foot.level == "lower"
    seen = Inspection(layout, NOTHING_SAID)
    cut = replace(foot, height_nm=inches(height))
    assert reaches_rail(seen, layout.stairs[0], cut) is reaches
