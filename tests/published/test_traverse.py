"""Closing a taped outline against worked traverses.

Source: "Mahun loop", four bearings and distances with published latitudes, departures and
adjusted coordinates (Jerry Mahun, open-access surveying text, chapter on traverse computations;
also the compass rule of US Navy NAVEDTRA 14071). Adjusted coordinates: A (500, 2000), B (323.614,
1561.426), C (526.996, 1488.321), D (719.336, 1686.956), in feet, north first. Our outline starts
at the origin along x, so distances between adjusted corners are compared.
"""

import math
from fractions import Fraction
from itertools import combinations

import pytest

from service.domain.errors import InvalidGeometry
from service.domain.layout.survey_sides import outline_of_sides
from service.domain.lengths import FOOT, inches

ADJUSTED = [(500.0, 2000.0), (323.614, 1561.426), (526.996, 1488.321), (719.336, 1686.956)]
COURSES = [  # azimuth from north, clockwise [deg]; length [ft]
    (180 + 68 + 5 / 60 + 35 / 3600, "472.68"),
    (360 - (19 + 46 / 60), "216.13"),
    (45 + 55 / 60 + 20 / 3600, "276.52"),
    (180 - (54 + 59 / 60 + 15 / 3600), "382.24"),
]


def sides() -> list[tuple[int, float]]:
    given = []
    for (azimuth, length), (following, _) in zip(COURSES, COURSES[1:] + COURSES[:1], strict=True):
        turn = math.degrees(math.remainder(math.radians(azimuth - following), math.tau))
        given.append((round(Fraction(length) * FOOT), turn))
    return given


def test_adjusted_corners_lie_as_published() -> None:
    corners = outline_of_sides(sides())
    for i, j in combinations(range(4), 2):
        published = math.dist(ADJUSTED[i], ADJUSTED[j])
        ours = math.dist(corners[i], corners[j]) / FOOT
        assert ours == pytest.approx(published, abs=2e-3)


def test_l_deck_within_tolerance_closes() -> None:
    """Six tapes, right angles assumed: misclosure (0.125, 0.25) in, 1 : 2662 (derived)."""
    taped = [
        (inches(192), 90.0),
        (inches(120, 1, 4), 90.0),
        (inches(95, 7, 8), -90.0),
        (inches(60), 90.0),
        (inches(96), 90.0),
        (inches(180), 90.0),
    ]
    corners = outline_of_sides(taped)
    assert len(corners) == 6
    assert corners[0] == (0, 0)
    longest = math.dist(corners[0], corners[1]) / inches(1)
    assert longest == pytest.approx(192 - 0.125 * 192 / 744.125, abs=1e-3)


def test_a_blunder_is_refused_not_shared_out() -> None:
    """Two inches over 48 ft: outside 1/4 in and outside 1 : 500."""
    taped = [(inches(194), 90.0), (inches(96), 90.0), (inches(192), 90.0), (inches(96), 90.0)]
    with pytest.raises(InvalidGeometry, match=r"miss their starting point by 50\.8 mm"):
        outline_of_sides(taped)
