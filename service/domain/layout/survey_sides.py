"""Outlines from taped sides and the turns between them.

Source: the compass (Bowditch) rule and the closure of a traverse as taught in the US Navy
Engineering Aid courses (NAVEDTRA 14071, fig. 7-14).
"""

import math
from collections.abc import Sequence

from service.domain.errors import InvalidGeometry, Where
from service.domain.layout.deck import Point
from service.domain.layout.survey_records import SurveyMethod, SurveyReport, precision_of
from service.domain.lengths import INCH, mm_of, snap_mm

# A misclosure above this is a tape blunder, not a rounding: the larger of 1/4 in and 1:500 of
# what was taped (judgement, no standard).
CLOSURE_FLOOR_NM = INCH // 4
CLOSURE_RATIO = 500

Course = tuple[float, float]


def share_misclosure(courses: Sequence[Course]) -> tuple[Course, ...]:
    """Give the corrections that close a traverse, in proportion to the courses' lengths.

    Args:
        courses: (n, 2) steps in plan, in any one unit.

    Returns:
        (n, 2) what to add to each step, in that unit.

    Source: the compass rule, correction = -misclosure x length / perimeter.

    Example:
        >>> share_misclosure([(4.0, 0.0), (0.0, 2.0), (-4.0, 0.0), (0.0, -1.0)])[0]
        (-0.0, -0.36363636363636365)
    """
    dx, dy = sum(x for x, _ in courses), sum(y for _, y in courses)
    lengths = [math.hypot(*course) for course in courses]
    perimeter = sum(lengths)
    return tuple((-dx * length / perimeter, -dy * length / perimeter) for length in lengths)


def courses_of_sides(sides: Sequence[tuple[int, float]]) -> tuple[Course, ...]:
    """Give the step in plan of each side, the first along x, as taped. [mm]

    Args:
        sides: (n, 2) side length [nm] and turn at its end, left positive [deg].
    """
    courses, heading = [], 0.0
    for length_nm, turn_deg in sides:
        length, angle = mm_of(length_nm), math.radians(heading)
        courses.append((length * math.cos(angle), length * math.sin(angle)))
        heading += turn_deg
    return tuple(courses)


def outline_of_sides(sides: Sequence[tuple[int, float]], where: Where = ()) -> tuple[Point, ...]:
    """Turn taped sides and turning angles into vertices; see ``survey_of_sides``."""
    return survey_of_sides("", sides, where)[0]


def outline_of_open_sides(sides: Sequence[tuple[int, float]]) -> tuple[Point, ...]:
    """Turn sides and turns into vertices, with one more side that was not taped.

    Args:
        sides: (n, 2) side length [nm] and turn at its end [deg]; the last turn says nothing.

    Returns:
        (n + 1, 2) vertices, the first at the origin; the last side runs from the last one
        straight back. [nm]

    Example:
        >>> outline_of_open_sides([(4_000_000, 90.0), (3_000_000, 0.0)])
        ((0, 0), (4000000, 0), (4000000, 3000000))
    """
    x = y = heading = 0.0
    vertices = [(0, 0)]
    for length_nm, turn_deg in sides:
        length, angle = mm_of(length_nm), math.radians(heading)
        x, y = x + length * math.cos(angle), y + length * math.sin(angle)
        vertices.append((snap_mm(x), snap_mm(y)))
        heading += turn_deg
    return tuple(vertices)


def survey_of_sides(
    level: str, sides: Sequence[tuple[int, float]], where: Where = ()
) -> tuple[tuple[Point, ...], SurveyReport]:
    """Turn taped sides and turning angles into vertices, sharing out the misclosure.

    The first side starts at the origin and runs along x; each angle is the turn at the end of its
    side, left positive.

    Args:
        level: Name of the level, for the report.
        sides: (n, 2) side length [nm] and turn at its end [deg].
        where: Place of the outline in the request.

    Returns:
        (n, 2) vertices, the first at the origin, not closed [nm], and how well they closed.

    Raises:
        InvalidGeometry: Fewer than three sides, or the sides do not close within tolerance.
    """
    if len(sides) < 3:
        raise InvalidGeometry(
            "an outline needs at least three sides", where=where, advice="Send every side."
        )
    courses = courses_of_sides(sides)
    missing = math.hypot(sum(x for x, _ in courses), sum(y for _, y in courses))
    perimeter_nm = sum(length for length, _ in sides)
    _refuse_blunder(missing, perimeter_nm, where)
    x = y = 0.0
    vertices = []
    for (dx, dy), (cx, cy) in zip(courses, share_misclosure(courses), strict=True):
        vertices.append((snap_mm(x), snap_mm(y)))
        x, y = x + dx + cx, y + dy + cy
    misclosure_nm = snap_mm(missing)
    precision = precision_of(perimeter_nm, misclosure_nm)
    return tuple(vertices), SurveyReport(level, SurveyMethod.SIDES, misclosure_nm, precision)


def closure_tolerance_nm(taped_nm: int) -> int:
    """Give the misclosure that taping explains. [nm]"""
    return max(CLOSURE_FLOOR_NM, taped_nm // CLOSURE_RATIO)


def _refuse_blunder(misclosure_mm: float, perimeter_nm: int, where: Where) -> None:
    allowed_nm = closure_tolerance_nm(perimeter_nm)
    if misclosure_mm > mm_of(allowed_nm):
        raise InvalidGeometry(
            f"the sides and turns miss their starting point by {misclosure_mm:.1f} mm, more than "
            f"the {mm_of(allowed_nm):.1f} mm that taping explains",
            where=where,
            advice="Check that each turn is the angle at the end of its side, left turns positive, "
            "and tape the sides again.",
        )
