"""Gates: leaf, posts, gaps and swing."""

from dataclasses import replace

import pytest

from service.domain.errors import UnbuildableLayout
from service.domain.layout.deck import Deck, Level, OpeningKind, Side, Swing
from service.domain.layout.gate_records import Gate
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout, PostPosition
from service.domain.layout.system import CornerPosts, GateParts, PostStock, RailingSystem
from service.domain.lengths import inches
from tests.unit.domain.layout.builders import RECTANGLE, SYSTEM, level, stair, with_opening

PARTS = GateParts(
    hinge_gap_nm=inches(0, 3, 4),
    latch_gap_nm=inches(0, 1, 2),
    bottom_gap_nm=inches(2),
    max_leaf_nm=inches(48),
    post_stock="gate post",
)
GATED = replace(SYSTEM, gates=PARTS, posts=(*SYSTEM.posts, PostStock("gate post", inches(40))))


def gated(offset: int | None = 60, width: int = 36, kinds: str = "ooow") -> Level:
    return with_opening(level(RECTANGLE, kinds), 1, OpeningKind.GATE, "gate", width, offset)


def hung(place: Level, **how: object) -> Level:
    """Hang the gate of edge 1 in another way."""
    openings = tuple(
        replace(o, **how) if o.kind is OpeningKind.GATE else o for o in place.edges[0].openings
    )
    return replace(place, edges=(replace(place.edges[0], openings=openings), *place.edges[1:]))


def only_gate(job: Layout) -> Gate:
    (gate,) = job.gates
    return gate


def test_leaf_and_posts() -> None:
    """36 in clear less 3/4 and 1/2 in; the guard's top is 36 in up and the leaf 2 in off."""
    job = lay_out(Deck((gated(),)), GATED)
    gate = only_gate(job)
    assert gate.opening_nm == inches(36)
    assert gate.leaf_width_nm == inches(34, 3, 4)
    assert gate.leaf_height_nm == inches(34)
    posts = {post.name: post for post in job.posts}
    # Walking out of the front, the left hand is towards the edge's far end.
    assert posts[gate.hinge_post].at[0] == inches(97)
    assert posts[gate.latch_post].at[0] == inches(59)


def test_hinged_on_the_right() -> None:
    gate = only_gate(lay_out(Deck((hung(gated(), hinge=Side.RIGHT),)), GATED))
    left = only_gate(lay_out(Deck((gated(),)), GATED))
    assert (gate.hinge_post, gate.latch_post) == (left.latch_post, left.hinge_post)


def test_gate_posts_and_no_others_are_cut_from_the_stock_kept_for_them() -> None:
    job = lay_out(Deck((gated(),)), GATED)
    gate = only_gate(job)
    reinforced = {post.name for post in job.posts if post.stock == "gate post"}
    assert reinforced == {gate.hinge_post, gate.latch_post}


def test_without_a_stock_of_their_own_gate_posts_are_ordinary() -> None:
    plain = replace(GATED, gates=replace(PARTS, post_stock=""))
    job = lay_out(Deck((gated(),)), plain)
    assert {post.stock for post in job.posts} <= {"low", "gate post"}


def test_gate_post_stock_too_short() -> None:
    short = replace(GATED, posts=(*SYSTEM.posts, PostStock("gate post", inches(36))))
    with pytest.raises(UnbuildableLayout, match=r"must be 939\.8 mm high"):
        lay_out(Deck((gated(),)), short)


def test_gaps_are_clear_openings() -> None:
    job = lay_out(Deck((gated(),)), GATED)
    gaps = {o.place: o.clear_nm for o in job.openings if o.element == "gate"}
    assert gaps == {"gate to post": inches(0, 3, 4), "under the gate": inches(2)}


def test_the_gate_is_hung_last() -> None:
    job = lay_out(Deck((gated(),)), GATED)
    gate = only_gate(job)
    assert job.steps[-1].element == "gate"
    assert job.steps[-1].joins == (gate.hinge_post, gate.latch_post)
    assert [step.number for step in job.steps] == list(range(1, len(job.steps) + 1))


def test_a_system_without_gates_sizes_none() -> None:
    job = lay_out(Deck((gated(),)), SYSTEM)
    assert job.gates == ()
    assert any("its leaf is not sized" in note for note in job.notes)


@pytest.mark.parametrize(
    ("kinds", "offset", "hinge_x", "opening"),
    [
        # Wall clearance 2 in and half a post: centre 3 in off the wall; face at 4 in.
        pytest.param("ooow", 0, 3, 32, id="at a wall"),
        pytest.param("oooo", 0, 3, 32, id="at a corner with guard round it"),
        pytest.param("ooow", 156, 189, 32, id="at the far corner"),
    ],
)
def test_a_gate_at_a_corner_has_a_post_there(
    kinds: str, offset: int, hinge_x: int, opening: int
) -> None:
    job = lay_out(Deck((gated(offset, 36, kinds),)), GATED)
    gate = only_gate(job)
    at = {post.name: post.at for post in job.posts}
    assert inches(hinge_x) in (at[gate.hinge_post][0], at[gate.latch_post][0])
    assert gate.opening_nm == inches(opening)
    assert any("where 914.4 mm was asked" in note for note in job.notes)
    stood = {s.element for s in job.steps} | {name for s in job.steps for name in s.carries}
    assert {gate.hinge_post, gate.latch_post} <= stood


