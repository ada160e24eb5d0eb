from dataclasses import replace

import pytest

from service.domain.errors import InvalidGeometry, UnbuildableLayout, UnknownReference
from service.domain.layout.deck import Deck, Footing, OpeningKind, Side
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import PostPosition
from service.domain.layout.system import CornerPosts, JointKind, Mount
from service.domain.lengths import inches
from tests.unit.domain.layout.builders import (
    FASCIA,
    RECTANGLE,
    SYSTEM,
    level,
    one_run_deck,
    stair,
    with_opening,
)

L_SHAPE = [(0, 0), (192, 0), (192, 96), (96, 96), (96, 192), (0, 192)]


def test_closed_guard_joins_its_last_section_at_both_ends() -> None:
    job = lay_out(Deck((level(RECTANGLE, "oooo"),)), SYSTEM)
    last = job.steps[-1]
    assert set(last.joins) == {"P1", job.sections[-1].start.post}
    assert last.carries == job.sections[-1].line_posts
    assert {job.sections[-1].start.joint, job.sections[-1].end.joint} == {JointKind.SLEEVE}
    assert sum(p.position is PostPosition.CORNER for p in job.posts) == 4


def test_inside_corner_turns_right() -> None:
    job = lay_out(Deck((level(L_SHAPE, "ooooow"),)), SYSTEM)
    turns = sorted(p.turn_deg for p in job.posts if p.position is PostPosition.CORNER)
    assert turns == pytest.approx([-90.0, 90.0, 90.0, 90.0])
    inside = next(p for p in job.posts if p.turn_deg < 0)
    assert inside.at == (inches(93), inches(93))


def test_a_clockwise_deck_is_the_same_deck() -> None:
    job = lay_out(one_run_deck(), SYSTEM)
    clockwise = level([RECTANGLE[0], *reversed(RECTANGLE[1:])], "wooo")
    other = lay_out(Deck((clockwise,)), SYSTEM)
    assert {p.at for p in job.posts} == {p.at for p in other.posts}
    assert {run.edge for run in other.runs} == {2, 3, 4}


def test_offset_of_an_opening_survives_a_clockwise_outline() -> None:
    """Edge 3 of the clockwise outline runs from right to left along the front."""
    points = [(0, 0), (0, 144), (192, 144), (192, 0)]
    taped = with_opening(level(points, "wooo"), 4, OpeningKind.STAIR, "stair", 48, 24)
    job = lay_out(Deck((taped,), (stair(),)), SYSTEM)
    tops = sorted(p.at[0] for p in job.posts if p.position is PostPosition.STAIR_TOP)
    # 24 in from the right corner: the stair lies between 120 and 168 in.
    assert tops == [inches(123), inches(165)]


def test_fascia_posts_stand_outside_the_edge() -> None:
    hung = replace(SYSTEM, mount=Mount.FASCIA, set_back_nm=inches(2), fascia_drop_nm=inches(9))
    hung = replace(
        hung,
        posts=(
            *hung.posts[:0],
            replace(hung.posts[1], height_nm=inches(60)),
        ),
    )
    job = lay_out(one_run_deck(), hung)
    corner = next(p for p in job.posts if p.position is PostPosition.CORNER)
    assert corner.at == (inches(194), inches(-2))
    assert corner.height_nm == inches(36 + 1 + 9)


def test_an_existing_post_is_joined_with_a_sleeve_and_not_ordered() -> None:
    job = lay_out(Deck((level(RECTANGLE, "eoow"),)), SYSTEM)
    existing = [p for p in job.posts if p.position is PostPosition.EXISTING]
    assert [p.stock for p in existing] == [""]
    assert job.steps[0].joins == (existing[0].name,)


