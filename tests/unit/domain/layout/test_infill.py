"""Cables, glass and infill rails worked by hand on the deck of ``test_pencil_deck``.

Guard 36 in, bottom gap 3 in, rails 1-1/2 and 1 in deep: 30-1/2 in clear between the rails. On the
stair (3-4-5: cos 0.8) 36 - 1/2 - 1.5/0.8 - 1/0.8 = 32.375 in plumb, 25.9 in square to the rails.
Bays: front 72 in twice, right 69 in twice, back 62 in three times, stair 65 in level (81.25 in on
the slope) twice; posts 2 in.
"""

from collections import Counter
from dataclasses import replace
from decimal import Decimal

import pytest

from service.domain.errors import UnbuildableLayout
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import NO_PICKETS, Layout, Section
from service.domain.layout.system import Clamps, JointKind, Method, PanelStock
from service.domain.lengths import inches
from tests.unit.domain.layout import infills
from tests.unit.domain.layout.builders import RECTANGLE, SYSTEM, Deck, level


def of_run(job: Layout, name: str) -> list[Section]:
    return [section for section in job.sections if section.run == name]


def places(job: Layout, *, on_stair: bool) -> dict[str, float]:
    return {
        o.place: round(o.clear_nm / inches(1), 4) for o in job.openings if o.on_stair is on_stair
    }


@pytest.fixture(scope="module")
def cabled() -> Layout:
    return infills.laid_out(infills.CABLE_SYSTEM)


def test_level_cables_by_pencil(cabled: Layout) -> None:
    """6 cables would leave (30.5 - 6 x 3/16) / 7 = 4.196 in; 7 leave 29.1875 / 8 = 3.6484 in.

    The limit is 4 in less 1/4 in that cables give way. The lowest stands at 4 + 3.6484 + 3/32.
    """
    row = of_run(cabled, "R1")[0].infill
    assert len(row.heights_nm) == 7
    assert {round(gap / inches(1), 5) for gap in row.gaps_nm} == {3.64844}
    assert sum(row.gaps_nm) + 7 * inches(0, 3, 16) == inches(30, 1, 2)
    assert row.heights_nm[0] / inches(1) == pytest.approx(4 + 3.6484375 + 0.09375, abs=1e-6)
    assert row.spreaders_nm == (inches(36),)
    assert row.spreader_length_nm == inches(30, 1, 2)
    assert places(cabled, on_stair=False)["between cables"] == 3.8984


def test_what_is_stacked_for_one_height_is_not_given_for_another(cabled: Layout) -> None:
    """Guard and bottom rail an inch higher: the same cables, each an inch higher."""
    system = infills.CABLE_SYSTEM
    higher = replace(
        system,
        guard_height_nm=system.guard_height_nm + inches(1),
        bottom_gap_nm=system.bottom_gap_nm + inches(1),
    )
    row, lower = (of_run(job, "R1")[0].infill for job in (infills.laid_out(higher), cabled))
    assert row.gaps_nm == lower.gaps_nm
    assert row.heights_nm == tuple(height + inches(1) for height in lower.heights_nm)


def test_raked_cables_by_pencil(cabled: Layout) -> None:
    """5 cables would leave (25.9 - 5 x 3/16) / 6 = 4.16 in; 6 leave 24.775 / 7 = 3.5393 in.

    Square to the rake; plumb, centres are (3.5393 + 0.1875) / 0.8 = 4.6585 in apart. The bay of
    81.25 in on the slope takes one spreader at 32.5 in level.
    """
    row = of_run(cabled, "R5")[0].infill
    assert len(row.heights_nm) == 6
    assert {round(gap / inches(1), 4) for gap in row.gaps_nm} == {3.5393}
    assert (row.heights_nm[1] - row.heights_nm[0]) / inches(1) == pytest.approx(4.6585, abs=1e-4)
    assert row.spreaders_nm == (inches(32, 1, 2),)
    assert places(cabled, on_stair=True) == {"between cables": 3.7893, "cable to rail": 3.7893}


