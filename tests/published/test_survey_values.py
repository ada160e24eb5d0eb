"""Traverses, diagonals and corners of ``data/layout.json``, each worked by the service's survey.

Sources stand with each row: Jerry Mahun, open-access surveying text, chapter on traverse
computations (JM); compass rule slides, scribd 493615208 (SL); US Navy NAVEDTRA 14070, traverse
tables (NAVY); a sample traverse, scribd 279716815 (TRAV-6); triangles worked with Heron's and
Bretschneider's formulas (TRI); plane geometry (POLY, CHORD). A row whose basis is not
``published_value`` was computed from such a source, not printed in it.
"""

import itertools
import math
import re
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import pytest

from service.domain.errors import InvalidGeometry
from service.domain.layout.survey_net import Tape
from service.domain.layout.survey_sides import (
    courses_of_sides,
    share_misclosure,
    survey_of_sides,
)
from service.domain.layout.survey_tapes import survey_of_tapes
from service.domain.lengths import FOOT, INCH, METRE, MILLIMETRE
from tests.published.layout_table import given, within

Sides = list[tuple[int, float]]
Pair = tuple[float, float]
COURSES = ("AB", "BC", "CD", "DA")


def traverse(bearings: list[tuple[str, float, str, float]], unit: int) -> Sides:
    """Sides and turns of bearings; a first side of no length turns from east to the first."""
    azimuths = []
    for north, angle, east, _ in bearings:
        off_north = angle if north == "N" else 180 - angle
        azimuths.append(off_north if east == "E" else -off_north)
    turns = [one - following for one, following in itertools.pairwise(azimuths)]
    lengths = [round(Fraction(str(length)) * unit) for *_, length in bearings]
    return [(0, 90 - azimuths[0]), *zip(lengths, [*turns, 0.0], strict=True)]


def _jm(course: str) -> tuple[str, float, str, float]:
    row = given(f"TRAV-JM-LAT-{course}")
    return (*row["bearing"], row["length_ft"])


MAHUN = traverse([_jm(course) for course in COURSES], FOOT)
SLIDES = traverse([given(f"TRAV-SL-CL-{course}")["course"] for course in COURSES], METRE)


def steps(sides: Sides, unit: int) -> list[Pair]:
    """Departure and latitude of each course as taped."""
    mm = unit / MILLIMETRE
    return [(x / mm, y / mm) for x, y in courses_of_sides(sides)[1:]]


def corrections(sides: Sides, unit: int) -> list[Pair]:
    mm = unit / MILLIMETRE
    return [(x / mm, y / mm) for x, y in share_misclosure(courses_of_sides(sides))[1:]]


def adjusted(sides: Sides, unit: int) -> list[Pair]:
    pairs = zip(steps(sides, unit), corrections(sides, unit), strict=True)
    return [(x + dx, y + dy) for (x, y), (dx, dy) in pairs]


def misclosure(sides: Sides, unit: int) -> Pair:
    taken = steps(sides, unit)
    return sum(x for x, _ in taken), sum(y for _, y in taken)


def mahun_corner(index: int) -> list[float]:
    """North and east of an adjusted corner, from A at (500, 2000)."""
    vertices, _ = survey_of_sides("main", MAHUN)
    x, y = vertices[index + 1]
    return [500 + y / FOOT, 2000 + x / FOOT]


def mahun_perimeter() -> float:
    """A course takes the share of the misclosure that it has of the perimeter."""
    length = MAHUN[1][0] / FOOT
    return -misclosure(MAHUN, FOOT)[0] * length / corrections(MAHUN, FOOT)[0][0]


def mahun_report(unit: int = FOOT) -> Pair:
    _, report = survey_of_sides("main", MAHUN)
    assert report.misclosure_nm
    assert report.precision
    return report.misclosure_nm / unit, report.precision


def sample_traverse() -> list[Pair]:
    """Three courses of 5000.13 ft in all that end at the printed closures; only these are known."""
    first, rest = (495.85, 0.0), 5000.13 - 495.85
    x, y = 16.8171 - first[0], 18.0737
    reach = math.hypot(x, y)
    off = math.sqrt((rest / 2) ** 2 - (reach / 2) ** 2)
    middle = (x / 2 - off * y / reach, y / 2 + off * x / reach)
    return [first, middle, (x - middle[0], y - middle[1])]


def sample_misclosure() -> float:
    """It is refused as a blunder by our tolerance of 1 : 500; the refusal names it in mm."""
    headings = [math.degrees(math.atan2(y, x)) for x, y in sample_traverse()]
    turns = [b - a for a, b in zip(headings, [*headings[1:], 0.0], strict=True)]
    lengths = [round(math.hypot(*step) * FOOT) for step in sample_traverse()]
    with pytest.raises(InvalidGeometry) as refused:
        survey_of_sides("main", list(zip(lengths, turns, strict=True)))
    told = re.search(r"by ([0-9.]+) mm", str(refused.value))
    assert told
    return float(told[1]) * MILLIMETRE / FOOT


