"""Gaps at rail ends, worked with pencil: 25e-6 per K, so that 10 ft and 40 K move 0.12 in."""

from dataclasses import replace

import pytest

from service.domain.layout.clearances import end_gaps, sleeve_notes, unknown_reach
from service.domain.layout.deck import Conditions, Deck
from service.domain.layout.lay_out import lay_out
from service.domain.layout.system import Assembly, Joint, JointKind, RailingSystem
from service.domain.lengths import inches
from tests.unit.domain.layout.builders import SYSTEM, level, stair_deck

FIXED, SLEEVE, STAIR = JointKind.FIXED, JointKind.SLEEVE, JointKind.STAIR
MILD = Conditions(installed_k=290.0, lowest_k=250.0, highest_k=330.0)


def with_joint(kind: JointKind = SLEEVE, **joint: int) -> RailingSystem:
    joints = {**SYSTEM.joints, kind: Joint(**joint)}
    return replace(SYSTEM, joints=joints, expansion_per_k=25e-6)


def thousandths(length_nm: int | None) -> float | None:
    return None if length_nm is None else round(1000 * length_nm / inches(1), 6)


def test_without_conditions_the_system_s_clearance_stands() -> None:
    start, end = end_gaps((SLEEVE, FIXED), inches(120), SYSTEM, None)
    assert (start.gap_nm, start.widest_nm, start.hold_nm) == (inches(0, 1, 8), None, None)
    assert end.gap_nm == 0


@pytest.mark.parametrize(
    ("joints", "gaps", "widest"),
    [
        pytest.param((SLEEVE, FIXED), (120, 0), (240, 0), id="one free end takes it all"),
        pytest.param((SLEEVE, SLEEVE), (60, 60), (120, 120), id="two free ends share it"),
        pytest.param((FIXED, FIXED), (0, 0), (0, 0), id="none can move"),
    ],
)
def test_movement_goes_to_the_free_ends(
    joints: tuple[JointKind, JointKind], gaps: tuple[int, int], widest: tuple[int, int]
) -> None:
    found = end_gaps(joints, inches(120), with_joint(), MILD)
    assert tuple(thousandths(end.gap_nm) for end in found) == gaps
    assert tuple(thousandths(end.widest_nm) for end in found) == widest


@pytest.mark.parametrize(
    ("clearance", "fitting", "gap"),
    [
        pytest.param(inches(0, 1, 8), 0, 125, id="a clearance of 1/8 in is more than 0.12 in"),
        pytest.param(inches(0, 1, 8), inches(0, 1, 16), 182.5, id="fitting and movement are more"),
        pytest.param(0, inches(0, 1, 16), 182.5, id="no clearance of the system's own"),
    ],
)
def test_the_larger_of_clearance_and_fitting_with_movement(
    clearance: int, fitting: int, gap: float
) -> None:
    system = with_joint(clearance_nm=clearance, fitting_nm=fitting)
    start, _ = end_gaps((SLEEVE, FIXED), inches(120), system, MILD)
    assert thousandths(start.gap_nm) == gap


def test_what_a_sleeve_holds_on_the_coldest_day() -> None:
    """Reach 1 in, gap 0.12 when set and 0.24 at the coldest: 0.76 in is held."""
    system = with_joint(reach_nm=inches(1), least_hold_nm=inches(0, 3, 4))
    start, end = end_gaps((SLEEVE, FIXED), inches(120), system, MILD)
    assert thousandths(start.hold_nm) == 760
    assert end.hold_nm is None
    assert sleeve_notes("S1", (("P1", SLEEVE, start), ("P2", FIXED, end)), system) == []


def test_a_sleeve_too_short_for_the_movement_is_said() -> None:
    system = with_joint(reach_nm=inches(1), least_hold_nm=inches(0, 7, 8))
    start, end = end_gaps((SLEEVE, FIXED), inches(120), system, MILD)
    (note,) = sleeve_notes("S1", (("P1", SLEEVE, start), ("P2", FIXED, end)), system)
    assert note.startswith(
        "S1 at P1: on the coldest day the sleeve holds 19.3 mm of the rail, 22.2"
    )


def test_a_rail_that_would_leave_its_post_is_said_without_a_least_hold() -> None:
    """It enters 0.2 in and draws back 0.12 + 0.12 (a little more, as the part inside moves too)."""
    system = with_joint(enters_nm=inches(0, 1, 5))
    start, end = end_gaps((SLEEVE, FIXED), inches(120), system, MILD)
    (note,) = sleeve_notes("S1", (("P1", SLEEVE, start), ("P2", FIXED, end)), system)
    assert "holds 0.0 mm" in note


def test_a_section_fixed_at_both_ends_is_said() -> None:
    ends = end_gaps((FIXED, FIXED), inches(120), with_joint(), MILD)
    notes = sleeve_notes("S1", (("P1", FIXED, ends[0]), ("P2", FIXED, ends[1])), with_joint())
    assert notes == ["S1 is fixed at both ends and cannot move with heat. Give one end a sleeve."]


def test_a_reach_that_is_not_known_is_said_once() -> None:
    (note,) = unknown_reach({SLEEVE, FIXED, STAIR}, SYSTEM)
    assert note.startswith("How far a sleeve reaches over the rail is not given")
    assert unknown_reach({SLEEVE, STAIR}, with_joint(reach_nm=inches(1))) == []


def test_cut_lengths_follow() -> None:
    """The 186 in run, 184 between faces: 0.184 in at its sleeve instead of 1/8 in."""
    warm = replace(stair_deck(), conditions=MILD)
    system = replace(SYSTEM, expansion_per_k=25e-6)
    before = next(s for s in lay_out(stair_deck(), system).sections if s.run == "R4")
    after = next(s for s in lay_out(warm, system).sections if s.run == "R4")
    assert thousandths(after.start.gap_nm) == 184
    assert thousandths(after.start.widest_gap_nm) == 368
    for old, new in zip(before.rails, after.rails, strict=True):
        moved = 59 if old.start_nm == before.rails[0].start_nm else 0
        assert thousandths(old.length_nm - new.length_nm) == moved
        if old.first_picket_nm is not None and new.first_picket_nm is not None:
            assert thousandths(old.first_picket_nm - new.first_picket_nm) == moved


def test_a_raked_rail_moves_along_its_slope() -> None:
    """64 in level is 80 on the slope: 0.08 in of movement there, 0.064 in level, half each end."""
    deck = replace(stair_deck(), conditions=MILD)
    system = replace(SYSTEM, expansion_per_k=25e-6)
    section = next(s for s in lay_out(deck, system).sections if s.rake)
    assert thousandths(section.start.gap_nm) == thousandths(section.end.gap_nm) == 32
    assert thousandths(inches(81, 1, 8) - section.rails[0].length_nm) == 80
    assert thousandths(section.start.hold_nm) == 500 - 64


def test_no_movement_is_left_for_a_day_that_is_already_the_hottest() -> None:
    hot = Conditions(installed_k=330.0, lowest_k=250.0, highest_k=330.0)
    start, _ = end_gaps((SLEEVE, FIXED), inches(120), with_joint(), hot)
    assert (start.gap_nm, thousandths(start.widest_nm)) == (0, 240)


def test_posts_first_shares_the_movement_between_brackets() -> None:
    deck = Deck((level([(0, 0), (120, 0), (120, 96), (0, 96)], "owww"),), conditions=MILD)
    system = replace(SYSTEM, assembly=Assembly.POSTS_FIRST, expansion_per_k=25e-6)
    (section,) = lay_out(deck, system).sections
    assert section.start.gap_nm == section.end.gap_nm > inches(0, 1, 20)
