"""Measures of what fits through a guard: gaps between uprights, under rails, on stairs.

Gaps between uprights are taken from the pickets' own places as well as from the layout's list. On a
stair they are horizontal, and the triangle under the rail is measured apart.
"""

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from service.domain.compliance.exact import Span, Surd, compare_exactly
from service.domain.compliance.inspection import Attribute, Inspection
from service.domain.compliance.measurement import Measurement
from service.domain.compliance.measures_guard import gates, has_bottom_rail, member_tops_nm
from service.domain.layout.infill_records import PanelRow
from service.domain.layout.records import Section

UNDER_RAIL = "under the bottom rail"
BETWEEN_PICKETS = "between pickets"
PICKET_TO_POST = "picket to post"
# Openings that reach from the bottom of the guard to its top.
UPRIGHT = frozenset({
    BETWEEN_PICKETS, PICKET_TO_POST, "post to wall", "post to structure", "post to post",
    "post to obstacle", "between panels", "panel to post", "gate to post",
})  # fmt: skip
CABLED = frozenset({"between cables", "cable to rail"})
OPENING_ATTRIBUTES = frozenset({"place", "drop", "upright", "guard_height", "between"})

Clear = int | Fraction


def clear_openings(seen: Inspection) -> Iterator[Measurement]:
    """Measure the largest clear opening of each kind in each section and beside each post."""
    height = seen.layout.system.guard_height_nm
    stair_height = seen.layout.system.stair_guard_height_nm
    for (element, place, on_stair), clear in _largest(seen).items():
        attributes: dict[str, Attribute] = {
            "place": "stair" if on_stair else "level",
            "drop": seen.drops.get(element),
            "upright": "yes" if place in UPRIGHT else "no",
            "guard_height": stair_height if on_stair else height,
            "between": "cables" if place in CABLED else "other",
        }
        note = f"Largest opening {place}." if place == BETWEEN_PICKETS else f"Opening {place}."
        yield Measurement(element, clear, attributes, note)
    yield from gates(seen)


def _largest(seen: Inspection) -> dict[tuple[str, str, bool], Clear]:
    largest: dict[tuple[str, str, bool], Clear] = {}
    for element, place, clear, on_stair in _openings(seen):
        key = (element, place, on_stair)
        if clear > largest.get(key, -1):
            largest[key] = clear
    return largest


def _openings(seen: Inspection) -> Iterator[tuple[str, str, Clear, bool]]:
    system = seen.layout.system
    for opening in seen.layout.openings:
        if not (opening.on_stair and opening.place == UNDER_RAIL):
            yield opening.element, opening.place, opening.clear_nm, opening.on_stair
    for section, _run in seen.level_sections:
        for place, clear in _gaps_of(section, system.post_width_nm):
            yield section.name, place, clear, False
        if has_bottom_rail(seen):
            yield section.name, UNDER_RAIL, system.bottom_gap_nm, False
    for section, _run, _flight in seen.stair_sections:
        for place, clear in _gaps_of(section, system.post_width_nm):
            yield section.name, place, clear, True


def _gaps_of(section: Section, post_width_nm: int) -> Iterator[tuple[str, Clear]]:
    """Give the widest gap between pickets, the widest beside a line post, and both end gaps."""
    pickets, posts = section.pickets, set(section.line_posts_nm)
    standing = set(pickets.centres_nm).difference(pickets.removed_nm, posts)
    if not standing:
        return
    # Doubled, so that half an odd width stays whole.
    free, beside = -1, -1
    width, both = 2 * pickets.width_nm, pickets.width_nm + post_width_nm
    for left, right in pairwise(sorted(standing | posts)):
        beside_post = (left in posts) + (right in posts) if posts else 0
        if not beside_post:
            free = max(free, 2 * (right - left) - width)
        else:
            taken = both if beside_post == 1 else 2 * post_width_nm
            beside = max(beside, 2 * (right - left) - taken)
    for place, doubled in ((BETWEEN_PICKETS, free), (PICKET_TO_POST, beside)):
        if doubled >= 0:
            yield place, Fraction(doubled, 2) if doubled % 2 else doubled // 2
    for gap in pickets.end_gaps_nm:
        yield PICKET_TO_POST, gap


def gaps_under(seen: Inspection) -> Iterator[Measurement]:
    """Measure the gap between the walking surface and the lowest part of each level section."""
    for (element, place, on_stair), clear in _largest(seen).items():
        if place.startswith("under") and not on_stair:
            attributes = {"place": "level", "drop": seen.drops.get(element)}
            yield Measurement(element, clear, attributes, f"Opening {place}.")


