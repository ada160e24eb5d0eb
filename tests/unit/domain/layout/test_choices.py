"""Divisions of a run ranked by a wish, against a brute force over the picket grid."""

from dataclasses import replace
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.layout.choice_records import Preference, Wish
from service.domain.layout.choices import alternatives, cost_of_places, divide_run
from service.domain.layout.lay_out import lay_out
from service.domain.layout.line_posts import Bays, even_placements, nearest_placement
from service.domain.layout.pickets import fixed_pitch
from service.domain.layout.system import RailingSystem
from service.domain.lengths import INCH, inches
from tests.unit.domain.layout.builders import BETWEEN, FREE, SYSTEM, stair_deck

FACE = inches(1)


def grid(length_nm: int) -> tuple[int, ...]:
    row = fixed_pitch(length_nm - 2 * FACE, inches(0, 3, 4), inches(4, 1, 2))
    return tuple(FACE + centre for centre in row.centres_nm)


def spans(points: tuple[int, ...], length_nm: int) -> list[int]:
    return [b - a for a, b in pairwise((0, *points, length_nm))]


def mirrors(way: list[int]) -> bool:
    return all(abs(a - b) <= 1 for a, b in zip(way, way[::-1], strict=True))


def brute_force(length_nm: int, span_nm: int) -> tuple[int, int, bool]:
    """Fewest posts, then mirrored if any is, then the least sum of squares: over all choices."""
    places = grid(length_nm)
    for posts in range(len(places) + 1):
        ways = [
            spans(way, length_nm)
            for way in combinations(places, posts)
            if max(spans(way, length_nm)) <= span_nm
        ]
        if ways:
            mirrored = [way for way in ways if mirrors(way)]
            best = min(mirrored or ways, key=lambda way: sum(s * s for s in way))
            return posts, sum(s * s for s in best), bool(mirrored)
    raise AssertionError("no division")


@settings(deadline=None)
@given(st.integers(20, 120), st.integers(0, 15), st.integers(30, 72))
def test_the_rule_agrees_with_brute_force(whole: int, sixteenths: int, span: int) -> None:
    length_nm = inches(whole, sixteenths, 16)
    system = replace(SYSTEM, max_span_nm=inches(span))
    posts, squares, mirrored = brute_force(length_nm, inches(span))
    (division,) = divide_run(length_nm, (FACE, FACE), system)
    ours = spans(division.line_posts_nm, length_nm)
    assert len(division.line_posts_nm) == posts
    assert division.symmetric is mirrored
    assert sum(s * s for s in ours) == pytest.approx(squares, rel=1e-12)


@settings(deadline=None)
@given(
    st.integers(60, 120),
    st.lists(st.integers(0, 120), min_size=1, max_size=3),
    st.integers(40, 72),
    st.integers(1, 3),
)
def test_the_nearest_placement_agrees_with_brute_force(
    whole: int, wanted: list[int], span: int, posts: int
) -> None:
    length_nm, places = inches(whole), grid(inches(whole))
    cost = cost_of_places([inches(place) for place in wanted], Wish.NEAR_PLACES)
    assert cost is not None
    ways = [
        (sum(map(cost, way)), sum(s * s for s in spans(way, length_nm)))
        for way in combinations(places, posts)
        if max(spans(way, length_nm)) <= inches(span)
    ]
    found = nearest_placement(places, length_nm, posts + 1, Bays(inches(span)), cost)
    if not ways:
        assert found is None
        return
    assert found is not None
    chosen = [places[i] for i in found.places]
    assert (sum(map(cost, chosen)), found.squares) == min(ways)


@pytest.mark.parametrize("system", [SYSTEM, BETWEEN, FREE, replace(FREE, method=SYSTEM.method)])
@pytest.mark.parametrize("whole", [5, 6, 9, 15, 24])
def test_a_short_run_has_its_alternatives(whole: int, system: RailingSystem) -> None:
    """Bays that more posts would make too small for a picket are left out, not refused."""
    ways = alternatives(inches(whole), (FACE, FACE), system, Wish.FEWEST_POSTS, None)
    assert ways[0].option.posts == 0


