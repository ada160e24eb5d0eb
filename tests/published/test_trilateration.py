"""Taped sides and diagonals, and closed traverses, against worked values.

Sources: triangle and quadrilateral values worked from two triangles and cross-checked with
Heron's and Bretschneider's formulas (the second diagonal as the check: Encyclopaedia Britannica,
"Surveying"); traverse values from Jerry Mahun, open-access surveying text, chapter on traverse
computations, from compass rule slides (scribd 493615208), and from a sample traverse (scribd
279716815). A value marked derived was computed from such a source, not printed in it.
"""

import math

import pytest

from service.domain.layout.survey_net import Tape
from service.domain.layout.survey_sides import share_misclosure, survey_of_sides
from service.domain.layout.survey_tapes import survey_of_tapes
from service.domain.lengths import INCH, inches

SLIDES = [("N", 76, "E", 80.40), ("S", 36, "E", 46.30), ("S", 61, "W", 72.80), ("N", 38, "W", 68.0)]
MAHUN = [
    ("S", 68 + 5 / 60 + 35 / 3600, "W", 472.68),
    ("N", 19 + 46 / 60, "W", 216.13),
    ("N", 45 + 55 / 60 + 20 / 3600, "E", 276.52),
    ("S", 54 + 59 / 60 + 15 / 3600, "E", 382.24),
]


def course(north: str, bearing: float, east: str, length: float) -> tuple[float, float]:
    """Give departure and latitude of a bearing and distance."""
    dep, lat = length * math.sin(math.radians(bearing)), length * math.cos(math.radians(bearing))
    return (dep if east == "E" else -dep, lat if north == "N" else -lat)


def taped(**lengths: float) -> list[Tape]:
    """Tapes by their two corners, in inches."""
    return [Tape(name[0], name[1], round(length * INCH)) for name, length in lengths.items()]


@pytest.mark.parametrize(
    ("index", "latitude", "departure"),
    [(0, -0.0857, 0.0935), (1, -0.0493, 0.0538), (2, -0.0776, 0.0846), (3, -0.0724, 0.0791)],
)
def test_compass_corrections_of_the_slides(index: int, latitude: float, departure: float) -> None:
    """Published to four places, from a misclosure rounded on the way: hence 0.0006."""
    given = share_misclosure([course(*c) for c in SLIDES])[index]
    assert given == (pytest.approx(departure, abs=6e-4), pytest.approx(latitude, abs=6e-4))


@pytest.mark.parametrize(
    ("index", "latitude", "departure"),
    [(0, 19.3653, 78.1055), (1, -37.5063, 27.2678), (2, -35.3716, -63.5874), (3, 53.5126, None)],
)
def test_adjusted_courses_of_the_slides(
    index: int, latitude: float, departure: float | None
) -> None:
    courses = [course(*c) for c in SLIDES]
    dep, lat = (
        sum(pair) for pair in zip(courses[index], share_misclosure(courses)[index], strict=True)
    )
    assert lat == pytest.approx(latitude, abs=6e-4)
    assert departure is None or dep == pytest.approx(departure, abs=6e-4)


@pytest.mark.parametrize(
    ("index", "latitude", "departure"),
    [
        (0, -176.357, -438.548),
        (1, 203.395, -73.093),
        (2, 192.357, 198.651),
        (3, -219.312, 313.065),
    ],
)
def test_latitudes_and_departures_of_mahun(index: int, latitude: float, departure: float) -> None:
    assert course(*MAHUN[index]) == (
        pytest.approx(departure, abs=6e-4),
        pytest.approx(latitude, abs=6e-4),
    )


def test_closure_of_mahun() -> None:
    """Published sums +0.083 and +0.075 over 1347.57 ft; 0.1112 ft and 1 : 12 116 derived."""
    courses = [course(*c) for c in MAHUN]
    dep, lat = sum(x for x, _ in courses), sum(y for _, y in courses)
    assert (dep, lat) == (pytest.approx(0.075, abs=7e-4), pytest.approx(0.083, abs=6e-4))
    error, perimeter = math.hypot(dep, lat), sum(c[3] for c in MAHUN)
    assert perimeter == pytest.approx(1347.57, abs=1e-6)
    assert error == pytest.approx(0.1112, abs=1e-4)
    assert perimeter / error == pytest.approx(12116, abs=2)


def test_adjusted_corners_of_mahun() -> None:
    """From A (500, 2000), north first (start published, the rest derived)."""
    courses = [course(*c) for c in MAHUN]
    east, north, corners = 2000.0, 500.0, []
    for (dx, dy), (cx, cy) in zip(courses, share_misclosure(courses), strict=True):
        east, north = east + dx + cx, north + dy + cy
        corners.append((north, east))
    expected = [(323.614, 1561.426), (526.996, 1488.321), (719.336, 1686.956), (500.0, 2000.0)]
    for corner, given in zip(corners, expected, strict=True):
        assert corner == pytest.approx(given, abs=1e-3)


