"""Distances of fasteners: given, found in the blocking, below, at and above their limits."""

from dataclasses import replace

import pytest

from service.domain.layout.framing import FastenerLanding, Framing, PostSupport
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout
from service.domain.layout.system import Mount
from service.domain.lengths import inches
from service.domain.structure.checks import CheckOutcome
from service.domain.structure.screening import screen
from tests.unit.domain.layout.builders import SYSTEM, one_run_deck
from tests.unit.domain.structure.builders import (
    BOLT,
    LAG,
    LOADS,
    RATED,
    SIDE,
    SPEC,
    TOP,
    named,
    the,
)

LEVEL = lay_out(one_run_deck(), SYSTEM)
OK, OVER, OPEN = CheckOutcome.OK, CheckOutcome.OVER, CheckOutcome.NOT_ASSESSED
ON_RIM = lay_out(
    one_run_deck(), replace(SYSTEM, mount=Mount.FASCIA, fascia_drop_nm=inches(8), set_back_nm=0)
)
# Joists and rim 9-1/4 in deep under 1 in of decking.
FRAMING = Framing(90.0, inches(16), inches(8), inches(1, 1, 2), inches(9, 1, 4), inches(1, 1, 2),
                  inches(1, 1, 2), inches(9, 1, 4), inches(1))  # fmt: skip


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


def _framed() -> Layout:
    (level,) = ON_RIM.deck.levels
    deck = replace(ON_RIM.deck, levels=(replace(level, framing=FRAMING),))
    return replace(ON_RIM, deck=deck)


@pytest.mark.parametrize(
    ("drop", "spacing", "outcome"),
    [  # a bolt of 1/2 in asks for 3/4 in to an edge
        pytest.param(inches(1, 3, 4), inches(5), OK, id="just far enough below the top"),
        pytest.param(inches(1, 3, 4) - 1, inches(5), OVER, id="too near the top"),
        pytest.param(inches(3), inches(6, 1, 2), OK, id="2 in and 6-1/2 in leave 3/4 in below"),
        pytest.param(inches(3), inches(6, 1, 2) + 1, OVER, id="too near the bottom"),
        pytest.param(inches(3), inches(12), OVER, id="beyond the rim altogether"),
    ],
)
def test_rows_through_a_rim_keep_off_its_edges(
    drop: int, spacing: int, outcome: CheckOutcome
) -> None:
    side = replace(SIDE, drop_nm=drop, spacing_nm=spacing, fastener=BOLT)
    checks = screen(_framed(), replace(SPEC, side_mount=side), (TOP,))
    assert the(checks, "edge distance").outcome is outcome
    assert the(checks, "edge distance").clauses == TOP.clauses


@pytest.mark.parametrize(
    ("spacing", "outcome"), [(inches(2) - 1, OVER), (inches(2), OK), (inches(2) + 1, OK)]
)
def test_rows_through_a_rim_keep_off_each_other(spacing: int, outcome: CheckOutcome) -> None:
    spec = replace(SPEC, side_mount=replace(SIDE, spacing_nm=spacing))
    assert the(screen(ON_RIM, spec, (TOP,)), "fastener spacing").outcome is outcome


def test_distances_in_a_rim_are_asked_for_or_taken_as_given() -> None:
    asked = screen(ON_RIM, replace(SPEC, side_mount=SIDE), (TOP,))
    assert "side_mount.fastener.edge_distance" in the(asked, "edge distance").missing
    assert the(asked, "end distance").outcome is OPEN  # the posts at the corners
    given = replace(SIDE, fastener=replace(BOLT, edge_nm=inches(0, 1, 2), end_nm=inches(2)))
    checks = screen(ON_RIM, replace(SPEC, side_mount=given), (TOP,))
    assert the(checks, "edge distance").outcome is OVER
    assert the(checks, "end distance").outcome is OK
    rated = screen(ON_RIM, replace(SPEC, side_mount=replace(SIDE, fastener=RATED)), (TOP,))
    assert not named(rated, "edge distance")