def test_forty_five_degree_corner_shares_the_turn_between_both_runs() -> None:
    """h = 1, rail 2 in wide, 22.5 degrees each: square ends stop (1 + sin a) / cos a out."""
    points = [(0, 0), (144, 0), (200, 56), (200, 200), (0, 200)]
    job = lay_out(Deck((level(points, "oooww"),)), SYSTEM)
    corner = next(p for p in job.posts if p.position is PostPosition.CORNER)
    assert corner.turn_deg == pytest.approx(45.0)
    ends = [e for s in job.sections for e in (s.start, s.end) if e.post == corner.name]
    assert sorted(e.angle_deg for e in ends) == pytest.approx([-22.5, 22.5])
    first = next(s for s in job.sections if s.end.post == corner.name)
    top = first.rails[0]
    stop = inches(1) * (1 + 0.3826834323650898) / 0.9238795325112867
    assert first.length_nm - top.start_nm - top.length_nm == pytest.approx(stop, abs=inches(1) / 4)


@pytest.mark.parametrize("guarded", [True, False])
def test_a_stair_beside_an_inside_corner_has_posts_of_its_own(guarded: bool) -> None:
    """The corner's post, at 93 in, stands 3 in outside the stair; its own is 3 in inside."""
    deck = with_opening(level(L_SHAPE, "ooooow"), 3, OpeningKind.STAIR, "stair", 48, 48)
    front = replace(deck.edges[2], guarded=guarded)
    deck = replace(deck, edges=(*deck.edges[:2], front, *deck.edges[3:]))
    job = lay_out(Deck((deck,), (stair(),)), SYSTEM)
    across = {p.at[0] for p in job.posts if p.stair}
    assert across == {inches(99), inches(141)}
    filler = [r.length_nm for r in job.runs if r.edge == 3 and not r.stair]
    assert (inches(6) in filler) is guarded


def test_stair_posts_of_a_fascia_system_hang_outside_the_stair() -> None:
    """Stair from 72 to 120 in, posts 2 in outside it; the top ones 2 in outside the edge."""
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.STAIR, "stair", 48, 72)
    tall = stair(risers=14, total_rise_nm=inches(105), bottom=Footing.TREAD)
    job = lay_out(Deck((front,), (tall,)), FASCIA)
    assert {p.at[0] for p in job.posts if p.stair} == {inches(70), inches(122)}
    assert {p.surface for p in job.posts if p.stair} == {"fascia"}
    (plan,) = job.stairs
    assert plan.clear_width_nm == inches(48)
    # Bottom post 5 in behind the 13th nosing: rail top 36 + 5 x 0.75 above the tread at its
    # centre, 3/4 in more at its upper face; 1 in of post above and 9 in below the tread.
    bottom = next(p for p in job.posts if p.position is PostPosition.STAIR_BOTTOM)
    assert bottom.height_nm == inches(50, 1, 2)


def test_an_existing_post_at_a_corner_is_the_corner_s_post() -> None:
    front = with_opening(level(RECTANGLE, "oooo"), 1, OpeningKind.EXISTING_POST, "old", 4, 0)
    for deck in (front, with_opening(front, 4, OpeningKind.EXISTING_POST, "old", 4, 140)):
        job = lay_out(Deck((deck,)), SYSTEM)
        (existing,) = [p for p in job.posts if p.position is PostPosition.EXISTING]
        assert existing.at == (inches(3), inches(3))
        assert existing.width_nm == inches(4)
        assert {existing.name} <= {r.start for r in job.runs} & {r.end for r in job.runs}


@pytest.mark.parametrize("points", [RECTANGLE, L_SHAPE], ids=["outside", "inside too"])
def test_the_gap_between_two_corner_posts_is_an_opening(points: list[tuple[int, int]]) -> None:
    two = replace(SYSTEM, square_corners=CornerPosts.TWO, corner_gap_nm=inches(2))
    job = lay_out(Deck((level(points, "o" * len(points)),)), two)
    gaps = [o for o in job.openings if o.place == "post to post"]
    assert {gap.clear_nm for gap in gaps} == {inches(2)}
    assert len(gaps) == 2 * len(points)