def test_linear_error_and_correction_of_the_sample_traverse() -> None:
    """Closures 16.8171 and 18.0737 ft; a course of 495.85 out of 5000.13 ft (published)."""
    assert math.hypot(16.8171, 18.0737) == pytest.approx(24.6876, abs=2e-4)
    # Two courses that together run 5000.13 ft and end at the closures.
    first = (495.85, 0.0)
    rest = 5000.13 - 495.85
    far_x, far_y = 16.8171 - first[0], 18.0737
    legs = _two_legs(far_x, far_y, rest)
    given = share_misclosure([first, *legs])[0]
    assert given == (pytest.approx(-1.6677, abs=1e-4), pytest.approx(-1.7923, abs=1e-4))


def _two_legs(x: float, y: float, total: float) -> list[tuple[float, float]]:
    """Give two equal legs of a total length that end at a point."""
    reach = math.hypot(x, y)
    off = math.sqrt((total / 2) ** 2 - (reach / 2) ** 2)
    middle = (x / 2 - off * y / reach, y / 2 + off * x / reach)
    return [middle, (x - middle[0], y - middle[1])]


def test_l_deck_reports_its_misclosure() -> None:
    """Misclosure (0.125, 0.25) in, 0.2795 in, 1 : 2662 (derived from the sum of vectors)."""
    lengths = [
        inches(192),
        inches(120, 1, 4),
        inches(95, 7, 8),
        inches(60),
        inches(96),
        inches(180),
    ]
    turns = [90.0, 90.0, -90.0, 90.0, 90.0, 90.0]
    _, report = survey_of_sides("main", list(zip(lengths, turns, strict=True)))
    assert report.misclosure_nm is not None
    assert report.misclosure_nm / INCH == pytest.approx(math.hypot(0.125, 0.25), abs=4e-8)
    assert report.precision == pytest.approx(2662, abs=1)


def test_three_four_five() -> None:
    """TRI-345: C at (192, 144) from sides 192 and 144 and diagonal 240."""
    corners, _ = survey_of_tapes("main", "ABC", taped(AB=192, BC=144, AC=240))
    assert corners == ((0, 0), (inches(192), 0), (inches(192), inches(144)))


def test_the_second_diagonal_checks_the_quadrilateral() -> None:
    """TRI-QUAD-RESID: CD taped 191.875, computed from the others 191.9063, 0.0313 less."""
    tapes = taped(AB=192, BC=144.125, CD=191.875, DA=144, AC=240.125, BD=239.875)
    _, report = survey_of_tapes("main", "ABCD", tapes)
    across = next(r for r in report.residuals if r.tape == "C-D")
    assert across.off_nm is not None
    assert across.off_nm / INCH == pytest.approx(-0.0313, abs=1e-4)


def test_computed_side_of_the_quadrilateral() -> None:
    """TRI-QUAD-CHECK: without the tape CD, it computes to 191.9063 in."""
    tapes = taped(AB=192, BC=144.125, DA=144, AC=240.125, BD=239.875)
    corners, _ = survey_of_tapes("main", "ABCD", tapes)
    assert math.dist(corners[2], corners[3]) / INCH == pytest.approx(191.9063, abs=1e-4)


def test_least_squares_over_all_six_tapes() -> None:
    """Root mean square residual 0.0051 in, area 192.03 square feet (derived)."""
    tapes = taped(AB=192, BC=144.125, CD=191.875, DA=144, AC=240.125, BD=239.875)
    corners, report = survey_of_tapes("main", "ABCD", tapes)
    squares = [(r.residual_nm / INCH) ** 2 for r in report.residuals]
    assert math.sqrt(sum(squares) / 6) == pytest.approx(0.0051, abs=1e-4)
    assert area_in2(corners) / 144 == pytest.approx(192.03, abs=5e-3)


def test_other_diagonal_and_area_of_a_quadrilateral() -> None:
    """TRI-QUAD-BD and TRI-QUAD-AREA: sides 10, 8, 7, 9 and AC 12 give BD 11.833, area 70.9912."""
    corners, report = survey_of_tapes("main", "ABCD", taped(AB=10, BC=8, CD=7, DA=9, AC=12))
    assert math.dist(corners[1], corners[3]) / INCH == pytest.approx(11.833, abs=1e-4)
    assert area_in2(corners) == pytest.approx(70.9912, abs=1e-4)
    assert report.misclosure_nm is None


def area_in2(corners: tuple[tuple[int, int], ...]) -> float:
    pairs = zip(corners, (*corners[1:], corners[0]), strict=True)
    return sum(ax * by - bx * ay for (ax, ay), (bx, by) in pairs) / 2 / INCH**2
