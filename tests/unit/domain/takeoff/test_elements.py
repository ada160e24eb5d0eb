from collections import Counter
from dataclasses import replace

import pytest

from service.domain.layout.deck import Deck
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import PostPosition
from service.domain.layout.system import JointKind
from service.domain.lengths import inches
from service.domain.takeoff.elements import elements_of
from service.domain.takeoff.kinds import KINDS
from tests.unit.domain.layout import infills
from tests.unit.domain.layout.builders import stair_deck
from tests.unit.domain.layout.framing_builders import FRAMED_SYSTEM, JOISTS, framed
from tests.unit.domain.layout.test_gates import GATED, gated
from tests.unit.domain.layout.test_handrails import PARTS as HANDRAIL
from tests.unit.domain.layout.test_handrails import job as handrail_job
from tests.unit.domain.takeoff.builders import layout, post, rail, section, small_deck

EXTENDED = replace(HANDRAIL, top_extension_nm=inches(12), longest_nm=inches(40), returned=False)


def of_kind(kind, laid_out):
    return {e.name: e for e in elements_of(laid_out) if e.kind == kind}


def every_element():
    """Those of the hand-built deck, and of laid-out decks that have what it has not."""
    jobs = [
        small_deck(),
        *(infills.laid_out(system) for system in infills.SYSTEMS),
        handrail_job(open_sides=frozenset()),
        handrail_job(EXTENDED, open_sides=frozenset()),
        framed_job(),
        lay_out(Deck((gated(),)), GATED),
    ]
    return [element for job in jobs for element in elements_of(job)]


def test_every_kind_of_the_table_comes_from_the_small_deck_or_another_infill():
    assert {element.kind for element in every_element()} == set(KINDS)


def test_elements_carry_exactly_the_attributes_and_values_of_their_kind():
    stocks = {"level post", "stair post", "gate post", "low", "high", *infills.PANEL_STOCKS, ""}
    for element in every_element():
        kind = KINDS[element.kind]
        assert list(element.attributes) == list(kind.attributes)
        assert (element.length_nm is not None) == kind.has_length
        assert (element.area_nm2 is not None) == kind.has_area
        for name, value in element.attributes.items():
            assert value in (kind.attributes[name] or stocks)
        assert set(element.others or ()) <= set(kind.others)


def test_every_measure_of_the_table_is_known_of_some_element():
    known = {(e.kind, measure) for e in every_element() for measure in e.others or ()}
    listed = {(name, measure) for name, kind in KINDS.items() for measure in kind.others}
    assert known == listed


def framed_job(joist_deg: float = 90.0):
    timber = replace(JOISTS, joist_deg=joist_deg)
    return lay_out(framed(stair_deck(), timber), FRAMED_SYSTEM)


def test_each_ply_of_a_block_is_a_piece():
    """Eleven blocks of one ply, but two under the line post P5 in the middle of the right side."""
    blocks = of_kind("block", framed_job())
    assert sum(block.count for block in blocks.values()) == 12
    assert (blocks["B5"].count, blocks["B5"].length_nm) == (2, inches(13, 11, 16))
    assert {block.attributes["ends"] for block in blocks.values()} == {"square"}
    slanted = of_kind("block", framed_job(45.0)).values()
    assert "angled" in {block.attributes["ends"] for block in slanted}


def test_legs_on_a_stair_are_counted_by_their_height():
    """3 in on the level, 2-3/8 in on the treads of both stair rails."""
    legs = of_kind("support_leg", framed_job())
    assert {(leg.attributes["raked"], leg.length_nm) for leg in legs.values()} == {
        ("no", inches(3)),
        ("yes", inches(2, 3, 8)),
    }


def test_counts_of_the_small_deck_by_pencil():
    counts = Counter()
    for element in elements_of(small_deck()):
        counts[element.kind] += element.count
    assert counts == {
        "post": 4,
        "section": 2,
        "rail": 5,
        "picket": 29,  # 20 on the level, 9 on the stair
        "joint": 8,  # two sections, two ends, top and bottom
        "line_post_joint": 3,  # the top rail runs past P2, two bottom rails end at it
        "support_leg": 2,
        "run": 2,
        "gate": 1,
        "stair": 1,
        "deck": 1,
    }


def test_joints_know_kind_angle_place_and_rake():
    joints = of_kind("joint", small_deck())
    assert joints["S1 bottom at P3"].attributes == {
        "joint": "sleeve",
        "angle": "angled",
        "place": "bottom",
        "raked": "no",
        "to": "post",
    }
    assert joints["S2 top at P4"].attributes["joint"] == "stair"
    assert joints["S2 top at P4"].attributes["raked"] == "yes"


@pytest.mark.parametrize(
    ("angle_deg", "word"),
    [
        pytest.param(0.0, "square", id="square"),
        pytest.param(-0.4, "square", id="within what a connector takes up"),
        pytest.param(0.5, "angled", id="at the limit"),
        pytest.param(-45.0, "angled", id="turned right"),
    ],
)
def test_angle_of_a_joint(angle_deg, word):
    one = section(
        "S1",
        ("P1", JointKind.SLEEVE, angle_deg),
        ("P2", JointKind.FIXED),
        [rail("S1 top", "top", 0, inches(10))],
    )
    assert of_kind("joint", layout(sections=[one]))["S1 top at P1"].attributes["angle"] == word


