"""Stairs, pickets, sealant and heat of ``data/layout.json``, each worked by the service.

Sources stand with each row: US Navy NAVEDTRA 14044 and US Army EN5156 on stairs, a trade journal's
"Quick Layout for Stair Rails and Balusters", a carpentry handbook, a household how-to article on
baluster spacing (BAL-72), a gypsum association's glossary and a published worksheet on expansion.
Rows marked derived come from plane trigonometry, n = ceil((L - g) / (w + g)), volume over section
and alpha L dT, checked by a second method.

A trade magazine's table prints 0.96 in for 200 ft, 60 F and 13.3e-6 per F. That is the value of
100 ft; the sum is 1.9152 in, and the misprint is no oracle here. The coefficient of aluminium,
13.1e-6 per F, is from memory.
"""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from service.domain.layout.clearances import end_gaps, movement_nm
from service.domain.layout.deck import Conditions, Stair
from service.domain.layout.pickets import fixed_pitch, free_pitch
from service.domain.layout.records import Rake
from service.domain.layout.stairs import (
    FlightPost,
    blank_nm,
    level_nm,
    plumb_depth_nm,
    post_on_tread,
    rail_top_nm,
    rake_of,
    slope_nm,
)
from service.domain.layout.system import Joint, JointKind
from service.domain.lengths import INCH, METRE, MILLIMETRE
from service.domain.takeoff.beads import VOLUMES, Bead, BeadShape
from service.quantities import parse_expansion
from tests.published.layout_table import given, within
from tests.unit.domain.compliance.builders import findings
from tests.unit.domain.compliance.builders import layout as built
from tests.unit.domain.layout.builders import SYSTEM, demo, stair

ALUMINIUM = parse_expansion("13.1 ppm/degF")
CARTRIDGE_IN3 = Fraction("10.1") * Fraction(231, 128)  # 10.1 US fl oz


def nm(value: float | str, unit: int = INCH) -> int:
    return round(Fraction(str(value)) * unit)


def flight(row_id: str) -> Stair:
    row = given(row_id)
    return replace(stair(), total_rise_nm=7 * nm(row["r_in"]), unit_run_nm=nm(row["t_in"]))


def raked(row_id: str, measure: Callable[[Rake, dict[str, Any]], float]) -> float:
    """Give what a measure makes of the row's rake, in inches."""
    return measure(rake_of(flight(row_id)), given(row_id)) / INCH


def post_height() -> float:
    row = given("STAIR-POST-H")
    system = replace(SYSTEM, stair_guard_height_nm=nm(row["H_in"]))
    post = FlightPost(-nm(row["s_in"]), 0, "deck")
    return rail_top_nm(flight("STAIR-POST-H"), post, post.x_nm, system) / INCH


def riser() -> float:
    row = given("STAIR-UR-107")
    (found,) = findings("stair.riser", built(total_rise=nm(row["total_rise_in"]), risers=row["n"]))
    assert found.measured is not None
    return found.measured / INCH


def total_run() -> float:
    """How far out the last nosing stands from the first."""
    row = given("STAIR-RUN-ARMY")
    going = replace(stair(), unit_run_nm=nm(row["run_in"]))
    flush = replace(SYSTEM, tread_set_back_nm=0)
    return post_on_tread(going, row["treads"], flush).x_nm / INCH


def stringer() -> float:
    row = given("STAIR-STRINGER")
    rake = Rake(nm(row["rise_mm"], MILLIMETRE), nm(row["run_mm"], MILLIMETRE), 0.0)
    return slope_nm(rake, rake.run_nm) / MILLIMETRE


def mitre() -> float:
    """The deck of the layout tests has a stair of 7-1/2 over 10 in beside a level guard."""
    row, (going,) = given("STAIR-MITRE-HALF"), demo().deck.stairs
    assert going.total_rise_nm == going.risers * nm(row["r_in"])
    assert going.unit_run_nm == nm(row["t_in"])
    return demo().transitions[0].mitre_deg


def free(row_id: str, over_nm: int = 0) -> list[float]:
    """Count and gap; a limit raised by one nanometre admits a gap of the limit itself."""
    row = given(row_id)
    limit = nm(str(row["gmax_in"]).strip("<")) + over_nm
    width = nm(row["w_in"])
    spaced = free_pitch(nm(row["L_in"]), width, limit)
    return [len(spaced.centres_nm), spaced.end_gaps_nm[0] / INCH]


def clear_of_all() -> float:
    row = given("BAL-72-CLEAR")
    spaced = free_pitch(nm(row["L_in"]), nm(row["w_in"]), nm(4))
    between = [b - a - nm(row["w_in"]) for a, b in zip(spaced.centres_nm, spaced.centres_nm[1:],
                                                       strict=False)]  # fmt: skip
    return (sum(between) + sum(spaced.end_gaps_nm)) / INCH


def fixed() -> list[float]:
    row = given("BAL-FIXED")
    spaced = fixed_pitch(nm(row["L_in"]), nm(row["w_in"]), nm(row["p_in"]))
    assert spaced.end_gaps_nm[0] == spaced.end_gaps_nm[1]
    return [len(spaced.centres_nm), spaced.end_gaps_nm[0] / INCH]


def yield_ft(shape: BeadShape, width_in: str, depth_in: str = "0") -> float:
    """Feet of bead that one cartridge fills."""
    section_nm2 = Bead(shape, nm(width_in), nm(depth_in)).section_nm2
    return float(CARTRIDGE_IN3) / (12 * float(section_nm2) / INCH**2)