def test_where_cables_end_by_pencil(cabled: Layout) -> None:
    """One corner a cable: right of the stair 72 + 138 in past P5 and the corner P4, then the back.

    Centre to centre less a face at each end plus 1 in at each end: 210 in, and 186 in along the
    back, 72 in left of the stair; 65 / 0.8 - 2 x 1 / 0.8 + 2 = 80.75 in on the stair.
    """
    found = {(c.start, c.end): (c.passes, c.corners, c.count, c.length_nm) for c in cabled.cables}
    assert found == {
        ("P1", "P2"): ((), 0, 7, inches(72)),
        ("P3", "P6"): (("P4", "P5"), 1, 7, inches(210)),
        ("P6", "P9"): (("P7", "P8"), 0, 7, inches(186)),
        ("P3", "P10"): ((), 0, 6, inches(80, 3, 4)),
        ("P2", "P11"): ((), 0, 6, inches(80, 3, 4)),
    }
    assert [step.element for step in cabled.steps[-5:]] == ["C1", "C2", "C3", "C4", "C5"]
    assert cabled.steps[-5].text.startswith("String 7 cables C1 from P1 to P2;")


def test_cables_can_be_climbed_and_it_is_said(cabled: Layout) -> None:
    assert cabled.notes == (
        "Cables from 197 mm to 781 mm above the walking surface can be climbed; some codes forbid "
        "footholds within a band of heights: check the code in force.",
    )


def test_cables_too_long_round_the_corner_end_at_the_corner() -> None:
    """208 in between faces past the corner; a tensioner for 200 in pulls 70 and 136 in apart."""
    system = infills.filled(replace(infills.CABLES, max_length_nm=inches(200)))
    ends = {(c.start, c.end) for c in infills.laid_out(system).cables}
    assert {("P3", "P4"), ("P4", "P6"), ("P6", "P9")} <= ends


def test_cables_longer_than_a_tensioner_pulls_are_refused_or_end_at_line_posts() -> None:
    """The back run is 184 in between faces: two of 122 and 60 in do for 150 in."""
    short = replace(infills.CABLES, max_length_nm=inches(150))
    with pytest.raises(UnbuildableLayout, match=r"4673\.6 mm between") as refusal:
        infills.laid_out(infills.filled(short))
    assert refusal.value.element == "R4"
    assert refusal.value.where == ("system", "cables", "max_length")
    assert refusal.value.advice.startswith("Take a tensioner for 4674 mm")
    job = infills.laid_out(infills.filled(replace(short, ends_at_line_posts=True)))
    back = [c for c in job.cables if c.sections[0] in {s.name for s in of_run(job, "R4")}]
    assert [c.length_nm for c in back] == [inches(124), inches(62)]


def test_glass_cut_to_size_by_pencil() -> None:
    """70 in clear: one panel would be 69 in, over 48; two of (70 - 1.5) / 2 = 34.25, cut at 34 in.

    Gaps (70 - 68) / 3 in. 30.5 in high: 34 x 30.5 in2 x 0.00064516 m2/in2 x 30 kg/m2 = 20.071 kg;
    over 30 in high, so 6 clamps.
    """
    job = infills.laid_out(infills.GLASS_SYSTEM)
    section = of_run(job, "R1")[0]
    row = section.infill
    assert [p.width_nm for p in row.panels] == [inches(34)] * 2
    assert {p.height_nm for p in row.panels} == {inches(30, 1, 2)}
    assert {p.mass_kg for p in row.panels} == {Decimal("20.071")}
    assert {p.clamps for p in row.panels} == {6}
    assert row.low_nm == inches(4)
    assert [round(gap / inches(1), 6) for gap in row.gaps_nm] == [0.666667] * 3
    assert row.panels[0].start_nm == inches(1) + row.gaps_nm[0]
    assert row.panels[1].start_nm + inches(34) + row.gaps_nm[2] == inches(71)
    assert section.pickets is NO_PICKETS


