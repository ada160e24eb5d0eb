"""Cables, panels and rails as infill, measured in the drawing."""

from decimal import Decimal

import pytest

from service.adapters.documents.drawing_svg import render
from service.domain.layout.system import Cables, Glass, InfillRails
from service.domain.lengths import inches, millimetres
from tests.unit.adapters.documents.decks import filled
from tests.unit.adapters.documents.measuring import Sheet, centre

CABLES = Cables(
    diameter_nm=millimetres(4),
    max_gap_nm=inches(4),
    max_support_nm=inches(42),
    max_length_nm=inches(600),
)
RAILS = InfillRails(depth_nm=inches(1), max_gap_nm=inches(4))
GLASS = Glass(
    min_width_nm=inches(6),
    max_width_nm=inches(48),
    min_gap_nm=inches(1),
    max_gap_nm=inches(4),
    thickness_nm=millimetres(10),
    mass_kg_m2=Decimal(25),
    max_mass_kg=Decimal(80),
)


def level_section(layout):
    return next(section for section in layout.sections if section.rake is None)


def drawn(layout, section):
    sheet = Sheet(render(layout, "imperial"))
    group = f"elevation-{section.name}"
    return sheet, sheet.shapes(group, "infill"), sheet.ratio("elevation-heading")


@pytest.mark.parametrize("infill", [CABLES, RAILS], ids=["cables", "rails"])
def test_cables_and_rails_are_drawn_at_their_heights(infill):
    layout = filled(infill)
    section = level_section(layout)
    _, shapes, ratio = drawn(layout, section)
    heights = [-centre(shape)[1] * ratio for shape in shapes]
    assert heights == pytest.approx([h / 1e6 for h in section.infill.heights_nm], abs=0.1)


def test_panels_are_as_wide_and_high_as_in_the_layout():
    layout = filled(GLASS)
    section = level_section(layout)
    _, shapes, ratio = drawn(layout, section)
    sizes = [
        ((max(x for x, _ in shape) - min(x for x, _ in shape)) * ratio,
         (max(y for _, y in shape) - min(y for _, y in shape)) * ratio)
        for shape in shapes
    ]  # fmt: skip
    for size, panel in zip(sizes, section.infill.panels, strict=True):
        assert size == pytest.approx((panel.width_nm / 1e6, panel.height_nm / 1e6), abs=0.1)


@pytest.mark.parametrize("infill", [CABLES, RAILS, GLASS], ids=["cables", "rails", "glass"])
def test_stair_infill_runs_parallel_to_the_rails(infill):
    layout = filled(infill)
    section = next(section for section in layout.sections if section.rake)
    _, shapes, _ = drawn(layout, section)
    slope = section.rake.rise_nm / section.rake.run_nm
    assert shapes
    for (x1, y1), (x2, y2), *_ in shapes:
        assert (y2 - y1) / (x2 - x1) == pytest.approx(slope, abs=0.001)


def test_facts_say_what_fills_the_section():
    layout = filled(CABLES)
    section = level_section(layout)
    sheet, _, _ = drawn(layout, section)
    words = " ".join(sheet.texts(f"elevation-{section.name}"))
    assert f"{len(section.infill.heights_nm)} cables" in words
    assert "picket" not in words
