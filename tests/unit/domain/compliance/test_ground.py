"""The drop within the reach: which tape decides, and what is not settled by them."""

from datetime import date
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.adapters.code_library import open_library
from service.domain.compliance.assess import assess
from service.domain.compliance.exact import Span
from service.domain.compliance.findings import Finding, Outcome
from service.domain.compliance.ground import Fall, ground_of
from service.domain.lengths import inches, millimetres
from tests.unit.domain.compliance.builders import findings, layout, outcome_of

MET, NOT_MET = Outcome.MET, Outcome.NOT_MET
NOT_APPLICABLE, NOT_ASSESSED = Outcome.NOT_APPLICABLE, Outcome.NOT_ASSESSED
REACH = inches(36)
FAR = (inches(60), inches(20))
Taped = tuple[tuple[int, int], ...]


def _needed(falls: Taped, edition: str = "2021", code: str = "IRC") -> Finding:
    """Hold an open edge with a fall of 20 in, without a guard, against what decides on one."""
    built = layout(fall=inches(20), guarded=False, stairs=False, falls=falls)
    (found,) = findings("guard.needed.drop", built, edition, code=code)
    return found


@pytest.mark.parametrize(
    ("falls", "outcome", "measured"),
    [
        pytest.param((), NOT_APPLICABLE, inches(20), id="fall height alone"),
        pytest.param(((inches(24), inches(30)), FAR), NOT_APPLICABLE, inches(30),
                     id="30 in within the reach"),
        pytest.param(((inches(24), inches(30) + 1), FAR), NOT_MET, inches(30) + 1,
                     id="more than 30 in within the reach"),
        pytest.param(((REACH, inches(31)), FAR), NOT_MET, inches(31), id="31 in at 36 in"),
        pytest.param(((REACH, inches(30)), (inches(37), inches(90))), NOT_APPLICABLE, inches(30),
                     id="deeper beyond 36 in"),
        pytest.param(((inches(72), inches(40)),), NOT_APPLICABLE, inches(30),
                     id="evenly to 40 in at 72 in: 30 in at 36 in"),
        pytest.param(((inches(72), inches(40) + 2),), NOT_MET, inches(30) + 1,
                     id="evenly to a nanometre over 30 in at 36 in"),
        pytest.param(((inches(12), inches(31)),), NOT_MET, inches(31),
                     id="taped short of the reach, and deep enough already"),
        pytest.param(((inches(12), inches(28)),), NOT_ASSESSED, inches(28),
                     id="taped short of the reach, the rest unknown"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("edition", [("2018", "IRC"), ("2024", "IRC"), ("2021", "IBC")])
def test_drop_is_the_greatest_within_the_reach(
    falls: Taped, outcome: Outcome, measured: int, edition: tuple[str, str]
) -> None:
    found = _needed(falls, *edition)
    assert (found.outcome, found.measured) == (outcome, measured)


def test_finding_says_which_tape_decided() -> None:
    assert "at tape 2 of 3 from the edge" in _needed(((inches(24), inches(33)), FAR)).note
    between = _needed(((inches(72), inches(45)),))
    assert "the end of the reach, straight between tapes 1 and 2" in between.note
    assert _needed(()).note.startswith("Fall height as given for the edge.")


AT_EDGE = "It is taken at the edge; the code measures to the lowest point within {}"
HOW = "send falls_taped, each a distance outward and a fall, out to there"


@pytest.mark.parametrize(
    ("code", "edition", "reach"),
    [("IRC", "2021", "36 in"), ("IBC", "2024", "36 in"), ("SPS", "321", "3 ft")],
)
def test_finding_on_the_fall_at_the_edge_alone_says_how_far_the_code_looks(
    code: str, edition: str, reach: str
) -> None:
    note = _needed((), edition, code).note
    assert AT_EDGE.format(reach) in note
    assert HOW in note
    taped = _needed(((inches(24), inches(29)), FAR), edition, code).note
    assert "taken at the edge" not in taped
    assert "falls_taped" not in taped


def test_code_that_looks_no_farther_than_the_edge_asks_for_no_tapes() -> None:
    assert "falls_taped" not in _needed((), "2015", "NBC").note


def test_fall_not_given_at_all_is_not_said_to_be_taken() -> None:
    (found,) = findings("guard.needed.drop", layout(fall=None, guarded=False, stairs=False))
    assert found.outcome is NOT_ASSESSED
    assert "taken at the edge" not in found.note


def test_reach_tells_where_the_greatest_fall_was_taped() -> None:
    within = layout(fall=inches(20), stairs=False, falls=((inches(24), inches(33)), FAR))
    (found,) = findings("guard.needed.reach", within)
    assert (found.outcome, found.measured) == (MET, inches(24))
    beyond = layout(fall=inches(20), stairs=False, falls=((inches(40), inches(90)),))
    (found,) = findings("guard.needed.reach", beyond)
    assert (found.outcome, found.measured) == (NOT_APPLICABLE, inches(40))
    assert "beyond the reach" in found.note


@pytest.mark.parametrize(
    ("falls", "words"),
    [((), "its own fall height is taken"), (((inches(35), inches(40)),), "less far out than this")],
)
def test_reach_is_not_assessed_where_nothing_was_taped_so_far_out(falls: Taped, words: str) -> None:
    (found,) = findings("guard.needed.reach", layout(stairs=False, falls=falls))
    assert found.outcome is NOT_ASSESSED
    assert words in found.note


def test_drop_found_within_the_reach_binds_the_guard_that_stands_there() -> None:
    low = {"fall": inches(20), "stairs": False, "guard_height_nm": inches(34)}
    assert outcome_of("guard.height.level", layout(**low)) is NOT_APPLICABLE
    deep = layout(**low, falls=((inches(24), inches(31)), FAR))
    assert outcome_of("guard.height.level", deep) is NOT_MET
    unsettled = layout(**low, falls=((inches(24), inches(28)),))
    assert outcome_of("guard.height.level", unsettled) is NOT_MET
    (found,) = findings("guard.height.level", unsettled)
    assert "taken as required" in found.note


def test_each_code_looks_as_far_out_as_it_says() -> None:
    """Ground 610 mm down at the edge and 900 mm down half a metre out, beside one another.

    IRC: 900 mm (35.4 in) within 36 in. NBC names no distance here and takes the 590 mm at the edge.
    """
    library = open_library()
    clauses = [*library.clauses("IRC", "2021"), *library.clauses("NBC", "2015")]
    falls = ((0, millimetres(590)), (millimetres(500), millimetres(900)),
             (millimetres(2_000), millimetres(900)))  # fmt: skip
    built = layout(fall=None, guarded=False, stairs=False, falls=falls)
    found = {
        f.clause.code: (f.outcome, f.measured)
        for f in assess(clauses, built)
        if f.clause.key == "guard.needed.drop"
    }
    assert found == {
        "IRC": (NOT_MET, millimetres(900)),
        "NBC": (NOT_APPLICABLE, millimetres(590)),
    }


def test_place_that_strikes_out_the_reach_takes_the_drop_at_the_edge() -> None:
    clauses = open_library().in_force("Minnesota", date(2026, 11, 25))
    built = layout(
        fall=inches(20), guarded=False, stairs=False, falls=((inches(24), inches(60)), FAR)
    )
    found = {f.clause.key: f for f in assess(clauses, built)}
    assert found["guard.needed.drop"].outcome is NOT_APPLICABLE
    assert found["guard.needed.drop"].measured == inches(20)
    assert found["guard.needed.reach"].note.startswith("Struck out by Minnesota")


points = st.lists(
    st.builds(Fall, st.integers(0, 200), st.integers(0, 200)), min_size=1, max_size=6,
    unique_by=lambda fall: fall.out_nm,
)  # fmt: skip


@given(points, st.integers(0, 200))
def test_drop_is_the_greatest_of_the_ground_walked(falls: list[Fall], reach: int) -> None:
    """Beside each found drop stands the ground walked in small steps up to the reach."""
    ground = ground_of(None, falls)
    low, high = ground.falls[0].out_nm, ground.falls[-1].out_nm
    walked = [
        _ground_at(ground.falls, Fraction(step, 4))
        for step in range(4 * low, 4 * min(reach, high) + 1)
    ]
    found = ground.drop(reach).value
    if not walked:
        assert found is None
    elif high < reach:
        assert found == Span(max(walked))
    else:
        assert found == max(walked)


def _ground_at(falls: tuple[Fall, ...], out: Fraction) -> Fraction:
    for near, far in pairwise(falls):
        if near.out_nm <= out <= far.out_nm:
            part = (out - near.out_nm) / (far.out_nm - near.out_nm)
            return near.fall_nm + part * (far.fall_nm - near.fall_nm)
    return Fraction(falls[0].fall_nm)
