"""Support legs, worked with pencil on the deck of ``test_pencil_deck``: 48 in unsupported."""

from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import pytest

from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout, Section
from service.domain.layout.support_legs import even_places
from service.domain.layout.system import Glass, RailingSystem
from service.domain.lengths import inches
from tests.unit.domain.layout.builders import FREE, SYSTEM, one_run_deck, stair, stair_deck


def section_of(job: Layout, run: str) -> Section:
    return next(section for section in job.sections if section.run == run)


def test_each_bay_takes_a_leg_between_two_pickets() -> None:
    """R4, line posts at 61-1/2 and 124-1/2, pickets at 3 + 4-1/2 k.

    Bays are free from 1 to 60-1/2, 62-1/2 to 123-1/2 and 125-1/2 to 185. Their middles are at
    30-3/4, 93 and 155-1/4; the nearest middles between pickets, 5-1/4 + 4-1/2 k, are 32-1/4,
    90-3/4 (95-1/4 is as near) and 153-3/4.
    """
    section = section_of(lay_out(stair_deck(), SYSTEM), "R4")
    assert section.support_legs_nm == (inches(32, 1, 4), inches(90, 3, 4), inches(153, 3, 4))
    assert section.support_leg_heights_nm == (inches(3),) * 3


def test_a_bay_within_the_limit_takes_none() -> None:
    system = replace(SYSTEM, max_unsupported_nm=inches(61))
    assert section_of(lay_out(stair_deck(), system), "R4").support_legs_nm == ()


def test_a_leg_on_a_tread_is_as_high_as_the_rail_there() -> None:
    """R5: 63 in clear is 78-3/4 on the slope, so 38.4 in level is the limit and one leg is needed.

    The middle is 32-1/2 from the top post; 30-1/2 lies between pickets, 27-1/2 from the top
    nosing: on tread 3, 2-1/2 behind its nosing, where the nosing line is 1-7/8 above it.
    """
    section = section_of(lay_out(stair_deck(), SYSTEM), "R5")
    assert section.support_legs_nm == (inches(30, 1, 2),)
    assert section.support_leg_heights_nm == (inches(2, 3, 8),)


def test_a_foot_that_would_hang_over_a_nosing_moves_on() -> None:
    """A bottom rail 6 in wide asks 3 in either side: 27-1/2 is 2-1/2 from its nosing, 31-1/2 1-1/2
    behind the next one, 23-1/2 is 3-1/2 from its own; 23-1/2 + 3 = 26-1/2 from the post leaves
    37-1/2 to the lower face, within 38.4.
    """
    wide = replace(SYSTEM, bottom_rail=replace(SYSTEM.bottom_rail, width_nm=inches(6)))
    section = section_of(lay_out(stair_deck(), wide), "R5")
    assert section.support_legs_nm == (inches(26, 1, 2),)
    assert section.support_leg_heights_nm == (inches(0, 1, 2) + inches(6, 1, 2) * 3 // 4,)


def test_no_tread_wide_enough_for_a_foot_is_said() -> None:
    wide = replace(SYSTEM, bottom_rail=replace(SYSTEM.bottom_rail, width_nm=inches(11)))
    job = lay_out(stair_deck(), wide)
    assert section_of(job, "R5").support_legs_nm == ()
    assert any(note.startswith("S5: no treads lie where legs keep") for note in job.notes)


def test_a_limit_no_wider_than_the_pickets_sets_legs_under_them_and_says_so() -> None:
    job = lay_out(one_run_deck(), replace(SYSTEM, max_unsupported_nm=inches(4)))
    assert any("some legs stand under pickets" in note for note in job.notes)


def test_glass_without_a_bottom_rail_needs_no_legs() -> None:
    glass = Glass(
        min_width_nm=inches(6),
        max_width_nm=inches(60),
        min_gap_nm=inches(0, 1, 2),
        max_gap_nm=inches(4),
        thickness_nm=inches(0, 1, 2),
        mass_kg_m2=Decimal(30),
        max_mass_kg=Decimal(100),
        bottom_rail=False,
    )
    job = lay_out(one_run_deck(), replace(FREE, infill=glass))
    assert {section.support_legs_nm for section in job.sections} == {()}


@pytest.mark.parametrize("system", [SYSTEM, FREE], ids=["fixed pitch", "free pitch"])
def test_supports_are_never_too_far_apart(system: RailingSystem) -> None:
    system = replace(system, max_unsupported_nm=inches(20))
    for section in lay_out(stair_deck(), system).sections:
        if section.rake:
            continue
        half = inches(1)
        posts = [0, *section.line_posts_nm, section.length_nm]
        held = sorted(
            [*(p - half for p in posts), *(p + half for p in posts), *section.support_legs_nm]
        )
        assert max(b - a for a, b in pairwise(held)) <= inches(20)
        reach = system.pickets.width_nm // 2
        for leg in section.support_legs_nm:
            assert all(abs(leg - picket) > reach for picket in section.pickets.centres_nm)


def test_of_two_places_as_near_the_outer_one_is_taken() -> None:
    """Thirds of 120 are 40 and 80; 38 and 42, 78 and 82 are as near, 50 the limit."""
    assert even_places(0, 120, [38, 42, 78, 82], 50) == (38, 82)


def test_a_place_that_would_strand_the_next_leg_is_passed_over() -> None:
    """A third of 100 is 33, but from 33 the next one, at 79, is past the limit of 42."""
    assert even_places(0, 100, [33, 38, 79], 42) == (38, 79)


def test_legs_follow_the_flight_on_every_rise() -> None:
    """A leg is as high as the gap under the rail plus the nosing line's height over its tread."""
    deck = replace(stair_deck(), stairs=(stair(total_rise_nm=inches(49), risers=7),))
    section = section_of(lay_out(deck, SYSTEM), "R5")
    for leg, height in zip(section.support_legs_nm, section.support_leg_heights_nm, strict=True):
        x = leg - inches(3)
        behind = -x % inches(10)
        assert height == inches(0, 1, 2) + round(behind * 0.7)


def test_a_rail_as_long_as_the_limit_needs_no_leg():
    bays = [bay for run in lay_out(one_run_deck(), SYSTEM).runs for bay in run.bays]
    longest = max(bay.span_nm for bay in bays) - SYSTEM.post_width_nm
    at, over = (
        lay_out(one_run_deck(), replace(SYSTEM, max_unsupported_nm=limit))
        for limit in (longest, longest - 1)
    )
    assert not any(section.support_legs_nm for section in at.sections)
    assert any(section.support_legs_nm for section in over.sections)
