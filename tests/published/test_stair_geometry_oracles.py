"""Stair geometry of published tables and worked examples against what clauses measure.

Values and their sources stand in ``data/stair_geometry.json``, by the ids used below:

- ``SPHERE-*`` and ``VMAX-*``: largest sphere between riser, tread and bottom rail, and the rail's
  height at which a 6 in sphere just passes. Derived from the inradius of a right triangle and
  confirmed by a numerical search for the largest circle on the stepped profile; no published table.
- ``stair.angle.*``: Washington WAC 296-24-76511 Table D-1, angles in degrees and minutes.
- ``stair.navy`` NAVEDTRA 14044, ``stair.army`` EN5156, ``stair.radford`` Radford's Cyclopedia,
  ``stair.metric`` a metric worked example: risers and treads.
- ``flight.max``: illustrated commentary on the 2018 IRC, 20 risers of 7.55 in make 151 in.
"""

import hashlib
import json
import math
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from service.domain.compliance.exact import Span, Surd, compare_exactly
from service.domain.compliance.findings import Outcome
from service.domain.compliance.measures_openings import triangle_sphere_nm
from service.domain.layout.deck import Stair
from service.domain.layout.stairs import rake_of
from service.domain.lengths import INCH, MILLIMETRE
from tests.unit.domain.compliance.builders import findings, layout, outcome_of

TABLE = Path(__file__).parent / "data" / "stair_geometry.json"
ROWS = json.loads(TABLE.read_text(encoding="utf-8"), parse_float=Decimal)
SPHERES = [row for row in ROWS["triangle"] if row["id"].startswith("SPHERE")]
HEIGHTS = [row for row in ROWS["triangle"] if row["id"].startswith("VMAX")]
STAIRS = {row["id"]: row for row in ROWS["stairs"]}
ANGLES = [row for row in ROWS["stairs"] if row["id"].startswith("stair.angle")]


def _nm(inches: Decimal | int) -> int:
    exact = Fraction(inches) * INCH
    assert exact.denominator == 1
    return int(exact)


def _diameter_in(sphere: Surd | Span | int) -> float:
    surd = sphere.low if isinstance(sphere, Span) else sphere
    assert isinstance(surd, Surd)
    return (float(surd.rational) + surd.sign * math.sqrt(surd.square)) / INCH


def test_copy_of_the_values_is_unchanged() -> None:
    """A slip in the copied values would show here before it showed as a wrong clause."""
    assert (
        hashlib.sha256(TABLE.read_bytes()).hexdigest()
        == "d67edc846d1409d61d881ae36a45a0a7e0f25c49d5f577b0e1fc785113e147b3"
    )
    assert (len(SPHERES), len(HEIGHTS), len(ANGLES)) == (7, 6, 13)


@pytest.mark.parametrize("row", SPHERES, ids=lambda row: row["id"])
def test_largest_sphere_in_the_triangle(row: dict[str, Any]) -> None:
    given = row["inputs"]
    sphere = triangle_sphere_nm(
        Fraction(_nm(given["r_in"])),
        Fraction(_nm(given["t_in"])),
        _nm(given["nosing_projection_in"]),
        _nm(given["v_vertical_offset_in"]),
    )
    assert _diameter_in(sphere) == pytest.approx(
        float(row["expected"]), abs=float(row["tolerance"])
    )


@pytest.mark.parametrize("row", HEIGHTS, ids=lambda row: row["id"])
def test_rail_height_at_which_six_inches_pass(row: dict[str, Any]) -> None:
    given, within = row["inputs"], _nm(Decimal(str(row["tolerance"])))
    limit = _nm(row["expected"])
    flight = {
        "total_rise": 7 * _nm(given["r_in"]),
        "unit_run": _nm(given["t_in"]),
        "nosing": _nm(given["nosing_projection_in"]),
    }
    key = "guard.opening.stair_triangle"
    below = layout(stair_bottom_gap_nm=limit - within, **flight)
    above = layout(stair_bottom_gap_nm=limit + within, **flight)
    assert outcome_of(key, below) is Outcome.MET
    assert outcome_of(key, above) is Outcome.NOT_MET


@pytest.mark.parametrize(
    "name", ["SPHERE-7.5-10-1.5-0", "SPHERE-7.5-10-0-0", "SPHERE-7.5-10-1.5-1"]
)
def test_sphere_of_a_3_4_5_stair_is_exact(name: str) -> None:
    """At 7-1/2 over 10 the slope is 12-1/2 in exactly, so the diameter is rational."""
    row = next(row for row in SPHERES if row["id"] == name)
    given = row["inputs"]
    sphere = triangle_sphere_nm(
        Fraction(_nm(given["r_in"])),
        Fraction(_nm(given["t_in"])),
        _nm(given["nosing_projection_in"]),
        _nm(given["v_vertical_offset_in"]),
    )
    assert not isinstance(sphere, Span)
    assert compare_exactly(sphere, _nm(row["expected"])) == 0


@pytest.mark.parametrize("row", ANGLES, ids=lambda row: row["id"])
def test_angle_of_a_stair(row: dict[str, Any]) -> None:
    """Within 3 minutes of arc; the table itself slips by 2 minutes at 8 over 9-1/2."""
    given = row["inputs"]
    flight = Stair("stair", 4 * _nm(given["rise_in"]), 4, _nm(given["run_in"]), _nm(48))
    expected = float(row["expected"]["angle_deg"])
    assert rake_of(flight).angle_deg == pytest.approx(expected, abs=3 / 60)


@pytest.mark.parametrize("name", ["stair.navy", "stair.army", "stair.radford"])
def test_riser_is_the_shared_rise(name: str) -> None:
    row = STAIRS[name]
    risers = row["inputs"].get("risers") or row["expected"]["risers"]
    built = layout(total_rise=_nm(row["inputs"]["total_rise_in"]), risers=risers)
    (riser,) = findings("stair.riser", built)
    assert riser.measured is not None
    assert riser.measured / INCH == pytest.approx(float(row["expected"]["riser_in"]), abs=0.01)


def test_metric_riser_and_length_on_the_slope() -> None:
    row = STAIRS["stair.metric"]
    given, expected = row["inputs"], row["expected"]
    rise, run = given["total_rise_mm"] * MILLIMETRE, given["run_each_mm"] * MILLIMETRE
    built = layout(total_rise=rise, risers=expected["risers"], unit_run=run)
    (riser,) = findings("stair.riser", built)
    assert riser.measured == expected["riser_mm"] * MILLIMETRE
    rake = built.stairs[0].rake
    assert rake.run_nm == expected["run_mm"] * MILLIMETRE
    slope_mm = math.hypot(rake.rise_nm, rake.run_nm) / MILLIMETRE
    assert slope_mm == pytest.approx(expected["stringer_mm"], abs=1)


def test_highest_flight_of_the_commentary_is_exactly_at_the_limit() -> None:
    row = STAIRS["flight.max"]
    given = row["inputs"]
    built = layout(total_rise=given["risers"] * _nm(given["riser_in"]), risers=given["risers"])
    (flight,) = findings("stair.flight_rise", built)
    assert (flight.measured, flight.margin) == (_nm(row["expected"]["total_in"]), 0)
    assert flight.outcome is Outcome.MET