@pytest.mark.parametrize("whole", [9, 15, 24, 47, 93])
def test_a_wish_for_places_sets_no_post_into_another(whole: int) -> None:
    """A post wanted at the very end of a run still clears the end post."""
    cost = cost_of_places([0, inches(3)], Wish.NEAR_PLACES)
    narrow = replace(SYSTEM, max_span_nm=inches(40))
    for way in alternatives(inches(whole), (FACE, FACE), narrow, Wish.NEAR_PLACES, cost):
        assert min(way.option.spans_nm) >= narrow.post_width_nm


def test_even_placements_come_mirrored_first() -> None:
    length_nm = inches(186)
    ranked = even_placements(grid(length_nm), length_nm, 3, inches(4, 1, 2), Bays(inches(72)))
    assert ranked[0].symmetric
    flags = [placement.symmetric for placement in ranked]
    assert flags == sorted(flags, reverse=True)


@given(st.integers(40, 300))
def test_the_most_even_look_is_ranked_first(whole: int) -> None:
    ways = alternatives(inches(whole), (FACE, FACE), SYSTEM, Wish.MOST_EVEN, None)
    assert ways[0].option.uneven_nm == min(way.option.uneven_nm for way in ways)
    fewest = alternatives(inches(whole), (FACE, FACE), SYSTEM, Wish.FEWEST_POSTS, None)
    assert fewest[0].option.posts == min(way.option.posts for way in ways)
    assert {way.option.spans_nm for way in fewest} == {way.option.spans_nm for way in ways}


@pytest.mark.parametrize("system", [SYSTEM, BETWEEN, FREE])
def test_every_alternative_keeps_to_the_span_and_closes_the_run(system: RailingSystem) -> None:
    for wish in Wish:
        for way in alternatives(inches(250), (FACE, FACE), system, wish, None):
            assert sum(way.option.spans_nm) == inches(250)
            assert max(way.option.spans_nm) <= system.max_span_nm


def test_a_post_wished_near_a_place_stands_there() -> None:
    """A point on the back edge 60 in from the left: the run goes right to left from 189 to 3."""
    wish = Preference(Wish.NEAR_PLACES, ((inches(60), inches(144)),))
    job = lay_out(stair_deck(), SYSTEM, wish)
    back = [p.at[0] for p in job.posts if p.edge == 3 and p.position.value == "line"]
    # The grid runs from 186 in down by 4-1/2 in: its 29th place is at 60 in.
    assert inches(60) in back
    assert next(c for c in job.choices if c.run == "R4").options[0].cost_nm == 12 * INCH


def test_a_view_line_is_kept_clear() -> None:
    middle = ((inches(96), inches(144)),)
    job = lay_out(stair_deck(), SYSTEM, Preference(Wish.CLEAR_OF_PLACES, middle))
    back = [p.at[0] for p in job.posts if p.edge == 3]
    assert min(abs(x - inches(96)) for x in back) >= inches(24)


def test_listing_alternatives_changes_nothing() -> None:
    plain = lay_out(stair_deck(), SYSTEM)
    listed = lay_out(stair_deck(), SYSTEM, Preference(list_alternatives=True))
    assert listed.posts == plain.posts
    assert listed.sections == plain.sections
    assert [choice.run for choice in listed.choices] == ["R1", "R2", "R3", "R4"]
    assert plain.choices == ()


def test_a_pick_is_taken() -> None:
    listed = lay_out(stair_deck(), SYSTEM, Preference(list_alternatives=True))
    options = next(c for c in listed.choices if c.run == "R4").options
    picked = lay_out(stair_deck(), SYSTEM, Preference(picks={"R4": 1}))
    run = next(r for r in picked.runs if r.name == "R4")
    assert tuple(bay.span_nm for bay in run.bays) == options[1].spans_nm