def test_a_stair_post_in_the_way_of_a_rail_is_refused() -> None:
    """Round an acute corner the guard of edge 5 passes where the stair of edge 6 begins."""
    points = [(0, 0), (200, -60), (330, 40), (260, 220), (120, 150), (-40, 230)]
    deck = with_opening(level(points, "wwwwoo"), 6, OpeningKind.STAIR, "stair", 48, 3)
    bare = (*deck.edges[:5], replace(deck.edges[5], guarded=False))
    with pytest.raises(UnbuildableLayout, match="leave no way for the rail") as refused:
        lay_out(Deck((replace(deck, edges=bare),), (stair(),)), SYSTEM)
    assert refused.value.where == ("deck", "stairs", 0)


def test_an_existing_post_that_both_edges_name_meets_both_rails_at_its_faces() -> None:
    """At a 45 degree corner the post is square to the first edge; the second rail meets it."""
    points = [(0, 0), (144, 0), (200, 56), (200, 200), (0, 200)]
    deck = with_opening(level(points, "oooww"), 1, OpeningKind.EXISTING_POST, "old", 4, 140)
    deck = with_opening(deck, 2, OpeningKind.EXISTING_POST, "old", 4, 0)
    job = lay_out(Deck((deck,)), SYSTEM)
    (existing,) = [p for p in job.posts if p.position is PostPosition.EXISTING]
    ends = [e for s in job.sections for e in (s.start, s.end) if e.post == existing.name]
    assert sorted(abs(e.angle_deg) for e in ends) == pytest.approx([0.0, 45.0])


def test_posts_in_the_same_place_are_refused() -> None:
    """A stair begins where an old post stands; following the advice, it is laid out."""
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.EXISTING_POST, "old", 4, 40)
    front = with_opening(front, 1, OpeningKind.STAIR, "stair", 48, 44)
    near = replace(SYSTEM, stair_set_back_nm=inches(0))
    with pytest.raises(UnbuildableLayout, match="stand in each other") as refused:
        lay_out(Deck((front,), (stair(),)), near)
    assert refused.value.where == ("deck", "stairs", 0)
    # Centres 2 in apart; 3 in of half posts over their corners, and a post's width for a bay.
    assert "by at least 159 mm" in refused.value.advice
    moved = tuple(
        replace(o, offset_nm=(o.offset_nm or 0) + 159 * 10**6) for o in front.edges[0].openings[1:]
    )
    edge = replace(front.edges[0], openings=(front.edges[0].openings[0], *moved))
    assert lay_out(Deck((replace(front, edges=(edge, *front.edges[1:])),), (stair(),)), near).posts


def test_stair_at_the_corner_shares_the_corner_post() -> None:
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.STAIR, "stair", 48, 144)
    job = lay_out(Deck((front,), (stair(),)), SYSTEM)
    tops = {p.at for p in job.posts if p.position is PostPosition.STAIR_TOP}
    assert (inches(189), inches(3)) in tops
    left = next(r for r in job.runs if r.side is Side.LEFT)
    bottom = next(p for p in job.posts if p.name == left.end)
    assert bottom.at[0] == inches(189)


def test_stair_with_a_walled_side_has_one_rail() -> None:
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.STAIR, "stair", 48, 72)
    job = lay_out(Deck((front,), (stair(open_sides=frozenset({Side.LEFT})),)), SYSTEM)
    assert [run.side for run in job.runs if run.stair] == [Side.LEFT]


def test_stair_over_the_whole_edge_between_walls_has_lone_posts() -> None:
    points = [(0, 0), (48, 0), (48, 144), (0, 144)]
    whole = with_opening(level(points, "owww"), 1, OpeningKind.STAIR, "stair", 48, 0)
    job = lay_out(Deck((whole,), (stair(),)), SYSTEM)
    assert sum(p.position is PostPosition.STAIR_TOP for p in job.posts) == 2
    assert {run.stair for run in job.runs} == {"stair"}


