"""What was found as built: how gates shut, slopes of treads and landings; unsaid is not met."""

from fractions import Fraction

import pytest

from service.domain.compliance.findings import Outcome
from service.domain.compliance.site import (
    GateFacts,
    Grip,
    GripShape,
    ReleaseSide,
    Site,
    StairFacts,
)
from service.domain.lengths import inches
from tests.unit.domain.compliance.builders import findings, layout, outcome_of

MET, NOT_MET = Outcome.MET, Outcome.NOT_MET
NOT_APPLICABLE, NOT_ASSESSED = Outcome.NOT_APPLICABLE, Outcome.NOT_ASSESSED
POOL = {"code": "ISPSC", "edition": "2018"}
SHUTS = GateFacts(closes=True, latches=True, opens_from_pool=True)
LEAF = inches(48)


def _barrier(gate: GateFacts) -> Site:
    return Site(pool=True, gates={"gate": gate})


@pytest.mark.parametrize(
    ("gate", "outcome", "words"),
    [
        (SHUTS, MET, "As described."),
        (GateFacts(closes=True, latches=True), NOT_ASSESSED, "opens away from the pool is not"),
        (GateFacts(latches=False), NOT_MET, "Not so that it latches by itself."),
        (GateFacts(), NOT_ASSESSED, "closes by itself and latches by itself is not described"),
    ],
)
def test_gate_shuts_by_itself_away_from_the_pool(
    gate: GateFacts, outcome: Outcome, words: str
) -> None:
    (found,) = findings("pool.gate.closing", layout(leaf_height=LEAF), site=_barrier(gate), **POOL)
    assert found.outcome is outcome
    assert words in found.note


@pytest.mark.parametrize(
    ("release", "side", "high", "below_top", "beside"),
    [
        pytest.param(inches(54), ReleaseSide.OUTSIDE, MET, NOT_APPLICABLE, NOT_APPLICABLE,
                     id="high, outside"),
        pytest.param(inches(40), ReleaseSide.OUTSIDE, NOT_MET, NOT_APPLICABLE, NOT_ASSESSED,
                     id="low, outside"),
        pytest.param(inches(45), ReleaseSide.POOL, NOT_APPLICABLE, MET, NOT_ASSESSED,
                     id="3 in below the top of a 48 in leaf, pool side"),
        pytest.param(inches(46), ReleaseSide.POOL, NOT_APPLICABLE, NOT_MET, NOT_ASSESSED,
                     id="2 in below its top, pool side"),
    ],
)  # fmt: skip
def test_release_of_the_latch(
    release: int, side: ReleaseSide, high: Outcome, below_top: Outcome, beside: Outcome
) -> None:
    site = _barrier(GateFacts(release_nm=release, release_side=side))
    built = layout(leaf_height=LEAF)
    assert outcome_of("pool.gate.latch", built, site=site, **POOL) is high
    assert outcome_of("pool.latch.below_top", built, site=site, **POOL) is below_top
    assert outcome_of("pool.gate.latch.opening", built, site=site, **POOL) is beside


def test_latch_nobody_described_is_not_assessed() -> None:
    built, site = layout(leaf_height=LEAF), Site(pool=True)
    for key in ("pool.gate.latch", "pool.latch.below_top", "pool.gate.latch.opening"):
        (found,) = findings(key, built, site=site, **POOL)
        assert (found.element, found.outcome) == ("gate", NOT_ASSESSED), key
        assert "not described" in found.note, key


def test_slopes_are_judged_apart_for_treads_and_landings() -> None:
    site = Site(stairs={0: StairFacts(tread_slope=Fraction(1, 48))})
    treads, landings = findings("stair.slope", layout(), site=site)
    assert (treads.outcome, landings.outcome) == (MET, NOT_ASSESSED)
    assert landings.note == "The slope of the landings was not taped."
    steeper = Site(
        stairs={0: StairFacts(tread_slope=Fraction(1, 48), landing_slope=Fraction(2, 95))}
    )
    assert [f.outcome for f in findings("stair.slope", layout(), site=steeper)] == [MET, NOT_MET]


def test_risers_may_lean_either_way() -> None:
    for lean, outcome in ((-30.0, MET), (30.0, MET), (-30.5, NOT_MET), (30.000001, NOT_MET)):
        site = Site(stairs={0: StairFacts(riser_lean_deg=lean)})
        assert outcome_of("stair.riser.slope", layout(), site=site) is outcome, lean
    assert outcome_of("stair.riser.slope", layout()) is NOT_ASSESSED


def test_round_handrail_is_judged_by_its_diameter_alone() -> None:
    site = Site(grip=Grip(GripShape.ROUND, diameter_nm=inches(1, 1, 2)))
    found = {
        key: outcome_of(f"handrail.grip.{key}", layout(), site=site)
        for key in ("round", "perimeter", "cross_section", "recess_start")
    }
    assert found == {
        "round": MET, "perimeter": NOT_APPLICABLE, "cross_section": NOT_APPLICABLE,
        "recess_start": NOT_APPLICABLE,
    }  # fmt: skip
