"""Stairs with landings: straight on, L and switchback, worked on a front edge at y = 0.

The flight is 48 in wide from x = 72 to 120, 7-1/2 over 10 with 1 in nosings; a flight of four
risers puts the landing's near edge 3 x 10 - 1 = 29 in out.
"""

import math
from dataclasses import replace

import pytest

from service.domain.errors import InvalidGeometry, UnbuildableLayout
from service.domain.layout.deck import Deck, Footing, Landing, Level, OpeningKind, Side, Stair, Turn
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout, PostPosition
from service.domain.lengths import inches
from tests.unit.domain.layout.builders import FASCIA, RECTANGLE, SYSTEM, level, stair, with_opening


def deck(turn: Turn, *, length: int = 48, gap: int = 0, **changes: object) -> Deck:
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.STAIR, "stair", 48, 72)
    flight: Stair = replace(
        stair(risers=8, total_rise_nm=inches(60), bottom=Footing.GRADE),
        flights=(4, 4),
        landings=(Landing(turn, inches(length), inches(gap)),),
        **changes,
    )
    return Deck((front,), (flight,))


def landing(job: Layout) -> Level:
    return job.deck.levels[1]


def corners(place: Level) -> set[tuple[float, float]]:
    return {(x / inches(1), y / inches(1)) for x, y in place.outline}


def area(place: Level) -> int:
    points = place.outline
    return sum(
        ax * by - bx * ay
        for (ax, ay), (bx, by) in zip(points, (*points[1:], points[0]), strict=True)
    )


@pytest.mark.parametrize("turn", list(Turn))
def test_every_landing_is_anticlockwise_and_every_flight_has_its_rails(turn: Turn) -> None:
    job = lay_out(deck(turn, gap=6), SYSTEM)
    assert area(landing(job)) > 0
    for flight in ("stair flight 1", "stair flight 2"):
        assert {run.side for run in job.runs if run.stair == flight} == {Side.LEFT, Side.RIGHT}
    assert len(job.stairs) == 2


def test_straight_on_shares_the_posts_at_both_ends_of_the_landing() -> None:
    """Landing x 72..120, y -29..-77; posts 3 in inside its corners."""
    job = lay_out(deck(Turn.STRAIGHT), SYSTEM)
    assert corners(landing(job)) == {(72, -29), (72, -77), (120, -77), (120, -29)}
    on_landing = {
        (p.at[0] / inches(1), p.at[1] / inches(1), p.position.value)
        for p in job.posts
        if p.level == "stair landing 1" and p.position is not PostPosition.STAIR_LINE
    }
    shared = {(75.0, -32.0), (117.0, -32.0), (75.0, -74.0), (117.0, -74.0)}
    assert {(x, y) for x, y, _ in on_landing} >= shared
    upper = [run for run in job.runs if run.stair == "stair flight 1"]
    lower = [run for run in job.runs if run.stair == "stair flight 2"]
    guard = [run for run in job.runs if run.level == "stair landing 1" and not run.stair]
    # Each side of the landing is one run from the upper flight's foot to the lower flight's head.
    assert {run.end for run in upper} | {run.start for run in lower} == {
        post for run in guard for post in (run.start, run.end)
    }
    assert [run.length_nm for run in guard] == [inches(42), inches(42)]


def test_turning_left_shares_one_newel_inside_the_turn() -> None:
    """Landing 48 x 48; the lower flight leaves towards +x; newel 3 in inside the inner corner."""
    job = lay_out(deck(Turn.LEFT), SYSTEM)
    assert job.stairs[1].down == pytest.approx((1.0, 0.0))
    upper = next(r for r in job.runs if r.stair == "stair flight 1" and r.side is Side.LEFT)
    lower = next(r for r in job.runs if r.stair == "stair flight 2" and r.side is Side.LEFT)
    assert upper.end == lower.start
    newel = next(p for p in job.posts if p.name == upper.end)
    assert newel.at == (inches(117), inches(-32))
    outside = [r for r in job.runs if r.level == "stair landing 1" and not r.stair]
    assert sorted(r.length_nm for r in outside) == [inches(42), inches(42)]


def test_turning_right_mirrors_turning_left() -> None:
    left, right = (lay_out(deck(turn), SYSTEM) for turn in (Turn.LEFT, Turn.RIGHT))
    assert right.stairs[1].down == pytest.approx((-1.0, 0.0))
    across = inches(192)  # the stair lies in the middle of the front

    def places(job: Layout) -> set[tuple[int, int]]:
        return {p.at for p in job.posts if p.level != "main"}

    assert {(across - x, y) for x, y in places(left)} == places(right)


def test_switchback_comes_back_beside_the_upper_flight() -> None:
    """Landing 102 in wide with a 6 in gap; the lower flight runs back towards the deck."""
    job = lay_out(deck(Turn.BACK_LEFT, gap=6), SYSTEM)
    assert corners(landing(job)) == {(72, -29), (72, -77), (174, -77), (174, -29)}
    assert job.stairs[1].down == pytest.approx((0.0, 1.0))
    assert {(x / inches(1), y / inches(1)) for x, y in job.stairs[1].top} == {
        (126.0, -29.0),
        (174.0, -29.0),
    }


def test_fall_heights_and_rises_add_up_over_flights() -> None:
    job = lay_out(deck(Turn.LEFT), SYSTEM)
    assert [s.total_rise_nm for s in job.deck.stairs] == [inches(30), inches(30)]
    assert {edge.fall_height_nm for edge in landing(job).edges} == {inches(30)}


