"""What must hold of cables, glass and infill rails on random decks."""

from collections import Counter
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from service.domain.layout.deck import Deck
from service.domain.layout.infill_records import CableRow, PanelRow
from service.domain.layout.infill_rows import rail_gap_nm
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout, RailRow
from service.domain.layout.stairs import level_nm
from service.domain.layout.system import Cables, Glass, InfillRails, Method, RailingSystem
from service.domain.lengths import inches
from tests.properties.test_layout import decks, laid_out
from tests.unit.domain.layout.infills import (
    CABLES,
    GLASS,
    LIMIT,
    STOCK_GLASS,
    SYSTEMS,
    filled,
)


@st.composite
def cable_systems(draw: st.DrawFn) -> RailingSystem:
    cables = replace(
        CABLES,
        diameter_nm=draw(st.integers(inches(0, 1, 8), inches(0, 3, 8))),
        deflection_nm=draw(st.integers(0, inches(1))),
        max_support_nm=draw(st.integers(inches(18), inches(60))),
        max_length_nm=draw(st.integers(inches(80), inches(600))),
        max_corners=draw(st.integers(0, 3)),
        ends_at_line_posts=True,
    )
    return replace(filled(cables), method=draw(st.sampled_from(Method)))


@st.composite
def glass_systems(draw: st.DrawFn) -> RailingSystem:
    glass = replace(
        draw(st.sampled_from([GLASS, STOCK_GLASS])),
        max_mass_kg=Decimal(draw(st.integers(10, 60))),
        min_gap_nm=draw(st.integers(0, inches(1))),
        step_nm=draw(st.sampled_from([1, inches(0, 1, 4), inches(1)])),
        bottom_rail=draw(st.booleans()),
    )
    return replace(filled(glass), method=draw(st.sampled_from(Method)))


@given(decks(), st.sampled_from(SYSTEMS))
def test_no_opening_of_the_infill_reaches_its_limit(deck: Deck, system: RailingSystem) -> None:
    job = laid_out(deck, system)
    for opening in job.openings:
        if opening.element.startswith("S") and not opening.place.startswith("under"):
            assert 0 <= opening.clear_nm < LIMIT, opening
    found = {opening.element for opening in job.openings if not opening.place.startswith("under")}
    assert {section.name for section in job.sections} <= found


@given(decks(), glass_systems())
def test_panels_and_gaps_close_every_section(deck: Deck, system: RailingSystem) -> None:
    job = laid_out(deck, system)
    glass = system.infill
    assert isinstance(glass, Glass)
    for section in job.sections:
        row = section.infill
        assert isinstance(row, PanelRow)
        filled_nm = sum(panel.width_nm for panel in row.panels) + sum(row.gaps_nm)
        line_posts_nm = len(section.line_posts) * 2 * (system.post_width_nm // 2)
        assert filled_nm + line_posts_nm == section.clear_nm
        assert min(row.gaps_nm) >= glass.min_gap_nm
        assert max(row.gaps_nm) < glass.max_gap_nm
        for left, right in pairwise(row.panels):
            assert right.start_nm >= left.start_nm + left.width_nm + glass.min_gap_nm
        widths = {panel.width_nm for panel in row.panels}
        assert max(widths) <= glass.max_width_nm
        assert min(widths) >= glass.min_width_nm
        assert all(panel.mass_kg <= glass.max_mass_kg for panel in row.panels)
        if glass.stock and not section.rake:
            assert widths <= {stock.width_nm for stock in glass.stock}
        elif not section.line_posts:
            assert len(widths) == 1
            assert not widths.pop() % glass.step_nm


@given(decks(), cable_systems())
def test_cables_are_as_few_as_the_limit_allows(deck: Deck, system: RailingSystem) -> None:
    job = laid_out(deck, system)
    cables = system.infill
    assert isinstance(cables, Cables)
    limit = cables.max_gap_nm - cables.deflection_nm
    for section in job.sections:
        row = section.infill
        assert isinstance(row, CableRow)
        plumb = rail_gap_nm(system, section.rake)
        clear = level_nm(section.rake, plumb) if section.rake else plumb
        count = len(row.heights_nm)
        assert sum(row.gaps_nm) + count * cables.diameter_nm == clear
        assert max(row.gaps_nm) - min(row.gaps_nm) <= 1
        assert max(row.gaps_nm) < limit
        if count > 1:
            # One fewer would leave a whole-nanometre gap that reaches the limit.
            assert Fraction(clear - (count - 1) * cables.diameter_nm, count) > limit - 1


@given(decks(), cable_systems())
def test_every_bay_is_crossed_by_one_run_of_cables(deck: Deck, system: RailingSystem) -> None:
    job = laid_out(deck, system)
    cables = system.infill
    assert isinstance(cables, Cables)
    crossed = Counter(
        bay for run in job.cables for bay in pairwise((run.start, *run.passes, run.end))
    )
    assert crossed == Counter((bay.start, bay.end) for run in job.runs for bay in run.bays)
    for run in job.cables:
        assert run.corners <= cables.max_corners
        assert run.length_nm <= cables.max_length_nm + 2 * cables.end_allowance_nm
    supports = [
        b - a
        for section in job.sections
        if not section.rake
        for a, b in pairwise(
            sorted({0, *section.line_posts_nm, *section.infill.spreaders_nm, section.length_nm})
        )
    ]
    assert all(gap <= cables.max_support_nm for gap in supports)


@given(decks(), st.integers(inches(0, 1, 2), inches(2)))
def test_infill_rails_are_as_few_as_the_limit_allows(deck: Deck, depth_nm: int) -> None:
    system = filled(InfillRails(depth_nm, LIMIT))
    job = laid_out(deck, system)
    for section in job.sections:
        row = section.infill
        assert isinstance(row, RailRow)
        plumb = rail_gap_nm(system, section.rake)
        clear = level_nm(section.rake, plumb) if section.rake else plumb
        count = len(row.heights_nm)
        assert sum(row.gaps_nm) + count * depth_nm == clear
        assert max(row.gaps_nm) < LIMIT
        assert Fraction(clear - (count - 1) * depth_nm, count) > LIMIT - 1 or count == 1
        top = next(rail for rail in section.rails if rail.place == "top")
        if not section.rake:
            assert {rail.length_nm for rail in row.rails} == {top.length_nm}


@given(decks(), st.sampled_from(SYSTEMS))
def test_a_mirrored_deck_gives_the_same_infill(deck: Deck, system: RailingSystem) -> None:
    job = laid_out(deck, system)
    level = deck.levels[0]
    flipped = replace(level, outline=tuple((-x, y) for x, y in level.outline))
    other = lay_out(replace(deck, levels=(flipped,)), system)

    def counts(layout: Layout) -> list[Counter[object]]:
        panels = [
            section.infill.panels
            for section in layout.sections
            if isinstance(section.infill, PanelRow)
        ]
        rows = [section.infill for section in layout.sections]
        stacked = [row for row in rows if isinstance(row, CableRow | RailRow)]
        return [
            Counter((run.count, run.raked) for run in layout.cables),
            Counter(panel.stock for row in panels for panel in row),
            Counter(len(row) for row in panels),
            Counter(len(row.heights_nm) for row in stacked),
        ]

    assert counts(job) == counts(other)