def test_raked_glass_by_pencil() -> None:
    """63 in clear level: two of (63 - 1.5) / 2 = 30.75, cut at 30-1/2 in, falling 22-7/8 in each.

    32.375 in plumb: 30.5 x 32.375 x 0.00064516 x 30 = 19.1117 kg.
    """
    row = of_run(infills.laid_out(infills.GLASS_SYSTEM), "R5")[0].infill
    assert [p.width_nm for p in row.panels] == [inches(30, 1, 2)] * 2
    panel = row.panels[0]
    assert panel.drop_nm == inches(22, 7, 8)
    assert panel.corners_nm == (inches(22, 7, 8), inches(55, 1, 4), 0, inches(32, 3, 8))
    assert panel.mass_kg == Decimal("19.112")


def test_stock_panels_set_the_posts_by_pencil() -> None:
    """The back, 186 in: even bays of 60 or 44.5 in clear hold no stock widths within the gaps.

    In 60 in clear, 48 leaves gaps of 6 in and 30 + 30 none; in 44.5 in, 36 leaves 4.25. So posts
    follow the glass: 178 in clear over four bays, less 8 gaps of 1/2 in to under 4 in, is 146+ to
    174 in of glass: 48, 48, 36, 36 = 168, the 36 at the ends, gaps 10/8 in.
    """
    job = infills.laid_out(infills.STOCK_SYSTEM)
    sections = of_run(job, "R4")
    panels = [panel for section in sections for panel in section.infill.panels]
    assert [panel.stock for panel in panels] == ["36", "48", "48", "36"]
    assert {gap for section in sections for gap in section.infill.gaps_nm} == {inches(1, 1, 4)}
    spans = [bay.span_nm for run in job.runs if run.name == "R4" for bay in run.bays]
    assert spans == [inches(40, 1, 2), inches(52, 1, 2), inches(52, 1, 2), inches(40, 1, 2)]


def test_raked_panels_are_cut_though_level_ones_are_stocked() -> None:
    job = infills.laid_out(infills.STOCK_SYSTEM)
    assert {panel.stock for panel in of_run(job, "R5")[0].infill.panels} == {""}


def test_glass_over_the_deck_has_no_bottom_rail() -> None:
    """36 - 3 - 1.5 and 1/2 in into the top rail: 32 in high from 3 in up; on the stair 34.125."""
    system = infills.filled(replace(infills.GLASS, bottom_rail=False, enters_nm=inches(0, 1, 2)))
    job = infills.laid_out(system)
    section = of_run(job, "R1")[0]
    assert [rail.place for rail in section.rails] == ["top"]
    assert section.support_legs_nm == ()
    assert (section.infill.panels[0].height_nm, section.infill.low_nm) == (inches(32), inches(3))
    assert of_run(job, "R5")[0].infill.panels[0].height_nm == inches(34, 1, 8)
    assert places(job, on_stair=False)["under the glass"] == 3.0
    assert "under the bottom rail" not in places(job, on_stair=False)


@pytest.mark.parametrize(
    ("changes", "words", "where"),
    [
        pytest.param(
            {"max_mass_kg": Decimal(7)}, "weighs 7.084 kg", "max_mass", id="12 in is too heavy"
        ),
        pytest.param(
            {"clamps": (Clamps(inches(30), 4),)}, "listed up to 762.0", "clamps", id="30.5 in high"
        ),
        pytest.param(
            {"stock": (PanelStock("p", inches(47)),), "max_gap_nm": inches(0, 9, 16)},
            "stock widths of 1193.8 mm",
            "glass",
            id="no whole number of stock panels",
        ),
        pytest.param(
            {"min_width_nm": inches(40), "max_width_nm": inches(40), "max_gap_nm": inches(1)},
            "widths from 1016.0 to 1016.0 mm",
            "glass",
            id="one width cannot close the run",
        ),
    ],
)
def test_glass_that_cannot_be_set_is_refused(changes, words, where) -> None:
    with pytest.raises(UnbuildableLayout, match=words) as refusal:
        infills.laid_out(infills.filled(replace(infills.GLASS, **changes)))
    assert refusal.value.element == "level main, edge 1"
    assert refusal.value.where[-1] == where
    assert refusal.value.advice


