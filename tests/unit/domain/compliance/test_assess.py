"""Findings: what they say, how needs bind other clauses, and that every clause can go both ways."""

from dataclasses import replace
from fractions import Fraction

import pytest

from service.domain.compliance.assess import assess
from service.domain.compliance.exact import Span, Surd, holds, round_from_limits
from service.domain.compliance.findings import Clause, Comparison, Limit, Outcome
from service.domain.layout.deck import EdgeKind, Opening, OpeningKind, Side
from service.domain.layout.records import ClearOpening, Layout
from service.domain.lengths import inches
from tests.unit.domain.compliance.builders import LIBRARY, findings, inch, layout


def _clause(key: str, code: str = "IRC", edition: str = "2021") -> Clause:
    return next(c for c in LIBRARY.clauses(code, edition) if c.key == key)


def test_finding_carries_value_limit_and_margin() -> None:
    built = layout(guard_height_nm=inch("35-1/2"))
    (found,) = findings("guard.height.level", built)
    assert (found.element, found.outcome) == ("S1", Outcome.NOT_MET)
    assert (found.measured, found.margin) == (inch("35-1/2"), -inch("1/2"))
    assert (found.clause.section, found.clause.limits[0].value) == ("R312.1.2", "36")


def test_margin_at_a_strict_limit_is_nothing_and_not_met() -> None:
    built = layout(stairs=False, bottom_gap_nm=inches(4))
    (under,) = [f for f in findings("guard.opening.level", built) if "under" in f.note]
    assert (under.outcome, under.margin) == (Outcome.NOT_MET, 0)


def test_fraction_of_a_nanometre_is_shown_on_its_side_of_the_limit() -> None:
    built = layout(total_rise=7 * inch("7-3/4") + 1, risers=7)
    (found,) = findings("stair.riser", built)
    assert found.outcome is Outcome.NOT_MET
    assert found.measured == inch("7-3/4") + 1
    assert found.margin == -1


def test_unknown_fall_height_binds_and_says_so() -> None:
    (found,) = findings("guard.height.level", layout(fall=None, stairs=False))
    assert found.outcome is Outcome.MET
    assert "not taped far enough; a guard is taken as required" in found.note


def test_need_of_a_guard_on_an_open_edge_without_one() -> None:
    (found,) = findings("guard.needed.drop", layout(guarded=False, stairs=False))
    assert found.element == "level main, edge 1"
    assert (found.measured, found.margin) == (inches(50), None)
    assert "required and none stands here" in found.note


def test_open_stair_side_without_a_rail_is_found_by_side() -> None:
    built = layout(railed=(Side.LEFT,))
    found = [f for f in findings("guard.needed.drop", built) if f.element == "garden stair"]
    assert [(f.outcome, "right side" in f.note) for f in found] == [
        (Outcome.MET, False),
        (Outcome.NOT_MET, True),
    ]


def test_gaps_of_pickets_are_judged_though_the_layout_lists_none() -> None:
    wide = layout(level_gaps=(inches(3), inches(5), inches(3)), openings=())
    worst = max(f.measured or 0 for f in findings("guard.opening.level", wide))
    assert worst == inches(5)


def test_widest_of_the_listed_and_the_measured_opening_counts() -> None:
    listed = ClearOpening("S1", "between pickets", inches(6), on_stair=False)
    (found,) = [
        f
        for f in findings("guard.opening.level", layout(openings=(listed,)))
        if f.element == "S1" and "between pickets" in f.note
    ]
    assert found.measured == inches(6)


def test_gap_beside_a_line_post_is_taken_from_its_face() -> None:
    built = layout(stairs=False)
    section = built.sections[0]
    centres = section.pickets.centres_nm
    middle = centres[1]
    pickets = replace(section.pickets, centres_nm=(centres[0], centres[2]), removed_nm=(middle,))
    holed = replace(
        built,
        sections=(replace(section, pickets=pickets, line_posts=("P9",), line_posts_nm=(middle,)),),
    )
    found = {f.note: f.measured for f in findings("guard.opening.level", holed)}
    # Pickets 3-3/4 in on centre; a 2 in post replaces a 3/4 in one, so 5/8 in of the gap goes.
    ends_and_post = inches(3)
    assert found["Opening picket to post."] == ends_and_post
    narrow = replace(pickets, end_gaps_nm=(inches(1), inches(1)))
    holed = replace(holed, sections=(replace(holed.sections[0], pickets=narrow),))
    found = {f.note: f.measured for f in findings("guard.opening.level", holed)}
    assert found["Opening picket to post."] == inch("2-3/8")


def _edge_one(built: Layout, **changes: object) -> Layout:
    level = built.deck.levels[0]
    edges = (replace(level.edges[0], **changes), *level.edges[1:])  # type: ignore[arg-type]
    return replace(built, deck=replace(built.deck, levels=(replace(level, edges=edges),)))


def test_existing_guard_is_not_assessed() -> None:
    built = _edge_one(layout(guarded=False, stairs=False), kind=EdgeKind.EXISTING)
    (found,) = findings("guard.needed.drop", built)
    assert found.outcome is Outcome.NOT_ASSESSED
    assert found.note.endswith("What already stands here is not described.")


