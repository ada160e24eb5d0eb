"""Legs and heat gaps, on random runs; brute force is the oracle for where legs may stand."""

from itertools import combinations, pairwise

from hypothesis import given
from hypothesis import strategies as st

from service.domain.layout.clearances import end_gaps
from service.domain.layout.deck import Conditions
from service.domain.layout.support_legs import even_places
from service.domain.layout.system import Joint, JointKind
from service.domain.lengths import inches
from tests.unit.domain.layout.builders import SYSTEM, replace


def fewest(right: int, free: list[int], limit: int) -> int | None:
    """Try every choice of places, the smallest first."""
    for count in range(len(free) + 1):
        for chosen in combinations(free, count):
            if max(b - a for a, b in pairwise((0, *chosen, right))) <= limit:
                return count
    return None


@given(
    st.integers(20, 100),
    st.lists(st.integers(1, 99), unique=True, max_size=9),
    st.integers(8, 60),
)
def test_as_few_legs_as_any_choice_needs(right: int, places: list[int], limit: int) -> None:
    free = sorted(place for place in places if place < right)
    found = even_places(0, right, free, limit)
    needed = fewest(right, free, limit)
    if needed is None:
        assert found is None
        return
    assert found is not None
    assert len(found) == needed
    assert set(found) <= set(free)
    assert max(b - a for a, b in pairwise((0, *found, right))) <= limit


@given(
    st.tuples(st.sampled_from(list(JointKind)), st.sampled_from(list(JointKind))),
    st.integers(1, 20 * 12),
    st.tuples(*[st.floats(230, 350)] * 3),
    st.tuples(*[st.integers(0, inches(1))] * 4),
)
def test_a_rail_fits_on_the_hottest_day(
    joints: tuple[JointKind, JointKind],
    length: int,
    temperatures: tuple[float, float, float],
    sizes: tuple[int, int, int, int],
) -> None:
    """However it is shared, the ends leave the growth and the fitting, and no less clearance."""
    low, now, high = sorted(temperatures)
    clearance, fitting, enters, reach = sizes
    joint = Joint(enters, clearance, fitting, reach)
    system = replace(SYSTEM, expansion_per_k=2.4e-5, joints=dict.fromkeys(JointKind, joint))
    faces_nm = inches(length)
    ends = end_gaps(joints, faces_nm, system, Conditions(now, low, high))
    free = [end for end, kind in zip(ends, joints, strict=True) if kind is not JointKind.FIXED]
    grown = 2.4e-5 * (faces_nm + 2 * enters) * (high - now)
    drawn = 2.4e-5 * (faces_nm + 2 * enters) * (high - low)
    if free:
        assert sum(end.gap_nm - fitting for end in free) >= grown - 1
        assert sum((end.widest_nm or 0) - fitting for end in free) >= drawn - 2
    for end in ends:
        assert end.gap_nm >= clearance
        assert end.allowance_nm == enters - end.gap_nm
        if end.hold_nm is not None:
            assert end.hold_nm == reach + enters - (end.widest_nm or 0)
