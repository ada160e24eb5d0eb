"""What carries a post, worked with pencil.

16 ft x 12 ft deck, joists 1-1/2 in at 16 in from the left corner, rim 1-1/2 in, plate 5 in with
holes 2-1/8 in off both axes, 9/16 in to every edge, 1/16 in fitting.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

import pytest

from service.domain.layout.blocking import support_notes, support_posts
from service.domain.layout.framing import BasePlate, Block, Framing, PostSupport
from service.domain.layout.lay_out import lay_out
from service.domain.layout.plies import Row, place_plies
from service.domain.layout.records import Post, PostPosition
from service.domain.lengths import inches
from tests.unit.domain.layout.builders import SYSTEM, one_run_deck, stair_deck
from tests.unit.domain.layout.framing_builders import FRAMED_SYSTEM, JOISTS, framed, plate, post


def carried(
    posts: Sequence[Post], framing: Framing = JOISTS, base: BasePlate | None = FRAMED_SYSTEM.base
) -> tuple[tuple[PostSupport, ...], tuple[Block, ...]]:
    return support_posts(framed(one_run_deck(), framing), replace(SYSTEM, base=base), posts)


def test_between_joists_two_plies_under_two_rows() -> None:
    """Joists 4 and 5 at 64 and 80 leave 14-1/2 clear, less 1/16; rows at 72 -+ 2-1/8."""
    (support,), (block,) = carried([post(72, 72)])
    assert (support.over, support.supported, support.notes) == ((), True, ())
    assert (block.between, block.length_nm) == (("joist 4", "joist 5"), inches(14, 7, 16))
    assert sorted(block.plies) == [
        (inches(72), inches(69, 7, 8)),
        (inches(72), inches(74, 1, 8)),
    ]
    assert {f.edge_nm for f in support.fasteners} == {inches(0, 3, 4)}
    assert {f.end_nm for f in support.fasteners} == {inches(5, 1, 8)}


def test_joist_under_the_post_takes_blocks_on_both_sides() -> None:
    """The plate straddles joist 4; each hole is 2-1/8 - 3/4 = 1-3/8 in from the joist's face."""
    (support,), blocks = carried([post(64, 72)])
    assert support.over == ("joist 4",)
    assert {block.between for block in blocks} == {("joist 3", "joist 4"), ("joist 4", "joist 5")}
    assert {f.end_nm for f in support.fasteners} == {inches(1, 3, 8)}
    assert support.supported


def test_an_end_distance_of_four_diameters_is_not_met_beside_a_joist() -> None:
    (support,), _ = carried([post(64, 72)], base=plate(end_distance_nm=inches(1, 1, 2)))
    assert support.supported is False
    assert [note.split(". ")[0] for note in support.notes] == [
        f"Not supported: fastener {n} is 34.9 mm from the end of {b}, 38.1 mm is the least"
        for n, b in ((1, "B1"), (2, "B2"), (3, "B2"), (4, "B1"))
    ]


def test_a_line_post_takes_the_rim_and_one_ply_behind_it() -> None:
    """3 in set back: one row 7/8 in from the edge, 5/8 in from the rim's back; one at 5-1/8 in."""
    (support,), (block,) = carried([post(72, 3)])
    assert support.over == ("rim",)
    assert [f.timber for f in support.fasteners] == ["B1", "B1", "rim", "rim"]
    assert support.fasteners[2].edge_nm == inches(0, 5, 8)
    assert block.plies == ((inches(72), inches(5, 1, 8)),)


def test_joists_along_the_edge_leave_the_bay_behind_the_rim() -> None:
    """First joist's face at 15-1/4, rim's at 1-1/2: 13-3/4 in clear, less 1/16."""
    (support,), (block,) = carried([post(72, 3)], replace(JOISTS, joist_deg=0.0))
    assert block.between == ("rim", "joist 1")
    assert block.length_nm == inches(13, 11, 16)
    assert len(block.plies) == 2
    assert support.supported


def test_a_last_bay_between_joist_and_rim() -> None:
    """Joist 11 at 176 ends at 176-3/4; the rim's inner face lies at 190-1/2."""
    (support,), (block,) = carried([post(183, 72)])
    assert block.between == ("joist 11", "rim")
    assert block.length_nm == inches(13, 11, 16)
    assert support.supported


