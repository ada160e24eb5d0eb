"""Openings between uprights are judged as such, whatever stands either side."""

from dataclasses import replace

from service.domain.compliance.inspection import Inspection
from service.domain.compliance.measures_openings import clear_openings
from service.domain.compliance.site import NOTHING_SAID
from service.domain.layout.deck import Deck, OpeningKind
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout
from service.domain.layout.system import CornerPosts
from service.domain.lengths import inches
from tests.unit.domain.layout.builders import RECTANGLE, SYSTEM, level, with_opening


def upright_notes(layout: Layout) -> set[str]:
    measured = clear_openings(Inspection(layout, NOTHING_SAID))
    return {m.note for m in measured if m.attributes.get("upright") == "yes"}


def test_the_gap_beside_an_obstacle_is_upright() -> None:
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.OBSTACLE, "column", 10, 90)
    assert "Opening post to obstacle." in upright_notes(lay_out(Deck((front,)), SYSTEM))


def test_the_gap_between_the_posts_of_a_corner_is_upright() -> None:
    two = replace(SYSTEM, square_corners=CornerPosts.TWO, corner_gap_nm=inches(1))
    assert "Opening post to post." in upright_notes(lay_out(Deck((level(RECTANGLE, "ooow"),)), two))