def l_deck() -> Sides:
    row = given("POLY-L-MISC")
    headings = row["dirs_deg"]
    turns = [b - a for a, b in zip(headings, [*headings[1:], 360], strict=True)]
    lengths = [round(Fraction(str(side)) * INCH) for side in row["sides"]]
    return list(zip(lengths, turns, strict=True))


def tapes(**lengths: float) -> list[Tape]:
    """Tapes by their two corners, in inches."""
    return [Tape(name[0], name[1], round(length * INCH)) for name, length in lengths.items()]


def across(one: int, other: int, **lengths: float) -> float:
    """Distance of two corners of the quadrilateral that the tapes give. [in]"""
    corners, _ = survey_of_tapes("main", "ABCD", tapes(**lengths))
    return math.dist(corners[one], corners[other]) / INCH


QUAD = {"AB": 192, "BC": 144.125, "DA": 144, "AC": 240.125, "BD": 239.875}
KITE = {"AB": 10, "BC": 8, "CD": 7, "DA": 9, "AC": 12}


def right_corner() -> list[float]:
    row = given("TRI-345")
    corners, _ = survey_of_tapes("main", "ABC", tapes(AB=row["a"], BC=row["b"], AC=row["ac"]))
    return [corners[2][0] / INCH, corners[2][1] / INCH]


def quad_residual() -> float:
    _, report = survey_of_tapes("main", "ABCD", tapes(**QUAD, CD=191.875))
    (off,) = [r.off_nm for r in report.residuals if r.tape == "C-D"]
    assert off is not None
    return off / INCH


def kite_area() -> float:
    corners, _ = survey_of_tapes("main", "ABCD", tapes(**KITE))
    pairs = zip(corners, (*corners[1:], corners[0]), strict=True)
    return sum(ax * by - bx * ay for (ax, ay), (bx, by) in pairs) / 2 / INCH**2


def square_corner_chord() -> float:
    leg_nm = given("CHORD-90")["leg_in"] * INCH
    steps_mm = courses_of_sides([(leg_nm, 90.0), (leg_nm, 0.0)])
    return math.hypot(*(sum(axis) for axis in zip(*steps_mm, strict=True))) * MILLIMETRE / INCH


COMPUTED: dict[str, Callable[[], Any]] = {
    **{f"TRAV-JM-LAT-{c}": lambda i=i: steps(MAHUN, FOOT)[i][1] for i, c in enumerate(COURSES)},
    **{f"TRAV-JM-DEP-{c}": lambda i=i: steps(MAHUN, FOOT)[i][0] for i, c in enumerate(COURSES)},
    "TRAV-JM-PERIM": mahun_perimeter,
    "TRAV-JM-CL": lambda: misclosure(MAHUN, FOOT)[1],
    "TRAV-JM-CD": lambda: misclosure(MAHUN, FOOT)[0],
    "TRAV-JM-LEC": lambda: mahun_report()[0],
    "TRAV-JM-RATIO": lambda: mahun_report()[1],
    **{f"TRAV-JM-{c}": lambda i=i: mahun_corner(i) for i, c in enumerate("ABCD")},
    **{f"TRAV-SL-CL-{c}": lambda i=i: corrections(SLIDES, METRE)[i][1]
       for i, c in enumerate(COURSES)},
    **{f"TRAV-SL-CD-{c}": lambda i=i: corrections(SLIDES, METRE)[i][0]
       for i, c in enumerate(COURSES)},
    **{f"TRAV-SL-AL-{c}": lambda i=i: adjusted(SLIDES, METRE)[i][1]
       for i, c in enumerate(COURSES)},
    **{f"TRAV-SL-AD-{c}": lambda i=i: adjusted(SLIDES, METRE)[i][0]
       for i, c in enumerate(COURSES[:3])},
    "TRAV-NAVY-LAT": lambda: steps(traverse([("N", 15.5, "E", 725)], FOOT), FOOT)[0][1],
    "TRAV-6-LEC": sample_misclosure,
    "TRAV-6-CORR1": lambda: list(share_misclosure(sample_traverse())[0]),
    "POLY-L-MISC": lambda: [
        sum(axis) / (INCH / MILLIMETRE) for axis in zip(*courses_of_sides(l_deck()), strict=True)
    ],
    "POLY-L-RATIO": lambda: survey_of_sides("main", l_deck())[1].precision,
    "CHORD-90": square_corner_chord,
    "TRI-345": right_corner,
    "TRI-QUAD-CHECK": lambda: across(2, 3, **QUAD),
    "TRI-QUAD-RESID": quad_residual,
    "TRI-QUAD-BD": lambda: across(1, 3, **KITE),
    "TRI-QUAD-AREA": kite_area,
}  # fmt: skip


@pytest.mark.parametrize("row_id", COMPUTED)
def test_survey(row_id: str) -> None:
    assert COMPUTED[row_id]() == within(row_id)
