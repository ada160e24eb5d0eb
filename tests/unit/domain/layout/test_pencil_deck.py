"""A deck worked by hand: 16 ft x 12 ft, house along the back, a stair 48 in wide in the front.

Every number below was worked with pencil from the system in ``builders``: 2 in posts 3 in inside
the edge, 3/4 in pickets at 4-1/2 in, 72 in span, sleeves that leave 1/8 in.
"""

from collections import Counter

import pytest

from service.domain.layout.records import Layout, PostPosition
from service.domain.layout.system import JointKind
from service.domain.lengths import inches
from tests.unit.domain.layout.builders import demo


@pytest.fixture(scope="module")
def job() -> Layout:
    return demo()


def test_where_each_post_stands(job: Layout) -> None:
    """End posts 2 in clear of the house and 1 in to their centre; stair posts 3 in inside it."""
    assert {p.name: (p.at[0] / inches(1), p.at[1] / inches(1)) for p in job.posts} == {
        "P1": (3.0, 3.0),
        "P2": (75.0, 3.0),
        "P3": (117.0, 3.0),
        "P4": (189.0, 3.0),
        "P5": (189.0, 74.25),
        "P6": (189.0, 141.0),
        "P7": (127.5, 141.0),
        "P8": (64.5, 141.0),
        "P9": (3.0, 141.0),
        "P10": (117.0, -62.0),
        "P11": (75.0, -62.0),
    }
    assert Counter(p.position for p in job.posts) == {
        PostPosition.END: 2,
        PostPosition.STAIR_TOP: 2,
        PostPosition.CORNER: 2,
        PostPosition.LINE: 3,
        PostPosition.STAIR_BOTTOM: 2,
    }


def test_the_long_run_by_pencil(job: Layout) -> None:
    """R4, 186 in: C = 184; n = ceil((184 - 0.75 - 7.5) / 4.5) + 1 = 41; e = (184 - 180.75) / 2.

    Four bays would do with three posts; 186 / 72 asks for three bays, so two line posts. On the
    grid (first picket centre 1 + 1.625 + 0.375 = 3 in, then every 4.5) the most even mirrored
    pair is picket 14 and 28: 3 + 13 x 4.5 = 61.5 and 3 + 27 x 4.5 = 124.5.
    """
    section = next(s for s in job.sections if s.run == "R4")
    assert section.clear_nm == inches(184)
    assert section.pickets.end_gaps_nm == (inches(1, 5, 8), inches(1, 5, 8))
    assert section.line_posts_nm == (inches(61, 1, 2), inches(124, 1, 2))
    assert section.pickets.removed_nm == section.line_posts_nm
    assert len(section.pickets.centres_nm) == 39
    run = next(r for r in job.runs if r.name == "R4")
    assert [bay.span_nm for bay in run.bays] == [inches(61, 1, 2), inches(63), inches(61, 1, 2)]


def test_the_long_run_s_rails_by_pencil(job: Layout) -> None:
    """The sleeve end loses 1/8 in; the bottom rail is cut 1 in either side of each line post."""
    section = next(s for s in job.sections if s.run == "R4")
    assert section.start.joint is JointKind.SLEEVE
    assert section.end.joint is JointKind.FIXED
    assert {rail.name: rail.length_nm for rail in section.rails} == {
        "S4 top": inches(183, 7, 8),
        "S4 bottom 1": inches(59, 3, 8),
        "S4 bottom 2": inches(61),
        "S4 bottom 3": inches(59, 1, 2),
    }


def test_the_stair_rail_by_pencil(job: Layout) -> None:
    """7-1/2 over 10: posts 3 in behind the top nosing and 3 in before the riser at 59 in.

    65 in centre to centre, 63 clear, 64 with 1/2 in into each post: 64 / 0.8 = 80 in on each
    edge, blank 80 + 1.5 x 0.75 = 81.125 in. Pickets 5 in on the slope are 4 in apart level:
    n = ceil((63 - 0.75 - 6.5) / 4) + 1 = 15, e = (63 - 56.75) / 2 = 3.125 in, clear 3.25 in.
    """
    section = next(s for s in job.sections if s.run == "R5")
    assert section.length_nm == inches(65)
    top, bottom = section.rails
    assert top.length_nm == inches(81, 1, 8)
    assert bottom.length_nm == inches(80, 3, 4)
    assert top.saw_deg == pytest.approx(36.8699, abs=1e-4)
    assert len(section.pickets.centres_nm) == 15
    assert section.pickets.end_gaps_nm == (inches(3, 1, 8), inches(3, 1, 8))
    assert section.pickets.pitch_nm == inches(4)
    assert bottom.first_picket_nm == inches(5)
    assert top.first_picket_nm == inches(6, 1, 8)


def test_post_heights_by_pencil(job: Layout) -> None:
    """Level 36 + 1. Top stair post at its lower face, 2 in behind the nosing: 36 + 1.5 + 1.

    Bottom post at its upper face, 61 in out: 36 - 45.75 + 52.5 + 1 = 43.75, cut from the high one.
    """
    heights = {p.position: (p.height_nm, p.stock) for p in job.posts}
    assert heights[PostPosition.LINE] == (inches(37), "low")
    assert heights[PostPosition.STAIR_TOP] == (inches(38, 1, 2), "low")
    assert heights[PostPosition.STAIR_BOTTOM] == (inches(43, 3, 4), "high")


def test_order_of_installation(job: Layout) -> None:
    """Both chains start at their top stair post; stair rails come last."""
    assert [(step.element, step.joins, step.carries) for step in job.steps] == [
        ("P2", (), ()),
        ("S1", ("P2",), ("P1",)),
        ("P3", (), ()),
        ("S2", ("P3",), ("P4",)),
        ("S3", ("P4",), ("P5", "P6")),
        ("S4", ("P6",), ("P7", "P8", "P9")),
        ("P10", (), ()),
        ("P11", (), ()),
        ("S5", ("P3", "P10"), ()),
        ("S6", ("P2", "P11"), ()),
    ]


def test_a_post_half_a_pitch_off_the_middle_is_said(job: Layout) -> None:
    assert [note.split(":")[0] for note in job.notes] == ["R3"]