def test_a_post_turned_by_45_degrees_has_three_rows() -> None:
    """Holes at 2-1/8 in off both axes lie 2-1/8 x sqrt 2 = 3.0052 in off along the joists."""
    (support,), (block,) = carried([post(72, 72, 45)])
    off = 2.125 * math.sqrt(2)
    assert sorted(y / inches(1) for _, y in block.plies) == pytest.approx([72 - off, 72, 72 + off])
    assert min(f.end_nm for f in support.fasteners) / inches(1) == pytest.approx(7.25 - off)


def test_joists_at_45_degrees_end_on_a_slant_at_the_rim() -> None:
    (support,), blocks = carried([post(72, 3)], replace(JOISTS, joist_deg=45.0))
    assert {block.between[1] for block in blocks} == {"rim"}
    assert {block.end_deg for block in blocks} == {(0.0, -45.0)}
    assert support.supported


def test_a_plate_wider_than_the_joist_spacing_lands_on_two_joists() -> None:
    """Holes 8 in off the centre of the bay are the joists' own centres: 3/4 in to each edge."""
    (support,), blocks = carried([post(72, 72)], base=plate(20, (8, 0)))
    assert blocks == ()
    assert support.over == ("joist 4", "joist 5")
    assert [f.timber for f in support.fasteners] == ["joist 5", "joist 4", "joist 4", "joist 5"]
    assert {f.edge_nm for f in support.fasteners} == {inches(0, 3, 4)}


def test_a_corner_post_takes_both_rims_and_a_block() -> None:
    """At 3 in from both edges three holes lie on the rims and one, at 5-1/8 in, behind both."""
    (support,), (block,) = carried([post(3, 3)])
    assert [f.timber for f in support.fasteners] == ["B1", "rim", "rim", "rim"]
    assert block.between == ("rim", "joist 1")
    assert support.supported


def test_a_plate_past_the_rim_is_not_supported() -> None:
    """1 in set back: the plate stands 1-1/2 in out, two holes miss the rim by 1-1/8 in."""
    (support,), _ = carried([post(72, 1)])
    assert support.overhang_nm == inches(1, 1, 2)
    assert [f.edge_nm for f in support.fasteners if not f.holds] == [-inches(1, 1, 8)] * 2
    assert support.supported is False
    assert support.notes[0].startswith("Not supported: its plate stands 38.1 mm out past the rim")


def test_decking_past_the_rim_counts_as_air() -> None:
    """With 1 in of overhang the plate, 1/2 in inside the decking's edge, is 1/2 in out."""
    (support,), _ = carried([post(72, 3)], replace(JOISTS, overhang_nm=inches(1)))
    assert support.overhang_nm == inches(0, 1, 2)
    assert [f.edge_nm for f in support.fasteners[2:]] == [-inches(0, 1, 8)] * 2


def test_a_row_just_behind_the_rim_says_how_far_to_move() -> None:
    """Set back 4 in: a row 1-7/8 in from the edge is 3/8 in behind the rim, 9/16 is needed."""
    (support,), (block,) = carried([post(72, 4)])
    assert [f.holds for f in support.fasteners] == [True, True, False, False]
    assert "9.5 mm behind the rim's inner face" in support.notes[0]
    assert "4.8 mm away from the rim" in support.notes[0]
    assert block.plies == ((inches(72), inches(6, 1, 8)),)


def test_stock_too_thin_for_its_fastener_is_said() -> None:
    thin = replace(JOISTS, block_thickness_nm=inches(1))
    (support,), blocks = carried([post(72, 72)], thin)
    assert blocks == ()
    assert "at least 28.6 mm thick; the stock is 25.4 mm" in support.notes[0]


def test_rows_too_close_for_two_plies_are_said() -> None:
    """Rows 1 in apart: one ply takes 3/8 in of rows, two take at least 1-1/2 - 3/8 = 1-1/8 in."""
    (support,), blocks = carried([post(72, 72)], base=plate(3, (0, 4)))
    assert blocks == ()
    assert "at least 54.0 mm thick" in support.notes[0]
    assert support.supported is False


def test_without_a_base_plate_the_centre_needs_timber() -> None:
    (between, on_joist), (block,) = carried([post(72, 72), post(64, 72)], base=None)
    assert between.blocks == (block.name,)
    assert block.plies == ((inches(72), inches(72)),)
    assert (on_joist.over, on_joist.blocks, on_joist.fasteners) == (("joist 4",), (), ())
    assert "fasteners are not checked" in between.notes[0]


def test_two_posts_on_one_block_share_it() -> None:
    one, other = post(70, 3), replace(post(74, 3), name="P2")
    supports, (block,) = carried([one, other])
    assert block.posts == ("P1", "P2")
    assert {support.blocks for support in supports} == {("B1",)}