def test_line_post_joints_tell_passing_from_ending():
    joints = of_kind("line_post_joint", small_deck())
    top, bottom = joints["S1 top at P2"], joints["S1 bottom at P2"]
    assert (top.attributes["meets"], top.count) == ("through", 1)
    assert (bottom.attributes["meets"], bottom.count) == ("end", 2)


def test_a_top_rail_joined_at_a_line_post_ends_there_twice():
    one = section(
        "S1",
        ("P1", JointKind.FIXED),
        ("P3", JointKind.FIXED),
        [rail("S1 top 1", "top", 0, inches(50)), rail("S1 top 2", "top", inches(50), inches(50))],
        line_posts=[("P2", inches(50))],
    )
    joint = of_kind("line_post_joint", layout(sections=[one]))["S1 top at P2"]
    assert (joint.attributes["meets"], joint.count) == ("end", 2)


def test_an_existing_post_is_not_an_element_but_its_joints_are():
    posts = [post("P1", PostPosition.EXISTING), post("P2")]
    one = section(
        "S1",
        ("P1", JointKind.BRACKET),
        ("P2", JointKind.FIXED),
        [rail("S1 top", "top", 0, inches(10))],
    )
    laid_out = layout(posts, [one])
    assert list(of_kind("post", laid_out)) == ["P2"]
    assert "S1 top at P1" in of_kind("joint", laid_out)


def test_a_section_without_pickets_or_legs_has_none():
    one = section(
        "S1",
        ("P1", JointKind.FIXED),
        ("P2", JointKind.FIXED),
        [rail("S1 top", "top", 0, inches(10))],
    )
    kinds = {element.kind for element in elements_of(layout(sections=[one]))}
    assert kinds.isdisjoint({"picket", "support_leg", "line_post_joint"})


def test_a_stair_post_is_one_by_its_position():
    posts = of_kind("post", small_deck())
    assert [posts[name].attributes["stair"] for name in ("P1", "P2", "P3", "P4")] == [
        "no",
        "no",
        "yes",
        "yes",
    ]
    assert posts["P4"].attributes["surface"] == "slab"
    assert posts["P4"].length_nm == inches(50)


def test_handrails_on_both_walls_by_pencil():
    """75 in in one piece each, three brackets and two returned ends each."""
    counts = Counter()
    for element in elements_of(handrail_job(open_sides=frozenset())):
        counts[element.kind] += element.count
    assert [counts[k] for k in ("handrail", "handrail_bracket", "handrail_return")] == [2, 6, 4]
    pieces = of_kind("handrail", handrail_job(open_sides=frozenset()))
    assert {piece.length_nm for piece in pieces.values()} == {inches(75)}


def test_an_extended_handrail_in_pieces_has_joints_and_open_ends():
    """12 in level, then 75 in of slope in two pieces; the first joint bends by the rake."""
    job = handrail_job(EXTENDED, open_sides=frozenset())
    pieces = of_kind("handrail", job)
    assert [(p.length_nm, p.attributes["raked"]) for p in pieces.values()] == 2 * [
        (inches(12), "no"),
        (inches(37, 1, 2), "yes"),
        (inches(37, 1, 2), "yes"),
    ]
    # atan(7.5 / 10) = 36.8699 degrees
    bends = [joint.measure("angle_deg") for joint in of_kind("handrail_joint", job).values()]
    assert bends == [36_870, 0, 36_870, 0]
    assert [end.count for end in of_kind("handrail_end", job).values()] == [2, 2]
    assert of_kind("handrail_return", job) == {}


def test_a_gate_has_its_swing_and_the_size_of_its_leaf():
    """36 in clear less 3/4 and 1/2 in; 36 in high less 2 in, as in the layout's own test."""
    gate = of_kind("gate", lay_out(Deck((gated(),)), GATED))["gate"]
    assert gate.attributes == {"swing": "in", "hinge": "left"}
    assert gate.length_nm == inches(36)
    assert gate.others == {"leaf_width": inches(34, 3, 4), "leaf_height": inches(34)}


def test_a_gate_of_a_system_without_gates_has_no_leaf():
    assert of_kind("gate", small_deck())["side gate"].measure("leaf_width") is None


def test_what_a_bead_goes_round():
    """A 2 in post, a top rail of 1-1/2 by 2, a bottom rail of 1 by 1 in; no base plate is given."""
    deck = small_deck()
    joints = of_kind("joint", deck)
    assert joints["S1 top at P1"].measure("perimeter") == inches(7)
    assert joints["S1 bottom at P1"].measure("perimeter") == inches(4)
    assert of_kind("line_post_joint", deck)["S1 top at P2"].measure("perimeter") == inches(7)
    assert of_kind("post", deck)["P1"].measure("base_perimeter") is None
    framed_post = of_kind("post", framed_job())["P1"]
    assert framed_post.measure("base_perimeter") == 4 * FRAMED_SYSTEM.base.width_nm
    assert framed_post.measure("perimeter") == 4 * FRAMED_SYSTEM.post_width_nm


def test_a_rail_tied_to_an_existing_post_says_so():
    posts = [post("P1", PostPosition.EXISTING), post("P2")]
    one = section(
        "S1",
        ("P1", JointKind.BRACKET),
        ("P2", JointKind.FIXED),
        [rail("S1 top", "top", 0, inches(10))],
    )
    joints = of_kind("joint", layout(posts, [one]))
    assert joints["S1 top at P1"].attributes["to"] == "existing"
    assert joints["S1 top at P2"].attributes["to"] == "post"
