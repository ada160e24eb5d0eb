"""What is told of a taped outline beside its corners, against worked values.

The corners, courses and diagonals themselves are held in ``test_survey_values``. Misclosure and
least squares were worked out from the tapes and cross-checked (derived, no print).
"""

import math

import pytest

from service.domain.layout.survey_net import Tape
from service.domain.layout.survey_sides import survey_of_sides
from service.domain.layout.survey_tapes import survey_of_tapes
from service.domain.lengths import INCH, inches


def taped(**lengths: float) -> list[Tape]:
    """Tapes by their two corners, in inches."""
    return [Tape(name[0], name[1], round(length * INCH)) for name, length in lengths.items()]


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


def test_least_squares_over_all_six_tapes() -> None:
    """Root mean square residual 0.0051 in, area 192.03 square feet (derived)."""
    tapes = taped(AB=192, BC=144.125, CD=191.875, DA=144, AC=240.125, BD=239.875)
    corners, report = survey_of_tapes("main", "ABCD", tapes)
    squares = [(r.residual_nm / INCH) ** 2 for r in report.residuals]
    assert math.sqrt(sum(squares) / 6) == pytest.approx(0.0051, abs=1e-4)
    assert area_in2(corners) / 144 == pytest.approx(192.03, abs=5e-3)


def area_in2(corners: tuple[tuple[int, int], ...]) -> float:
    pairs = zip(corners, (*corners[1:], corners[0]), strict=True)
    return sum(ax * by - bx * ay for (ax, ay), (bx, by) in pairs) / 2 / INCH**2