def test_landing_posts_are_high_enough_for_guard_and_stair_rail() -> None:
    """Foot of the upper flight: upper face 2 in inside the landing's edge, 31 in out.

    Rail top there: 36 - 31 x 0.75 + 30 = 42.75 in above the landing, and 1 in of post above it.
    """
    job = lay_out(deck(Turn.STRAIGHT), SYSTEM)
    foot = next(r for r in job.runs if r.stair == "stair flight 1").end
    assert next(p for p in job.posts if p.name == foot).height_nm == inches(43, 3, 4)


def test_a_walled_side_is_walled_at_the_landing_too() -> None:
    job = lay_out(deck(Turn.LEFT, open_sides=frozenset({Side.LEFT})), SYSTEM)
    assert not [r for r in job.runs if r.level == "stair landing 1" and not r.stair]


def test_flights_that_do_not_add_up() -> None:
    wrong = deck(Turn.LEFT, risers=9)
    with pytest.raises(InvalidGeometry, match="9 risers, flights of 4, 4 and 1 landings"):
        lay_out(wrong, SYSTEM)


def test_a_landing_too_short_for_the_turn_says_how_long() -> None:
    with pytest.raises(UnbuildableLayout, match="leaves from its side") as refused:
        lay_out(deck(Turn.LEFT, length=40), SYSTEM)
    assert "1219.2 mm" in refused.value.advice


def test_a_landing_keeps_its_posts_in_line_with_its_stair() -> None:
    """The deck's posts stand 3 in inside its edges, the stair's 2-1/2 in, the landing's too."""
    uneven = replace(SYSTEM, stair_set_back_nm=inches(2, 1, 2))
    job = lay_out(deck(Turn.STRAIGHT), uneven)
    assert not [note for note in job.notes if "shift the start" in note]
    across = {p.at[0] for p in job.posts if p.level == "stair landing 1"}
    assert across == {inches(74, 1, 2), inches(117, 1, 2)}


@pytest.mark.parametrize("turn", list(Turn))
def test_a_landing_fits_a_stair_from_an_edge_of_any_angle(turn: Turn) -> None:
    """Corners lie on whole nanometres, so a landing's edge is a nanometre off now and then."""
    for lean in range(5, 60, 4):
        slanted = level([(0, 0), (192, lean), (192, 192), (0, 192)], "owww")
        taped = with_opening(slanted, 1, OpeningKind.STAIR, "stair", 48, 72)
        flights = deck(turn, gap=6).stairs
        assert len(lay_out(Deck((taped,), flights), SYSTEM).stairs) == 2


@pytest.mark.parametrize("turn", list(Turn))
def test_landings_of_a_fascia_system_hang_their_posts_in_line(turn: Turn) -> None:
    """Stair posts hang outside the stair's sides as deck posts outside the edges."""
    job = lay_out(deck(turn, gap=12, length=54), FASCIA)
    posts = {p.name: p for p in job.posts}
    for run in job.runs:
        span = math.dist(posts[run.start].at, posts[run.end].at)
        assert span == pytest.approx(run.length_nm, abs=50)
    hung = [p for p in job.posts if p.position is PostPosition.STAIR_TOP]
    assert {p.surface for p in hung} == {"fascia"}


def two_levels(lower_y: int, lower_x: int = 0) -> Deck:
    """A stair of four risers from the deck to a lower level that was taped for itself.

    Its lowest riser stands 3 x 10 - 1 = 29 in out from the deck's edge.
    """
    upper = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.STAIR, "stair", 48, 72)
    points = [(x + lower_x, y) for x, y in ((24, lower_y - 96), (168, lower_y - 96))]
    points += [(168 + lower_x, lower_y), (24 + lower_x, lower_y)]
    lower = level(points, "oooo", "lower")
    lower = with_opening(lower, 3, OpeningKind.ARRIVAL, "stair", 48, 48)
    flight = stair(risers=4, total_rise_nm=inches(30), bottom=Footing.LANDING)
    return Deck((upper, replace(lower, index=1)), (flight,))


def test_a_stair_to_a_lower_level_shares_that_level_s_posts() -> None:
    job = lay_out(two_levels(-29), SYSTEM)
    feet = {run.end for run in job.runs if run.stair}
    assert {p.level for p in job.posts if p.name in feet} == {"lower"}
    ends = {post for run in job.runs if run.level == "lower" for post in (run.start, run.end)}
    assert feet <= ends


def test_a_lower_level_away_from_the_lowest_riser_is_refused() -> None:
    with pytest.raises(UnbuildableLayout, match=r"begins 254\.0 mm beyond its lowest riser"):
        lay_out(two_levels(-39), SYSTEM)


def test_a_lower_level_out_of_line_says_how_far_and_which_way() -> None:
    """The stair goes down towards -y: its left hand is +x."""
    with pytest.raises(UnbuildableLayout, match=r"50\.8 mm to the left") as refused:
        lay_out(two_levels(-29, lower_x=2), SYSTEM)
    assert "Shift the start 50.8 mm to the left" in refused.value.advice


def test_a_lower_level_a_little_out_of_line_says_how_far_to_shift() -> None:
    """Its posts stand 3 in inside its corners, the stair's 2-1/2 in inside the stair's sides."""
    uneven = replace(SYSTEM, stair_set_back_nm=inches(2, 1, 2))
    points = [(72, -125), (120, -125), (120, -29), (72, -29)]
    lower = with_opening(level(points, "oooo", "lower"), 3, OpeningKind.ARRIVAL, "stair", 48, 0)
    upper, flight = two_levels(-29).levels[0], two_levels(-29).stairs
    job = lay_out(Deck((upper, replace(lower, index=1)), flight), uneven)
    shifts = [note for note in job.notes if "shift the start" in note]
    assert len(shifts) == 2
    assert all("12.7 mm" in note for note in shifts)