def test_blocks_that_meet_are_said() -> None:
    one, other = post(72, 72), replace(post(72, 73), name="P2")
    (_, second), blocks = carried([one, other])
    assert len(blocks) == 2
    assert second.notes == (
        "Its blocking meets B1 of P1 between joist 4 and joist 5; fit them together on site.",
    )


@pytest.mark.parametrize(
    ("x", "joist_deg", "between", "length", "middles"),
    [
        pytest.param(
            72, 90, [("joist 4", "joist 5")], inches(14, 7, 16), [(72, 2.25)], id="behind the rim"
        ),
        pytest.param(
            64,
            90,
            [("joist 3", "joist 4"), ("joist 4", "joist 5")],
            inches(14, 7, 16),
            [(56, 2.25), (72, 2.25)],
            id="joist behind the post: one block on each side",
        ),
        pytest.param(
            72,
            0,
            [("rim", "joist 1")],
            inches(13, 11, 16),
            [(70.25, 8.375), (73.75, 8.375)],
            id="joists along the rim: tied to the next one either side of the post",
        ),
    ],
)
def test_a_fascia_post_takes_a_block_behind_the_rim(
    x: int,
    joist_deg: float,
    between: list[tuple[str, str]],
    length: int,
    middles: list[tuple[float, float]],
) -> None:
    (support,), blocks = carried(
        [post(x, -1, surface="fascia")], replace(JOISTS, joist_deg=float(joist_deg))
    )
    assert support.supported
    assert [block.between for block in blocks] == between
    assert {block.length_nm for block in blocks} == {length}
    found = sorted((a / inches(1), b / inches(1)) for block in blocks for a, b in block.plies)
    assert found == [pytest.approx(middle) for middle in middles]


def test_a_block_behind_a_rim_that_joists_meet_at_60_degrees() -> None:
    """14-1/2 / sin 60 between the faces, and 1-1/2 x tan 30 more, long point to long point."""
    (support,), (block,) = carried(
        [post(72, -1, surface="fascia")], replace(JOISTS, joist_deg=60.0)
    )
    needed = 14.5 / math.sin(math.radians(60)) + 1.5 * math.tan(math.radians(30)) - 1 / 16
    assert block.length_nm / inches(1) == pytest.approx(needed)
    assert block.end_deg == (-30.0, -30.0)
    assert support.supported


def test_a_bolt_into_end_grain_is_not_supported() -> None:
    (support,), _ = carried([post(66, -1, surface="fascia")])
    assert support.supported is False
    assert "end grain of joist 4" in support.notes[0]


def test_a_fascia_post_past_the_corner_has_no_rim() -> None:
    (support,), blocks = carried([post(-1, -1, surface="fascia")])
    assert (support.supported, blocks) == (False, ())
    assert "past the end of the rim" in support.notes[0]


def test_posts_off_the_deck_are_by_others_and_existing_ones_are_left_out() -> None:
    foot = replace(post(72, -60), position=PostPosition.STAIR_BOTTOM, surface="grade")
    standing = replace(post(10, 3), name="P2", position=PostPosition.EXISTING)
    supports, blocks = carried([foot, standing])
    assert [(s.post, s.supported) for s in supports] == [("P1", None)]
    assert support_notes(supports) == ("What carries P1 off the deck is by others.",)
    assert blocks == ()


def test_without_framing_nothing_is_said() -> None:
    job = lay_out(stair_deck(), FRAMED_SYSTEM)
    assert (job.supports, job.blocks) == ((), ())


def test_a_whole_deck_names_every_block_once() -> None:
    job = lay_out(framed(stair_deck()), FRAMED_SYSTEM)
    assert [support.post for support in job.supports] == [post.name for post in job.posts]
    assert [block.name for block in job.blocks] == [f"B{n}" for n in range(1, 12)]
    assert {name for s in job.supports for name in s.blocks} == {b.name for b in job.blocks}
    assert "What carries P10, P11 off the deck is by others." in job.notes


def test_plies_give_way_to_each_other() -> None:
    """Rows 1.4 apart with 0.2 of slack: centres move 0.05 out each, to stand 1.5 apart."""
    rows = [Row(0.0, -9.0, 9.0), Row(1.4, -9.0, 9.0)]
    plies = place_plies(rows, 1.5, 0.55)
    assert plies is not None
    assert plies[1] - plies[0] >= 1.5 - 1e-9
    assert all(abs(row.at - ply) <= 0.2 + 1e-9 for row, ply in zip(rows, plies, strict=True))