def test_gate_is_not_passed_over_in_silence() -> None:
    gate = Opening(OpeningKind.GATE, "side gate", inches(36))
    built = _edge_one(layout(stairs=False), openings=(gate,))
    for key in ("guard.height.level", "guard.opening.level"):
        (found,) = [f for f in findings(key, built) if f.element == "side gate"]
        assert found.outcome is Outcome.NOT_ASSESSED
        assert "its leaf and gaps are not described" in found.note


def test_edge_taken_up_by_a_stair_needs_no_guard_of_its_own() -> None:
    stair = Opening(OpeningKind.STAIR, "garden stair", inches(96))
    built = _edge_one(layout(guarded=False, stairs=False), openings=(stair,), guarded=True)
    (found,) = findings("guard.needed.drop", built)
    assert found.outcome is Outcome.MET
    assert found.note.endswith("out to there. Stairs or gates take up this edge.")


def test_word_that_nobody_tells_binds_and_is_named() -> None:
    clause = replace(_clause("guard.height.level"), applies_when={"use_of_building": "dwelling"})
    found = assess((clause,), layout(stairs=False))[0]
    assert found.outcome is Outcome.MET
    assert found.note == "The use of building is not described."


def test_clause_that_covers_nothing_says_so() -> None:
    (found,) = findings("stair.riser", layout(stairs=False))
    assert (found.element, found.outcome) == ("deck", Outcome.NOT_APPLICABLE)
    assert found.note == "Nothing on this deck is covered by the clause."


def test_wall_beside_a_stair_leaves_its_handrail_unassessed() -> None:
    (found,) = findings("handrail.clearance", layout(sides=(Side.LEFT,)))
    assert found.outcome is Outcome.NOT_ASSESSED
    assert found.note == "Wall on the right side. No handrail on it is described."


def test_overlay_that_decides_no_need_takes_the_need_of_the_code_beside_it() -> None:
    overlay = replace(_clause("guard.height.level"), code="OVERLAY", edition="1")
    low = layout(fall=inches(30), guard_height_nm=inches(20), stairs=False)
    assert assess((overlay,), low)[0].outcome is Outcome.NOT_MET
    beside = assess((overlay, _clause("guard.needed.drop")), low)
    assert beside[0].outcome is Outcome.NOT_APPLICABLE


def test_editions_side_by_side_keep_their_own_needs() -> None:
    strict = replace(
        _clause("guard.needed.drop"),
        edition="other",
        limits=(Limit("24", "in", inches(24)),),
    )
    height = replace(_clause("guard.height.level"), edition="other")
    low = layout(fall=inches(28), guard_height_nm=inches(20), stairs=False)
    both = assess(
        (_clause("guard.needed.drop"), _clause("guard.height.level"), strict, height), low
    )
    assert [f.outcome for f in both if f.clause.key == "guard.height.level"] == [
        Outcome.NOT_APPLICABLE,
        Outcome.NOT_MET,
    ]


LIMITS = (Limit("4", "in", 4), Limit("6", "in", 6))


@pytest.mark.parametrize(
    ("compare", "value", "answer"),
    [
        pytest.param(Comparison.WITHIN, Span(4, 6), True, id="both ends just inside"),
        pytest.param(Comparison.WITHIN, Span(3, 6), None, id="may be under"),
        pytest.param(Comparison.WITHIN, Span(3, 7), None, id="window inside the bounds"),
        pytest.param(Comparison.WITHIN, Span(7, 8), False, id="surely over"),
        pytest.param(Comparison.WITHIN, Span(1, Fraction(7, 2)), False, id="surely under"),
        pytest.param(Comparison.WITHIN, Span(7), False, id="open, surely over"),
        pytest.param(Comparison.OUTSIDE, 4, False, id="end of the band"),
        pytest.param(Comparison.OUTSIDE, Span(2, 3), True, id="surely below the band"),
        pytest.param(Comparison.OUTSIDE, Span(7), True, id="open, surely above the band"),
        pytest.param(Comparison.OUTSIDE, Span(3, 7), None, id="band inside the bounds"),
        pytest.param(Comparison.OUTSIDE, Span(5, 6), False, id="surely in the band"),
        pytest.param(Comparison.OUTSIDE, Span(5), None, id="open, may be above the band"),
        pytest.param(Comparison.LESS_THAN, Span(3), None, id="open, may be over"),
        pytest.param(Comparison.LESS_THAN, Span(4), False, id="open, at least the limit"),
        pytest.param(Comparison.AT_LEAST, Span(4), True, id="open, at least the limit is enough"),
        pytest.param(Comparison.MORE_THAN, Surd(Fraction(0), 1, Fraction(16)), False, id="root"),
        pytest.param(
            Comparison.MORE_THAN, Surd(Fraction(0), 1, Fraction(161, 10)), True, id="over"
        ),
        pytest.param(Comparison.LESS_THAN, Surd(Fraction(6), -1, Fraction(4)), False, id="6 - 2"),
        pytest.param(Comparison.LESS_THAN, Surd(Fraction(6), -1, Fraction(5)), True, id="6 - 2.2"),
    ],
)
def test_comparison_of_bounds_and_roots(
    compare: Comparison, value: Span | Surd, answer: bool | None
) -> None:
    assert holds(compare, value, LIMITS) is answer


def test_shown_value_never_crosses_the_limit() -> None:
    limit = (Limit("4", "in", 4),)
    assert round_from_limits(Fraction(39, 10), limit) == 3
    assert round_from_limits(Fraction(41, 10), limit) == 5
    assert round_from_limits(Surd(Fraction(0), 1, Fraction(16)), limit) == 4