def upright_gaps(seen: Inspection) -> Iterator[Measurement]:
    """Measure gaps between uprights, with how far apart the level members stand, top to top."""
    spacings = {
        section.name: _member_spacing_nm(seen, section) for section, _run in seen.level_sections
    }
    for (element, place, on_stair), clear in _largest(seen).items():
        if place in UPRIGHT and not on_stair and element in spacings:
            attributes: dict[str, Attribute] = {
                "place": "level",
                "drop": seen.drops.get(element),
                "member_spacing": spacings[element],
            }
            yield Measurement(element, clear, attributes, f"Opening {place}.")


def _member_spacing_nm(seen: Inspection, section: Section) -> int:
    """Give the least distance between the tops of two level members of a section. [nm]"""
    tops = [*member_tops_nm(seen, section), seen.layout.system.guard_height_nm]
    if len(tops) == 1:
        return tops[0]
    return min(above - below for below, above in pairwise(sorted(tops)))


def stair_triangles(seen: Inspection) -> Iterator[Measurement]:
    """Measure the largest sphere between riser, tread and the underside of the bottom rail.

    Diameter = (t + r - sqrt(r^2 + t^2)) k with k = (t + n)/t + v/r, for unit rise r, unit run t,
    nosing projection n and the rail's underside v above the nosing line, upright: the inscribed
    circle of a right triangle similar to (t, r).

    Where a low riser lets the circle reach the nosing above it, less passes than is measured here.

    Source: inradius of a right triangle; derived, and checked against a numerical search for the
    largest circle on the stepped profile.
    """
    spheres: dict[tuple[str, int], Surd | Span | int] = {}
    for section, _run, flight in seen.stair_sections:
        gap_nm = underside_nm(seen, section)
        if (flight.name, gap_nm) not in spheres:
            rise, run = Fraction(flight.unit_rise_nm), Fraction(flight.unit_run_nm)
            sphere = triangle_sphere_nm(rise, run, flight.stair.nosing_nm, gap_nm)
            spheres[flight.name, gap_nm] = sphere
        diameter = spheres[flight.name, gap_nm]
        note = "Largest sphere in the triangle of riser, tread and bottom rail."
        if isinstance(diameter, Span):
            note += " The riser is too low to touch it, so that a larger one may pass."
        attributes: dict[str, Attribute] = {"place": "stair", "drop": seen.drops[section.name]}
        yield Measurement(section.name, diameter, attributes, note)


def underside_nm(seen: Inspection, section: Section) -> int:
    """Give the lowest part of a stair's guard above the nosing line, plumb. [nm]"""
    if isinstance(section.infill, PanelRow) and not has_bottom_rail(seen):
        return section.infill.low_nm
    return seen.layout.system.stair_bottom_gap_nm


def triangle_sphere_nm(
    rise_nm: Fraction, run_nm: Fraction, nosing_nm: int, gap_nm: int
) -> Surd | Span | int:
    """Give the largest sphere in the triangle of riser, tread and bottom rail, exactly.

    Args:
        rise_nm: Unit rise. [nm]
        run_nm: Unit run, nosing to nosing. [nm]
        nosing_nm: Projection of the nosing past the riser below. [nm]
        gap_nm: Nosing line to the underside of the rail, vertical. [nm]

    Returns:
        The diameter, or a span that it opens where the circle would touch beyond the real riser
        or tread, so that the triangle's circle is only a lower bound. [nm]

    Example:
        A sphere of exactly 6 in at a 7-1/2 in riser and a 10 in run, rail 1-1/2 in up:

        >>> INCH = 25_400_000
        >>> sphere = triangle_sphere_nm(Fraction(15 * INCH, 2), Fraction(10 * INCH), 0, 38_100_000)
        >>> compare_exactly(sphere, 6 * INCH)
        0
    """
    scale = (run_nm + nosing_nm) / run_nm + gap_nm / rise_nm
    if scale <= 0:
        return 0
    diameter = Surd(
        scale * (run_nm + rise_nm), -1, scale * scale * (rise_nm * rise_nm + run_nm * run_nm)
    )
    reach = 2 * min(rise_nm, run_nm + nosing_nm)
    beyond_reach = Surd(diameter.rational - reach, -1, diameter.square)
    return Span(diameter) if compare_exactly(beyond_reach, 0) > 0 else diameter
