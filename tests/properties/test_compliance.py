"""Properties of the clauses' measures over random stairs and sections.

The independent oracle is shapely: the largest circle in the free space under the bottom rail,
drawn as the polygon that the steps and the rail really enclose.
"""

import math
from fractions import Fraction

from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import Polygon, maximum_inscribed_circle

from service.domain.compliance.exact import Span, Surd, compare_exactly, round_down
from service.domain.compliance.findings import Outcome
from service.domain.compliance.measures_openings import triangle_sphere_nm
from service.domain.lengths import INCH, inches
from tests.unit.domain.compliance.builders import findings, layout, outcome_of

SIXTEENTH = INCH // 16


def _sixteenths(low: int, high: int) -> st.SearchStrategy[int]:
    """Lengths between whole inches, on the 1/16 in grid. [nm]"""
    return st.integers(low * 16, high * 16).map(lambda n: n * SIXTEENTH)


def _free_space(rise: float, run: float, nosing: float, gap: float) -> Polygon:
    """Outline the space between one tread, its riser and the rail, clear of its neighbours. [in]

    x grows down the stair from the tread's inner corner, y upwards from the tread; treads are
    1 in thick. The rail's underside passes ``gap`` above each nosing. Over the next tread up and
    the next one down the space goes on, and is cut off before it repeats itself.
    """
    slope, thick = rise / run, 1.0
    nose = run + nosing

    def rail(x: float) -> float:
        return gap + slope * (nose - x)

    back, front = nosing - 0.8 * run, nose + 0.8 * run
    return Polygon(
        [
            (0, 0), (nose, 0), (nose, -thick), (run, -thick), (run, -rise), (front, -rise),
            (front, rail(front)), (back, rail(back)), (back, rise), (nosing, rise),
            (nosing, rise - thick), (0, rise - thick),
        ]
    )  # fmt: skip


def _largest_circle_in(rise: int, run: int, nosing: int, gap: int) -> float:
    space = _free_space(*(length / INCH for length in (rise, run, nosing, gap)))
    return maximum_inscribed_circle(space, tolerance=1e-6).length * 2


def _diameter_in(sphere: Surd | Span | int) -> float:
    assert isinstance(sphere, Surd)
    return (float(sphere.rational) - math.sqrt(sphere.square)) / INCH


@settings(max_examples=100, deadline=None)
@given(
    rise=_sixteenths(6, 8), run=_sixteenths(9, 12), nosing=_sixteenths(0, 1), gap=_sixteenths(0, 1)
)
def test_triangle_is_the_largest_circle_that_shapely_finds(
    rise: int, run: int, nosing: int, gap: int
) -> None:
    """Where the circle stays below the nosing above it, as on stairs that codes allow."""
    diameter = _diameter_in(triangle_sphere_nm(Fraction(rise), Fraction(run), nosing, gap))
    assume(diameter < rise / INCH - 1)
    assert math.isclose(_largest_circle_in(rise, run, nosing, gap), diameter, abs_tol=1e-4)


@settings(max_examples=100, deadline=None)
@given(
    rise=_sixteenths(5, 8), run=_sixteenths(9, 12), nosing=_sixteenths(0, 1), gap=_sixteenths(0, 1)
)
def test_triangle_is_never_less_than_what_passes(
    rise: int, run: int, nosing: int, gap: int
) -> None:
    """On low risers the nosing above narrows the opening, and the triangle errs safely."""
    sphere = triangle_sphere_nm(Fraction(rise), Fraction(run), nosing, gap)
    assume(isinstance(sphere, Surd))
    assert _largest_circle_in(rise, run, nosing, gap) <= _diameter_in(sphere) + 1e-4


@given(
    rise=_sixteenths(2, 9), run=_sixteenths(8, 14), nosing=_sixteenths(0, 2), gap=_sixteenths(0, 6)
)
def test_shown_diameter_is_the_whole_part_of_the_exact_one(
    rise: int, run: int, nosing: int, gap: int
) -> None:
    sphere = triangle_sphere_nm(Fraction(rise), Fraction(run), nosing, gap)
    exact = sphere.low if isinstance(sphere, Span) else sphere
    whole = round_down(exact)
    assert compare_exactly(exact, whole) >= 0
    assert compare_exactly(exact, whole + 1) < 0


@settings(max_examples=60, deadline=None)
@given(gaps=st.lists(_sixteenths(1, 5), min_size=2, max_size=8))
def test_openings_are_met_exactly_when_every_gap_is_under_four_inches(gaps: list[int]) -> None:
    built = layout(level_gaps=gaps, stairs=False)
    met = all(gap < inches(4) for gap in gaps)
    assert outcome_of("guard.opening.level", built) is (Outcome.MET if met else Outcome.NOT_MET)
    uprights = [f for f in findings("guard.opening.level", built) if "under" not in f.note]
    assert max(f.measured or 0 for f in uprights) == max(gaps)


@settings(max_examples=60, deadline=None)
@given(total_rise=st.integers(inches(20), inches(160)), risers=st.integers(3, 24))
def test_riser_is_met_exactly_when_the_flight_fits(total_rise: int, risers: int) -> None:
    built = layout(total_rise=total_rise, risers=risers)
    met = 4 * total_rise <= 31 * INCH * risers
    (riser,) = findings("stair.riser", built)
    assert riser.outcome is (Outcome.MET if met else Outcome.NOT_MET)
    assert riser.margin is not None
    assert (riser.margin >= 0) is met