def test_a_narrow_strip_beside_a_stair_needs_one_post_only() -> None:
    """The stair post, centre 4 in from the wall, leaves 3 in clear: no second post, no picket."""
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.STAIR, "stair", 48, 2)
    near = replace(SYSTEM, stair_set_back_nm=inches(2))
    job = lay_out(Deck((front,), (stair(),)), near)
    gaps = [o for o in job.openings if o.place == "post to structure"]
    assert [gap.clear_nm for gap in gaps] == [inches(3)]
    top = next(r for r in job.runs if r.side is Side.RIGHT).start
    assert gaps[0].element == top
    assert "R1" in {run.name for run in job.runs if run.edge == 1 and not run.stair}


def test_gate_posts_leave_the_gate_s_width_clear() -> None:
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.GATE, "gate", 36, 60)
    job = lay_out(Deck((front,)), SYSTEM)
    gates = sorted(p.at[0] for p in job.posts if p.position is PostPosition.GATE)
    assert gates == [inches(59), inches(97)]


def test_a_long_stair_gets_a_post_on_a_tread() -> None:
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.STAIR, "stair", 48, 72)
    tall = stair(risers=14, total_rise_nm=inches(105))
    job = lay_out(Deck((front,), (tall,)), SYSTEM)
    between = [p for p in job.posts if p.position is PostPosition.STAIR_LINE]
    assert len(between) == 2
    assert {p.surface for p in between} == {"tread"}
    # Posts from -3 to 132 in: the nearest tread to the middle is the 7th, post at 65 in.
    assert {p.base_nm for p in between} == {-inches(52, 1, 2)}


@pytest.mark.parametrize(
    ("points", "kinds", "problem"),
    [
        pytest.param([(0, 0), (100, 100), (100, 0), (0, 100)], "oooo", "cross", id="bow tie"),
        pytest.param([(0, 0), (99, 0), (99, 0), (9, 99)], "oooo", "long", id="one corner twice"),
        pytest.param([(0, 0), (100, 0)], "oo", "corners", id="a line"),
        pytest.param([(0, 0), (200, 0), (100, 1), (50, 90)], "oooo", "sharper", id="a spike"),
    ],
)
def test_no_deck(points: list[tuple[int, int]], kinds: str, problem: str) -> None:
    with pytest.raises(InvalidGeometry, match=problem) as refused:
        lay_out(Deck((level(points, kinds),)), SYSTEM)
    assert refused.value.where[:3] == ("deck", "levels", 0)
    assert refused.value.advice


def test_stair_wider_than_its_edge() -> None:
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.STAIR, "stair", 200, None)
    with pytest.raises(UnbuildableLayout, match="does not fit") as refused:
        lay_out(Deck((front,), (stair(),)), SYSTEM)
    assert refused.value.where == ("deck", "levels", 0, "edges", 0)


def test_steep_stair_says_the_run_that_would_do() -> None:
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.STAIR, "stair", 48, 72)
    with pytest.raises(UnbuildableLayout, match=r"rakes at 43\.2 degrees") as refused:
        lay_out(Deck((front,), (stair(unit_run_nm=inches(8)),)), SYSTEM)
    assert "212 mm" in refused.value.advice


def test_stair_too_near_a_corner_says_how_far_to_move() -> None:
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.STAIR, "stair", 48, 141)
    with pytest.raises(UnbuildableLayout, match="too short for a bay") as refused:
        lay_out(Deck((front,), (stair(),)), SYSTEM)
    assert "Move the stair" in refused.value.advice


def test_no_post_stock_is_high_enough() -> None:
    short = replace(SYSTEM, posts=SYSTEM.posts[:1])
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.STAIR, "stair", 48, 72)
    with pytest.raises(UnbuildableLayout, match=r"must be 1111\.2 mm high"):
        lay_out(Deck((front,), (stair(),)), short)


def test_a_stair_no_edge_names() -> None:
    with pytest.raises(UnknownReference, match="no edge has an opening"):
        lay_out(Deck(one_run_deck().levels, (stair(),)), SYSTEM)