def test_a_corner_of_two_posts_gives_a_gate_one() -> None:
    """The gate takes the corner's one post, where the run round the corner ends."""
    two = replace(GATED, square_corners=CornerPosts.TWO)
    job = lay_out(Deck((gated(0, 36, "oooo"),)), two)
    near = [p for p in job.posts if p.at[0] < inches(20) and p.at[1] < inches(20)]
    assert [p.position for p in near] == [PostPosition.GATE]


def test_two_gates_share_the_post_between_them() -> None:
    front = with_opening(gated(40), 1, OpeningKind.GATE, "second", 36, 76)
    job = lay_out(Deck((front,)), GATED)
    first, second = job.gates
    assert first.hinge_post == second.latch_post
    at = {post.name: post.at[0] for post in job.posts}
    assert at[first.hinge_post] == inches(77)
    assert second.opening_nm == inches(34)


def test_a_gate_beside_an_obstacle_hangs_on_a_post_off_it() -> None:
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.OBSTACLE, "chimney", 20, 40)
    front = with_opening(front, 1, OpeningKind.GATE, "gate", 36, 60)
    gate = only_gate(lay_out(Deck((front,)), GATED))
    assert gate.opening_nm == inches(32)


def test_a_gate_across_a_whole_edge_between_walls() -> None:
    points = [(0, 0), (48, 0), (48, 144), (0, 144)]
    whole = with_opening(level(points, "owww"), 1, OpeningKind.GATE, "gate", 48, 0)
    job = lay_out(Deck((whole,)), GATED)
    assert only_gate(job).opening_nm == inches(40)
    assert [step.element for step in job.steps] == ["P1", "P2", "gate"]


def test_a_gate_on_an_existing_post_reinforces_nothing_there() -> None:
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.EXISTING_POST, "old", 4, 56)
    front = with_opening(front, 1, OpeningKind.GATE, "gate", 36, 60)
    job = lay_out(Deck((front,)), GATED)
    gate = only_gate(job)
    latch = next(post for post in job.posts if post.name == gate.latch_post)
    assert latch.position is PostPosition.EXISTING
    assert latch.stock == ""
    assert gate.opening_nm == inches(36)


@pytest.mark.parametrize(
    ("width", "problem", "advice"),
    [
        pytest.param(50, r"a leaf 1238\.2 mm wide", "at most 1250.9 mm", id="too wide"),
        pytest.param(1, "has no width", "wider", id="no leaf"),
    ],
)
def test_a_leaf_that_cannot_hang(width: int, problem: str, advice: str) -> None:
    with pytest.raises(UnbuildableLayout, match=problem) as refused:
        lay_out(Deck((gated(60, width),)), GATED)
    assert refused.value.element == "gate gate"
    assert refused.value.where == ("deck", "levels", 0, "edges", 0)
    assert advice in refused.value.advice


def with_stair(gate_offset: int, **how: object) -> Deck:
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.STAIR, "stair", 48, 40)
    front = with_opening(front, 1, OpeningKind.GATE, "gate", 36, gate_offset)
    return Deck((hung(front, **how),), (stair(),))


def test_a_gate_that_swings_out_over_a_stair() -> None:
    """The stair lies at the gate's right hand; hinged there, its leaf stays beside the stair."""
    with pytest.raises(UnbuildableLayout, match="swings out over stair stair") as refused:
        lay_out(corner_stair(), GATED)
    assert "swing in" in refused.value.advice


def corner_stair() -> Deck:
    """A stair down from an inside corner's other edge, under the gate's leaf."""
    points = [(0, 0), (96, 0), (96, -96), (192, -96), (192, 96), (0, 96)]
    place = with_opening(level(points, "ooooow"), 2, OpeningKind.STAIR, "stair", 48, 6)
    place = with_opening(place, 1, OpeningKind.GATE, "gate", 36, 54)
    return Deck((hung(place, swing=Swing.OUT),), (stair(),))


def test_the_same_gate_swings_in() -> None:
    job = lay_out(Deck((hung(corner_stair().levels[0], swing=Swing.IN),), (stair(),)), GATED)
    assert only_gate(job).swing is Swing.IN


def test_a_gate_beside_a_stair_may_swing_out() -> None:
    job = lay_out(with_stair(100, swing=Swing.OUT), GATED)
    assert any("swings out over a drop of 1320.8 mm" in note for note in job.notes)


def test_no_room_to_swing_in_is_noted() -> None:
    narrow = [(0, 0), (192, 0), (192, 30), (0, 30)]
    place = with_opening(level(narrow, "owww"), 1, OpeningKind.GATE, "gate", 36, 60)
    job = lay_out(Deck((place,)), GATED)
    assert any("no room for a quarter turn" in note for note in job.notes)
    roomy = lay_out(Deck((gated(),)), GATED)
    assert not any("quarter turn" in note for note in roomy.notes)


@pytest.mark.parametrize("system", [GATED, replace(GATED, square_corners=CornerPosts.TWO)])
@pytest.mark.parametrize("offset", range(0, 157, 6))
def test_wherever_it_stands_a_gate_has_two_posts(offset: int, system: RailingSystem) -> None:
    """Except where the strip beside it is too short for a bay, which is said."""
    problem = ""
    try:
        job = lay_out(Deck((gated(offset, 36, "oooo"),)), system)
    except UnbuildableLayout as refused:
        problem = refused.detail
    assert not problem or "too short for a bay" in problem
    if not problem:
        gate = only_gate(job)
        assert gate.hinge_post != gate.latch_post
        assert inches(24) <= gate.opening_nm <= inches(36)
