"""Distances of fasteners: given, found in the blocking, below, at and above their limits."""

from dataclasses import replace

import pytest

from service.domain.layout.framing import FastenerLanding, PostSupport
from service.domain.layout.lay_out import lay_out
from service.domain.lengths import inches
from service.domain.structure.checks import CheckOutcome
from service.domain.structure.screening import screen
from tests.unit.domain.layout.builders import SYSTEM, one_run_deck
from tests.unit.domain.structure.builders import LAG, LOADS, RATED, SPEC, named, the

LEVEL = lay_out(one_run_deck(), SYSTEM)
OK, OVER = CheckOutcome.OK, CheckOutcome.OVER


@pytest.mark.parametrize(
    ("edge", "outcome"),
    [
        pytest.param(inches(0, 9, 16) - 1, OVER, id="just under 1.5 diameters"),
        pytest.param(inches(0, 9, 16), OK, id="1.5 diameters"),
        pytest.param(inches(0, 9, 16) + 1, OK, id="just over"),
    ],
)
def test_edge_distance(edge: int, outcome: CheckOutcome) -> None:
    spec = replace(SPEC, fastener=replace(LAG, edge_nm=edge))
    assert the(screen(LEVEL, spec, LOADS), "edge distance").outcome is outcome


@pytest.mark.parametrize(
    ("half", "outcome"),
    [(inches(0, 3, 4) - 1, OVER), (inches(0, 3, 4), OK), (inches(0, 3, 4) + 1, OK)],
)
def test_spacing(half: int, outcome: CheckOutcome) -> None:
    holes = ((-half, -inches(2)), (half, -inches(2)), (-half, inches(2)), (half, inches(2)))
    spec = replace(SPEC, base=replace(SPEC.base, holes=holes))
    assert the(screen(LEVEL, spec, LOADS), "fastener spacing").outcome is outcome


def _landed(edge_nm: int, end_nm: int | None) -> PostSupport:
    landing = FastenerLanding(1, (0, 0), "rim", edge_nm, end_nm, holds=True)
    return PostSupport("P1", ("rim",), (), (landing,), 0, supported=True)


def test_distances_come_from_the_blocking_when_not_given() -> None:
    layout = replace(LEVEL, supports=(_landed(inches(0, 1, 2), inches(2)),))
    spec = replace(SPEC, fastener=replace(LAG, edge_nm=None, end_nm=None))
    checks = screen(layout, spec, LOADS)
    assert the(checks, "edge distance").outcome is OVER
    assert the(checks, "end distance").outcome is OK


def test_a_rim_has_no_end() -> None:
    layout = replace(LEVEL, supports=(_landed(inches(1), None),))
    spec = replace(SPEC, fastener=replace(LAG, edge_nm=None, end_nm=None))
    check = the(screen(layout, spec, LOADS), "end distance")
    assert check.outcome is OK
    assert check.clauses == LOADS[0].clauses


def test_rated_fasteners_have_the_distances_of_their_maker() -> None:
    checks = screen(LEVEL, replace(SPEC, fastener=RATED), LOADS)
    assert not named(checks, "edge distance")
    assert any("distances" in note for note in the(checks, "rated fastener").assumptions)