def metric_yield() -> float:
    row = given("SEAL-6x6-300")
    bead = Bead(BeadShape.RECTANGLE, nm(row["w_mm"], MILLIMETRE), nm(row["d_mm"], MILLIMETRE))
    return float(row["ml"] * 10 ** VOLUMES["MLT"] / bead.section_nm2) / METRE


def moved(row_id: str, per_k: float = 0.0) -> float:
    """Movement in inches; a row may name its own coefficient per degree Fahrenheit."""
    row = given(row_id)
    own = per_k or row["alpha"] * 1.8
    return movement_nm(own, nm(row["L_in"]), row["dT_F"] / 1.8) / INCH


def sleeve_gap(row_id: str) -> tuple[float, float]:
    """The gap at a sleeve when the rail goes in, and on the coldest day, in inches."""
    row = given(row_id)
    system = replace(
        SYSTEM,
        expansion_per_k=ALUMINIUM,
        joints={JointKind.SLEEVE: Joint(), JointKind.FIXED: Joint()},
    )
    coldest = row.get("T_min", row["T_inst"])
    kelvins = [(degrees + 459.67) / 1.8 for degrees in (row["T_inst"], coldest, row["T_max"])]
    joints = (JointKind.SLEEVE, JointKind.FIXED)
    gap, _ = end_gaps(joints, nm(row["L_in"]), system, Conditions(*kelvins))
    assert gap.widest_nm is not None
    return gap.gap_nm / INCH, gap.widest_nm / INCH


def angle(row_id: str) -> float:
    return rake_of(flight(row_id)).angle_deg


COMPUTED: dict[str, Callable[[], Any]] = {
    "STAIR-UR-107": riser,
    "STAIR-RUN-ARMY": total_run,
    "STAIR-STRINGER": stringer,
    "STAIR-ANGLE-JLC": lambda: angle("STAIR-ANGLE-JLC"),
    "STAIR-ANGLE-345": lambda: angle("STAIR-ANGLE-345"),
    "STAIR-POST-H": post_height,
    "STAIR-RAIL-VDEPTH": lambda: raked(
        "STAIR-RAIL-VDEPTH", lambda rake, row: plumb_depth_nm(rake, nm(row["D_in"]))
    ),
    "STAIR-RAIL-EDGE": lambda: raked(
        "STAIR-RAIL-EDGE", lambda rake, row: slope_nm(rake, nm(row["G_in"]))
    ),
    "STAIR-RAIL-STOCK": lambda: raked(
        "STAIR-RAIL-STOCK", lambda rake, row: blank_nm(rake, nm(row["G_in"]), nm(row["D_in"]))
    ),
    "STAIR-MITRE-HALF": mitre,
    "STAIR-RACK-GAP": lambda: raked(
        "STAIR-RACK-GAP", lambda rake, row: level_nm(rake, nm(row["p_in"])) - nm(row["w_in"])
    ),
    "STAIR-RACK-PMAX": lambda: raked(
        "STAIR-RACK-PMAX", lambda rake, row: slope_nm(rake, nm(row["gap_in"]) + nm(row["w_in"]))
    ),
    "BAL-72-N": lambda: free("BAL-72-N")[0],
    "BAL-72-CLEAR": clear_of_all,
    "BAL-72-GAP": lambda: free("BAL-72-N")[1],
    "BAL-52-1.5": lambda: free("BAL-52-1.5"),
    "BAL-120-1.5": lambda: free("BAL-120-1.5"),
    "BAL-69.5-0.75": lambda: free("BAL-69.5-0.75"),
    "BAL-116-0.75": lambda: free("BAL-116-0.75"),
    "BAL-92-EDGE": lambda: free("BAL-92-EDGE", over_nm=1),
    "BAL-92-STRICT": lambda: free("BAL-92-STRICT"),
    "BAL-FIXED": fixed,
    "SEAL-0.25x0.25": lambda: yield_ft(BeadShape.RECTANGLE, "0.25", "0.25"),
    "SEAL-0.375x0.25": lambda: yield_ft(BeadShape.RECTANGLE, "0.375", "0.25"),
    "SEAL-0.5x0.25": lambda: yield_ft(BeadShape.RECTANGLE, "0.5", "0.25"),
    "SEAL-0.25 fillet": lambda: yield_ft(BeadShape.FILLET, "0.25"),
    "SEAL-0.375 fillet": lambda: yield_ft(BeadShape.FILLET, "0.375"),
    "SEAL-0.25 round": lambda: yield_ft(BeadShape.ROUND, "0.25"),
    "SEAL-6x6-300": metric_yield,
    "TH-GYP": lambda: moved("TH-GYP", ALUMINIUM),
    "TH-SHEET": lambda: moved("TH-SHEET"),
    "TH-20-100": lambda: moved("TH-20-100", ALUMINIUM),
    "TH-6m-60": lambda: movement_nm(23.6e-6, 6 * METRE, 60.0) / MILLIMETRE,
    "TH-NOMMA-CORRECTED": lambda: moved("TH-NOMMA-CORRECTED"),
    "TH-GAP": lambda: sleeve_gap("TH-GAP")[0],
    "TH-MAXOPEN": lambda: sleeve_gap("TH-MAXOPEN")[1],
    "AL-ALPHA": lambda: ALUMINIUM,
}


@pytest.mark.parametrize("row_id", COMPUTED)
def test_rail(row_id: str) -> None:
    assert COMPUTED[row_id]() == within(row_id)