def test_heavy_glass_is_cut_narrower_by_pencil() -> None:
    """15 kg allow 15 / (30 x 0.7747 m) = 0.6454 m = 25.41 in: 25 in on the 1/2 in step.

    70 in clear then take three panels of (70 - 2) / 3 = 22.67, cut at 22-1/2 in.
    """
    system = infills.filled(replace(infills.GLASS, max_mass_kg=Decimal(15)))
    row = of_run(infills.laid_out(system), "R1")[0].infill
    assert [p.width_nm for p in row.panels] == [inches(22, 1, 2)] * 3


def test_infill_rails_by_pencil() -> None:
    """5 rails would leave (30.5 - 3.75) / 6 = 4.458 in; 6 leave 26 / 7 = 3.7143 in.

    They run past the line posts of a continuous section, cut as the top rail: 1/8 in off at the
    sleeve. On the stair (25.9 - 5 x 3/4) / 6 = 3.6917 in, blanks 64 / 0.8 + 3/4 x 3/4 in.
    """
    job = infills.laid_out(infills.RAIL_SYSTEM)
    section = of_run(job, "R4")[0]
    top = next(rail for rail in section.rails if rail.place == "top")
    assert len(section.infill.heights_nm) == len(section.infill.rails) == 6
    assert (
        {rail.length_nm for rail in section.infill.rails} == {top.length_nm} == {inches(183, 7, 8)}
    )
    assert places(job, on_stair=False)["between infill rails"] == 3.7143
    raked = of_run(job, "R5")[0]
    assert [rail.length_nm for rail in raked.infill.rails] == [inches(80, 9, 16)] * 5
    assert raked.infill.rails[0].saw_deg == pytest.approx(36.8699, abs=1e-4)
    assert places(job, on_stair=True)["infill rail to rail"] == 3.6917
    assert raked.start.joint is JointKind.STAIR


def test_infill_rails_cut_at_line_posts_are_cut_as_the_bottom_rail() -> None:
    system = infills.filled(replace(infills.RAILS, past_line_posts=False), SYSTEM)
    section = of_run(infills.laid_out(system), "R4")[0]
    bottom = [rail.length_nm for rail in section.rails if rail.place == "bottom"]
    assert Counter(rail.length_nm for rail in section.infill.rails) == Counter(bottom * 6)
    assert section.infill.rails[0].name == "S4 infill 1 1"


def test_no_room_between_the_rails_is_refused() -> None:
    system = replace(infills.RAIL_SYSTEM, bottom_gap_nm=inches(33))
    with pytest.raises(UnbuildableLayout, match="has no room") as refusal:
        infills.laid_out(system)
    assert refusal.value.element == "S1"


def test_a_closed_guard_ends_every_cable_at_a_post_that_takes_it() -> None:
    """A platform open all round: four corners, one a cable, so two cables corner to corner.

    Each passes two line posts of a long side, a corner, and one line post of a short side.
    """
    system = infills.filled(replace(infills.CABLES, max_length_nm=inches(400)))
    job = lay_out(Deck((level(RECTANGLE, "oooo"),)), system)
    assert [(c.corners, len(c.passes)) for c in job.cables] == [(1, 4), (1, 4)]
    assert job.cables[0].end == job.cables[1].start
    assert job.cables[0].start == job.cables[1].end


def test_glass_in_a_continuous_section_is_set_bay_by_bay() -> None:
    system = replace(infills.GLASS_SYSTEM, method=Method.CONTINUOUS)
    section = of_run(infills.laid_out(system), "R4")[0]
    assert len(section.line_posts) == 2
    assert len(section.infill.panels) == 6
    assert len(section.infill.gaps_nm) == 9
