"""Railing systems with other infill than pickets for the tests; every number is invented."""

from dataclasses import replace
from decimal import Decimal

from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout
from service.domain.layout.system import (
    Cables,
    Clamps,
    Glass,
    InfillRails,
    Method,
    PanelStock,
    RailingSystem,
    no_pickets,
)
from service.domain.lengths import inches, millimetres
from tests.unit.domain.layout.builders import BETWEEN, SYSTEM, stair_deck

LIMIT = inches(4)


def filled(infill: Cables | Glass | InfillRails, base: RailingSystem = BETWEEN) -> RailingSystem:
    """Give the test system with another infill."""
    return replace(base, infill=infill, pickets=no_pickets(infill.max_gap_nm))


CABLES = Cables(
    diameter_nm=inches(0, 3, 16),
    max_gap_nm=LIMIT,
    max_support_nm=inches(42),
    max_length_nm=inches(216),
    deflection_nm=inches(0, 1, 4),
    end_allowance_nm=inches(1),
    max_corners=1,
)
GLASS = Glass(
    min_width_nm=inches(12),
    max_width_nm=inches(48),
    min_gap_nm=inches(0, 1, 2),
    max_gap_nm=LIMIT,
    thickness_nm=millimetres(12),
    mass_kg_m2=Decimal(30),
    max_mass_kg=Decimal(50),
    step_nm=inches(0, 1, 2),
    clamps=(Clamps(inches(30), 4), Clamps(inches(40), 6)),
)
STOCK_GLASS = replace(
    GLASS,
    stock=tuple(PanelStock(str(width), inches(width)) for width in (48, 36, 30)),
)
RAILS = InfillRails(depth_nm=inches(0, 3, 4), max_gap_nm=LIMIT)

CABLE_SYSTEM = filled(CABLES)
GLASS_SYSTEM = filled(GLASS)
STOCK_SYSTEM = filled(STOCK_GLASS)
RAIL_SYSTEM = filled(RAILS, SYSTEM)
SYSTEMS = (
    CABLE_SYSTEM,
    GLASS_SYSTEM,
    STOCK_SYSTEM,
    RAIL_SYSTEM,
    filled(replace(GLASS, bottom_rail=False, enters_nm=inches(0, 1, 2))),
    filled(replace(RAILS, past_line_posts=False), SYSTEM),
    replace(CABLE_SYSTEM, method=Method.CONTINUOUS),
    replace(STOCK_SYSTEM, method=Method.CONTINUOUS),
)
PANEL_STOCKS = {stock.name for stock in STOCK_GLASS.stock}


def laid_out(system: RailingSystem) -> Layout:
    """Lay out 16 ft x 12 ft with a stair 48 in wide in its front, the house along the back."""
    return lay_out(stair_deck(), system)
