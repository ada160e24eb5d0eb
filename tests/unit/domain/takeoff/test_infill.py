"""What cables, glass and infill rails order, taken off by pencil from ``layout/test_infill``."""

from decimal import Decimal

import pytest

from service.domain.cutting.demand import StockLength
from service.domain.errors import UnknownReference
from service.domain.lengths import inches
from service.domain.takeoff.take_off import take_off
from tests.unit.domain.layout import infills
from tests.unit.domain.takeoff.builders import part, parts_list, task


def needs(system, *rules):
    takeoff = take_off(infills.laid_out(system), parts_list(rules))
    return {item.sku: item.needed for item in takeoff.items}


def test_cables_by_the_metre_with_their_fittings():
    """7 x (72 + 210 + 186) + 6 x 80.75 x 2 = 4245 in = 107.823 m; 33 cables, 66 ends.

    Passed: 7 at each of P5, P7, P8 and 7 at the corner P4; spreaders one a bay: 9.
    P1, P2, P3, P6, P9, P10 and P11 take the pull.
    """
    assert needs(
        infills.CABLE_SYSTEM,
        part("CABLE", "cable", category="cable", per_length=True, unit_of_measure="MTR"),
        part("END", "cable_end"),
        part("GROMMET", "cable_pass", where={"at": ("line",)}),
        part("CORNER", "cable_pass", where={"at": ("corner",)}),
        part("SPREADER", "spreader"),
        part("PULLED", "post", where={"cables": ("end",)}),
        part("PASSED", "post", where={"cables": ("pass",)}),
    ) == {
        "CABLE": Decimal("107.823"),
        "END": 66,
        "GROMMET": 21,
        "CORNER": 7,
        "SPREADER": 9,
        "PULLED": 7,
        "PASSED": 4,
    }


def test_panels_by_area_and_clamps():
    """Level 2 x 2 x 34, 2 x 2 x 32-1/2 and 3 x 2 x 29 in, 30-1/2 high; raked 4 x 30-1/2 x 32-3/8.

    (136 + 130 + 174) x 30.5 = 13 420 in2 and 3949.75 in2, 17 369.75 x 0.00064516 m2.
    """
    found = needs(
        infills.GLASS_SYSTEM,
        part("GLASS", "panel", category="panel", per_area=True, unit_of_measure="MTK"),
        part("CLAMP", "clamp"),
        part("PANEL", "panel", category="panel"),
    )
    assert found == {
        "GLASS": Decimal("17369.75") * Decimal("0.00064516"),
        "CLAMP": 6 * 18,
        "PANEL": 18,
    }


def test_stock_panels_are_counted_by_width():
    """The back takes 36, 48, 48, 36; the front twice and the right twice 30 + 30."""
    assert needs(
        infills.STOCK_SYSTEM,
        *(part(w, "panel", category="panel", where={"stock": (w,)}) for w in ("48", "36", "30")),
    ) == {"48": 2, "36": 2, "30": 8}


def test_a_panel_stock_that_the_system_has_not_is_refused():
    wrong = part("W", "panel", where={"stock": ("low",)})
    with pytest.raises(UnknownReference, match="'low', which no panel has"):
        needs(infills.STOCK_SYSTEM, wrong)


def test_area_of_what_has_none_is_refused():
    with pytest.raises(UnknownReference, match="counts by area, and a rail has none"):
        needs(infills.GLASS_SYSTEM, part("R", "rail", per_area=True))


def test_infill_rails_are_cut_from_stock_and_joined():
    """Level 6 a section in S1 to S4, raked 5 in S5 and S6, each with a joint at both ends."""
    bar = part("BAR", "infill_rail", category="rail", stock=(StockLength("B-16", inches(192)),))
    rules = parts_list([bar, part("J", "joint", where={"place": ("infill",)})])
    takeoff = take_off(infills.laid_out(infills.RAIL_SYSTEM), rules)
    (demand,) = takeoff.demands
    assert len(demand.pieces) == 6 * 4 + 5 * 2
    assert demand.pieces[0].length_nm == inches(69, 7, 8)
    assert {item.sku: item.needed for item in takeoff.items} == {"J": 2 * 34}


def test_infill_that_no_part_covers_is_said():
    takeoff = take_off(infills.laid_out(infills.CABLE_SYSTEM), parts_list([]))
    assert "No part is listed for 21 x cable (raked no): C1 cables, C2 cables, C3 cables." in (
        takeoff.notes
    )


def test_labour_may_go_by_area():
    hang = task("Set glass", "panel", "20", per_area=True)
    takeoff = take_off(infills.laid_out(infills.GLASS_SYSTEM), parts_list([], [hang]))
    assert takeoff.labour[0].minutes == 20 * Decimal("17369.75") * Decimal("0.00064516")
