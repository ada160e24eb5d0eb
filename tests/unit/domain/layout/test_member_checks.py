"""Dimensions that are right one by one and cannot be built together are refused with their place.

The arithmetic of each limit stands beside its test.
"""

from dataclasses import replace

import pytest

from service.domain.errors import UnbuildableLayout
from service.domain.layout.lay_out import lay_out
from service.domain.layout.pickets import fixed_pitch
from service.domain.layout.system import Joint, JointKind
from service.domain.lengths import inches
from tests.unit.domain.layout.builders import SYSTEM, one_run_deck, stair_deck


def level(system):
    return lay_out(one_run_deck(), system)


def with_joint(kind, **changes):
    return replace(SYSTEM, joints={**SYSTEM.joints, kind: Joint(**changes)})


# Rails 1-1/2 in and 1 in over a gap of 3 in: nothing is left between them at 5-1/2 in.
def test_rails_higher_than_the_guard_leave_no_pickets():
    system = replace(SYSTEM, guard_height_nm=inches(5, 1, 2))
    with pytest.raises(UnbuildableLayout, match=r"leave 0\.0 mm of height") as refused:
        level(system)
    assert refused.value.where == ("system", "guard_height")


def test_a_nanometre_of_height_is_enough_for_a_picket():
    layout = level(replace(SYSTEM, guard_height_nm=inches(5, 1, 2) + 1))
    assert {section.pickets.length_nm for section in layout.sections} == {1}


def test_a_gap_as_long_as_the_rail_is_refused():
    with pytest.raises(UnbuildableLayout, match="long after the gaps") as refused:
        level(with_joint(JointKind.SLEEVE, clearance_nm=inches(600)))
    assert refused.value.where == ("system", "joints")


# Pitch 4-1/2 in: the pickets beside a line post stand 4-1/2 in from its centre.
def test_the_bottom_rail_reaches_under_the_pickets_beside_a_line_post():
    assert level(replace(SYSTEM, line_post_cut_nm=inches(4, 1, 2) - 1)).sections


def test_a_bottom_rail_cut_back_past_a_picket_is_refused():
    with pytest.raises(UnbuildableLayout, match="have no bottom rail") as refused:
        level(replace(SYSTEM, line_post_cut_nm=inches(4, 1, 2)))
    assert refused.value.where == ("system", "line_post_cut")


# A pitch of 5 in along a 3-4-5 rake is 4 in level. The feet stand 65 in from the top posts, so
# 63 in are clear: 15 pickets leave 3-1/8 in at both ends, and the first one's centre is 3-1/2 in
# off the post's face.
@pytest.mark.parametrize(
    ("clearance", "fits"),
    [
        pytest.param(inches(3, 1, 2) - 1, True, id="a nanometre of rail past the outer pickets"),
        pytest.param(inches(3, 1, 2), False, id="the rail ends at the middle of a picket"),
    ],
)
def test_raked_rails_reach_their_outer_pickets(clearance, fits):
    system = with_joint(JointKind.STAIR, clearance_nm=clearance)
    if fits:
        assert lay_out(stair_deck(), system).sections
        return
    with pytest.raises(UnbuildableLayout, match="end short of its outer pickets") as refused:
        lay_out(stair_deck(), system)
    assert refused.value.where == ("system", "joints")


# A flight 48 in wide: posts of 2 in whose centres stand 23 in inboard touch in the middle.
@pytest.mark.parametrize(
    ("set_back", "clear"),
    [
        pytest.param(inches(23) - 1, 2, id="a nanometre on each side"),
        pytest.param(inches(23), None, id="the posts touch"),
    ],
)
def test_stair_posts_leave_a_way_between_them(set_back, clear):
    system = replace(SYSTEM, stair_set_back_nm=set_back)
    deck = stair_deck()
    if clear is None:
        with pytest.raises(UnbuildableLayout, match="to walk through") as refused:
            lay_out(deck, system)
        assert refused.value.where == ("system", "stair_set_back")
    else:
        assert lay_out(deck, system).stairs[0].clear_width_nm == clear


# Width 3 in, pitch 4-1/2 in: g = 1-1/2 in. 10 in clear: two pickets leave e = 1-1/4 in; the rule
# e <= g holds. 6-1/8 in clear: one leaves 1-9/16 in, more than g; two would stand 11/16 in inside
# the posts.
@pytest.mark.parametrize(
    ("clear", "count", "end_gap"),
    [
        pytest.param(inches(10), 2, inches(1, 1, 4), id="the rule"),
        pytest.param(inches(6, 1, 8), 1, inches(1, 9, 16), id="one fewer than the rule"),
        pytest.param(inches(7, 1, 2), 2, 0, id="pickets that touch the posts"),
    ],
)
def test_wide_pickets_never_run_into_the_posts(clear, count, end_gap):
    row = fixed_pitch(clear, inches(3), inches(4, 1, 2))
    assert (len(row.centres_nm), row.end_gaps_nm) == (count, (end_gap, end_gap))
