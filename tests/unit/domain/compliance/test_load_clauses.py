"""Clauses on loads: what they ask for, and how checks decide them."""

from dataclasses import replace

import pytest

from service.domain.compliance.assess import assess
from service.domain.compliance.findings import Dimension, Finding, Limit, Outcome
from service.domain.compliance.load_clauses import decided_by, loads_of
from service.domain.layout.lay_out import lay_out
from service.domain.structure.checks import Unit
from service.domain.structure.loads import LoadPlace
from service.domain.structure.screening import screen
from service.domain.structure.specification import StructureSpec
from tests.unit.domain.compliance.builders import LIBRARY
from tests.unit.domain.layout.builders import SYSTEM, one_run_deck
from tests.unit.domain.structure.builders import BOLT, POUND, SPEC, member

LEVEL = lay_out(one_run_deck(), SYSTEM)
FOUND = assess(LIBRARY.clauses("IRC", "2021"), LEVEL)
STRONG = replace(SPEC, fastener=replace(BOLT, edge_nm=10**8, end_nm=10**8, washer_nm=10**8))


def _outcome(findings: tuple[Finding, ...], key: str) -> Finding:
    (found,) = [f for f in findings if f.clause.key == key]
    return found


def _judged(spec: StructureSpec) -> tuple[Finding, ...]:
    return decided_by(FOUND, screen(LEVEL, spec, loads_of(FOUND)))


def test_loads_of_the_irc() -> None:
    loads = {load.clauses[0]: load for load in loads_of(FOUND)}
    assert set(loads) == {
        "IRC 2021 load.guard.top",
        "IRC 2021 load.handrail",
        "IRC 2021 load.guard.infill",
    }
    top = loads["IRC 2021 load.guard.top"]
    assert (top.place, top.kind, top.text) == (LoadPlace.TOP, Unit.FORCE, "200 lb")
    assert top.value == pytest.approx(200 * POUND, abs=1e-3)
    assert loads["IRC 2021 load.guard.infill"].patch_mm == 304.8


@pytest.mark.parametrize(
    ("key", "limit", "kind", "value", "place"),
    [
        ("load.guard.top.line", Limit("50", "plf", 729_695, Dimension.LINE_LOAD),
         Unit.LINE_LOAD, 0.729695, LoadPlace.TOP),
        ("load.guard.top.line", Limit("0.75", "kN/m", 750_000, Dimension.LINE_LOAD),
         Unit.LINE_LOAD, 0.75, LoadPlace.TOP),
        ("load.guard.infill", Limit("0.5", "kN", 500_000, Dimension.FORCE),
         Unit.FORCE, 500.0, LoadPlace.INFILL),
        ("load.guard.infill", Limit("1.0", "kPa", 1_000, Dimension.PRESSURE),
         Unit.PRESSURE, 1_000.0, LoadPlace.INFILL),
        ("load.guard.vertical", Limit("1.5", "kN/m", 1_500_000, Dimension.LINE_LOAD),
         Unit.LINE_LOAD, 1.5, LoadPlace.DOWNWARD),
    ],
)  # fmt: skip
def test_loads_in_other_units(
    key: str, limit: Limit, kind: Unit, value: float, place: LoadPlace
) -> None:
    finding = _outcome(FOUND, "load.guard.top")
    clause = replace(finding.clause, key=key, limits=(limit,))
    (load,) = loads_of([replace(finding, clause=clause)])
    assert (load.kind, load.value, load.place) == (kind, value, place)
    if kind is Unit.FORCE:
        assert load.patch_mm == 300.0


def test_a_load_that_does_not_bind_is_not_asked_for() -> None:
    free = [replace(f, outcome=Outcome.NOT_APPLICABLE) for f in FOUND]
    assert loads_of(free) == ()


def test_met_when_every_check_holds() -> None:
    found = _outcome(_judged(STRONG), "load.guard.top")
    assert found.outcome is Outcome.MET
    assert "The most used" in found.note


def test_not_met_as_soon_as_one_is_over_even_with_others_open() -> None:
    weak = replace(STRONG, post=member(1.5, 1.5, 0.125), top_rail=None)
    found = _outcome(_judged(weak), "load.guard.top")
    assert found.outcome is Outcome.NOT_MET
    assert "post bending" in found.note


def test_open_while_something_is_missing() -> None:
    found = _outcome(_judged(replace(STRONG, top_rail=None)), "load.guard.top")
    assert found.outcome is Outcome.NOT_ASSESSED
    assert "structure.top_rail" in found.note


@pytest.mark.parametrize("over", [-1e-9, 0.0, 1e-9], ids=["below", "at", "above"])
def test_at_the_limit_of_the_picket(over: float) -> None:
    """The section modulus is turned until stress and allowable stress are the same."""
    exact = screen(LEVEL, STRONG, loads_of(FOUND))
    used = next(c.utilisation for c in exact if c.name == "picket bending, whole load on one")
    outward = STRONG.picket.section.outward
    s_mm3 = outward.s_mm3 * used
    # The nearest floats may still miss one by a step; take the step that holds.
    for _ in range(4):
        picket = _with_modulus(s_mm3)
        check = next(
            c
            for c in screen(LEVEL, replace(STRONG, picket=picket), loads_of(FOUND))
            if c.name == "picket bending, whole load on one"
        )
        s_mm3 *= check.utilisation
    picket = _with_modulus(s_mm3 * (1 - over) * (1 + 1e-15))
    found = _outcome(_judged(replace(STRONG, picket=picket)), "load.guard.infill")
    assert found.outcome is (Outcome.NOT_MET if over > 0 else Outcome.MET)


def _with_modulus(s_mm3: float):
    section = STRONG.picket.section
    return replace(
        STRONG.picket, section=replace(section, outward=replace(section.outward, s_mm3=s_mm3))
    )


def test_other_findings_stay_as_they_were() -> None:
    judged = _judged(STRONG)
    for before, after in zip(FOUND, judged, strict=True):
        if not before.clause.key.startswith(("load.guard", "load.handrail")):
            assert after == before
    assert decided_by(FOUND, ()) == FOUND


@pytest.mark.parametrize(("wall", "outcome"), [(0.125, Outcome.MET), (0.04, Outcome.NOT_MET)])
def test_movement_is_held_against_25_mm(wall: float, outcome: Outcome) -> None:
    """The 0.74 kN/m of a balcony on rails 2 in square over spans up to 6 ft."""
    clauses = LIBRARY.clauses("ADK", "2013")
    found = assess(clauses, LEVEL)
    spec = replace(STRONG, top_rail=member(2, 2, wall))
    judged = decided_by(found, screen(LEVEL, spec, loads_of(found)))
    finding = _outcome(judged, "load.guard.deflection")
    assert finding.outcome is outcome
    assert finding.measured is not None
    assert finding.margin == 25_000_000 - finding.measured
