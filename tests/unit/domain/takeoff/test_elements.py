from collections import Counter
from dataclasses import replace

import pytest

from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import PostPosition
from service.domain.layout.system import JointKind
from service.domain.lengths import inches
from service.domain.takeoff.elements import elements_of
from service.domain.takeoff.kinds import KINDS
from tests.unit.domain.layout import infills
from tests.unit.domain.layout.builders import stair_deck
from tests.unit.domain.layout.framing_builders import FRAMED_SYSTEM, JOISTS, framed
from tests.unit.domain.layout.test_handrails import job as handrail_job
from tests.unit.domain.takeoff.builders import layout, post, rail, section, small_deck


def of_kind(kind, laid_out):
    return {e.name: e for e in elements_of(laid_out) if e.kind == kind}


def test_every_kind_of_the_table_comes_from_the_small_deck_or_another_infill():
    filled = {e.kind for system in infills.SYSTEMS for e in elements_of(infills.laid_out(system))}
    filled |= {e.kind for e in elements_of(handrail_job(open_sides=frozenset()))}
    filled |= {e.kind for e in elements_of(framed_job())}
    assert {element.kind for element in elements_of(small_deck())} | filled == set(KINDS)


def test_elements_carry_exactly_the_attributes_and_values_of_their_kind():
    filled = [e for system in infills.SYSTEMS for e in elements_of(infills.laid_out(system))]
    filled += elements_of(handrail_job(open_sides=frozenset()))
    filled += elements_of(framed_job())
    stocks = {"level post", "stair post", "low", "high", *infills.PANEL_STOCKS, ""}
    for element in (*elements_of(small_deck()), *filled):
        kind = KINDS[element.kind]
        assert list(element.attributes) == list(kind.attributes)
        assert (element.length_nm is not None) == kind.has_length
        assert (element.area_nm2 is not None) == kind.has_area
        for name, value in element.attributes.items():
            assert value in (kind.attributes[name] or stocks)


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
