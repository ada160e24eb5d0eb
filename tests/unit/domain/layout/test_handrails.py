"""Handrails, transitions and raked ends on the pencil stair: 7-1/2 over 10, seven risers."""

from dataclasses import replace
from itertools import pairwise

import pytest

from service.domain.errors import UnbuildableLayout
from service.domain.layout.deck import Deck, Side
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout
from service.domain.layout.stair_records import HandrailMount, HandrailParts
from service.domain.layout.system import RailingSystem
from service.domain.lengths import inches
from tests.unit.domain.layout.builders import SYSTEM, demo, stair, stair_deck

PARTS = HandrailParts(
    height_nm=inches(36),
    width_nm=inches(1, 1, 2),
    clearance_nm=inches(2, 1, 4),
    bracket_spacing_nm=inches(32),
    bracket_end_nm=inches(8),
    longest_nm=inches(144),
)


def job(parts: HandrailParts = PARTS, **changes: object) -> Layout:
    deck = Deck(stair_deck().levels, (stair(**changes),))
    return lay_out(deck, replace(SYSTEM, handrail=parts))


def test_a_walled_side_gets_a_handrail_on_its_wall() -> None:
    """From the top riser, 1 in behind the nosing, to the lowest one 59 in out: 60 / 0.8 = 75 in.

    Brackets 8 in from the ends; 59 in between them takes two spaces of 29-1/2 in.
    """
    rails = job(open_sides=frozenset({Side.LEFT})).handrails
    assert [(rail.side, rail.mount) for rail in rails] == [(Side.RIGHT, HandrailMount.WALL)]
    rail = rails[0]
    assert (rail.start_nm, rail.end_nm) == (-inches(1), inches(59))
    assert rail.slope_nm == inches(75)
    assert rail.pieces_nm == (inches(75),)
    assert rail.brackets_nm == (inches(8), inches(37, 1, 2), inches(67))
    assert rail.returns_nm == (inches(2, 1, 4), inches(2, 1, 4))
    assert rail.projection_nm == inches(3, 3, 4)


def test_an_open_stair_has_none_unless_asked() -> None:
    assert job().handrails == ()
    asked = job(handrails=frozenset({Side.LEFT})).handrails
    assert [rail.mount for rail in asked] == [HandrailMount.GUARD]


def test_extensions_go_on_level_above_and_along_the_rake_below() -> None:
    """12 in level at the top; one tread of 10 in further at the foot: (60 + 10) / 0.8."""
    parts = replace(PARTS, top_extension_nm=inches(12), bottom_treads=1, returned=False)
    rail = job(parts, open_sides=frozenset({Side.LEFT})).handrails[0]
    assert rail.pieces_nm == (inches(12), inches(87, 1, 2))
    assert rail.returns_nm == ()


def test_brackets_keep_to_the_spacing_and_pieces_add_up() -> None:
    parts = replace(PARTS, longest_nm=inches(40))
    rail = job(parts, open_sides=frozenset({Side.LEFT})).handrails[0]
    assert sum(rail.pieces_nm) == rail.slope_nm
    assert max(rail.pieces_nm) <= inches(40)
    assert all(b - a <= inches(32) for a, b in pairwise(rail.brackets_nm))


def test_a_handrail_with_no_room_for_brackets_is_refused() -> None:
    with pytest.raises(UnbuildableLayout, match="no room for two brackets"):
        job(risers=1, total_rise_nm=inches(7), nosing_nm=0, open_sides=frozenset({Side.LEFT}))


def test_level_and_stair_rail_meet_at_the_top_post() -> None:
    """Lower face 2 in behind the nosing: stair rail at 36 + 2 x 0.75 = 37.5 in, 1-1/2 in above."""
    found = demo().transitions
    assert [(t.post, t.section) for t in found] == [("P3", "S5"), ("P2", "S6")]
    assert {t.stair_top_nm for t in found} == {inches(37, 1, 2)}
    assert {t.step_nm for t in found} == {-inches(1, 1, 2)}
    assert found[0].mitre_deg == pytest.approx(18.4349, abs=1e-4)


def test_plumb_ends_leave_no_gap() -> None:
    fits = demo().raked_fits
    assert {fit.rail for fit in fits} == {"S5 top", "S5 bottom", "S6 top", "S6 bottom"}
    assert {(fit.entry_nm, fit.visible_gap_nm) for fit in fits} == {(inches(0, 1, 2), 0)}


def test_a_saw_set_at_35_degrees_leaves_a_gap_and_a_shorter_blank() -> None:
    """1.5 in deep, 36.87 - 35 = 1.87 degrees: 1.5 / cos 35 x sin 1.87 = 0.0598 in.

    Blank: 80 + 1.5 x tan 35 = 81.0503 in.
    """
    sawn: RailingSystem = replace(SYSTEM, stair_saw_deg=35.0)
    layout = lay_out(stair_deck(), sawn)
    fit = next(fit for fit in layout.raked_fits if fit.rail == "S5 top")
    assert fit.visible_gap_nm / inches(1) == pytest.approx(0.05976, abs=1e-4)
    top = next(s for s in layout.sections if s.name == "S5").rails[0]
    assert top.length_nm / inches(1) == pytest.approx(81.0503, abs=1e-4)
