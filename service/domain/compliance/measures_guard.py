"""Measures of guards: where one is needed, how high it stands, what fits through it.

The height of the rails above the walking surface and above the nosing line is a dimension of the
system that every section is built to; the layout's records carry it there and nowhere else.
"""

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from service.domain.compliance.elements import (
    drops_nm,
    edge_name,
    open_edges,
    sections_with_runs,
    stair_drop_nm,
    stair_runs,
    stairs,
)
from service.domain.compliance.exact import Span, Surd, compare_exactly
from service.domain.compliance.measurement import Measurement
from service.domain.layout.deck import EdgeKind, OpeningKind
from service.domain.layout.records import Layout, Section
from service.domain.layout.system import Mount

UNDER_RAIL = "under the bottom rail"
BETWEEN_PICKETS = "between pickets"
PICKET_TO_POST = "picket to post"


def guard_needs(layout: Layout) -> Iterator[Measurement]:
    """Measure the drop along each open edge and stair side, and whether a guard stands there."""
    guarded = {(run.level, run.edge) for run in layout.runs if not run.stair}
    for level, edge in open_edges(layout):
        present: bool | None = (level.name, edge.number) in guarded
        notes = [] if edge.fall_height_nm is not None else ["The fall height was not taped."]
        if edge.kind is EdgeKind.EXISTING:
            present = None
            notes.append("What already stands here is not described.")
        elif not present and edge.guarded and edge.openings:
            present = True
            notes.append("Stairs or gates take up this edge.")
        yield Measurement(
            edge_name(level.name, edge.number),
            edge.fall_height_nm,
            {"drop": edge.fall_height_nm, "place": "level"},
            " ".join(notes),
            present,
        )
    for stair, plan in stairs(layout):
        railed = stair_runs(layout, stair.name)
        drop = stair_drop_nm(stair, plan)
        for side in sorted(stair.open_sides):
            yield Measurement(
                stair.name,
                drop,
                {"drop": drop, "place": "stair"},
                f"Beside the highest tread, {side} side, the ground there taken level with the "
                "foot of the stair.",
                side in railed,
            )


def _gates(layout: Layout) -> Iterator[Measurement]:
    """Name each gate, of which the layout holds the posts and not the leaf."""
    for level, edge in open_edges(layout):
        for opening in edge.openings:
            if opening.kind is OpeningKind.GATE:
                yield Measurement(
                    opening.name,
                    None,
                    {"place": "level", "drop": edge.fall_height_nm, "risers": 0},
                    f"Gate in {edge_name(level.name, edge.number)}: its leaf and gaps are not "
                    "described.",
                )


def guard_heights(layout: Layout) -> Iterator[Measurement]:
    """Measure the top of the top rail above the walking surface or the nosing line."""
    drops = drops_nm(layout)
    taped = {stair.name: stair for stair in layout.deck.stairs}
    for section, _run in sections_with_runs(layout, raked=False):
        yield Measurement(
            section.name,
            layout.system.guard_height_nm,
            {"place": "level", "drop": drops[section.name], "risers": 0},
        )
    yield from _gates(layout)
    for section, run in sections_with_runs(layout, raked=True):
        yield Measurement(
            section.name,
            layout.system.stair_guard_height_nm,
            {
                "place": "stair",
                "drop": drops[section.name],
                "risers": taped[run.stair].risers,
            },
        )


def clear_openings(layout: Layout) -> Iterator[Measurement]:
    """Measure the largest clear opening of each kind in each section and beside each post.

    Gaps between uprights are taken from the pickets' own places as well as from the layout's
    list. On a stair they are horizontal, and the triangle under the rail is measured apart.
    """
    drops = drops_nm(layout)
    largest: dict[tuple[str, str, bool], int | Fraction] = {}
    for element, place, clear, on_stair in _openings(layout):
        key = (element, place, on_stair)
        largest[key] = max(largest.get(key, clear), clear)
    for (element, place, on_stair), clear in largest.items():
        yield Measurement(
            element,
            clear,
            {"place": "stair" if on_stair else "level", "drop": drops.get(element)},
            f"Largest opening {place}." if place == BETWEEN_PICKETS else f"Opening {place}.",
        )
    yield from _gates(layout)


def _openings(layout: Layout) -> Iterator[tuple[str, str, int | Fraction, bool]]:
    for opening in layout.openings:
        if not (opening.on_stair and opening.place == UNDER_RAIL):
            yield opening.element, opening.place, opening.clear_nm, opening.on_stair
    for raked in (False, True):
        for section, _run in sections_with_runs(layout, raked=raked):
            for place, clear in _gaps_of(section, layout.system.post_width_nm):
                yield section.name, place, clear, raked
            if not raked:
                yield section.name, UNDER_RAIL, layout.system.bottom_gap_nm, False


def _gaps_of(section: Section, post_width_nm: int) -> Iterator[tuple[str, int | Fraction]]:
    pickets, posts = section.pickets, set(section.line_posts_nm)
    standing = set(pickets.centres_nm) - set(pickets.removed_nm) - posts
    if not standing:
        return
    for left, right in pairwise(sorted(standing | posts)):
        widths = sum(post_width_nm if c in posts else pickets.width_nm for c in (left, right))
        place = PICKET_TO_POST if posts & {left, right} else BETWEEN_PICKETS
        yield place, right - left - Fraction(widths, 2)
    for gap in pickets.end_gaps_nm:
        yield PICKET_TO_POST, gap


def stair_triangles(layout: Layout) -> Iterator[Measurement]:
    """Measure the largest sphere between riser, tread and the underside of the bottom rail.

    Diameter = (t + r - sqrt(r^2 + t^2)) k with k = (t + n)/t + v/r, for unit rise r, unit run t,
    nosing projection n and the rail's underside v above the nosing line, upright: the inscribed
    circle of a right triangle similar to (t, r).

    Where a low riser lets the circle reach the nosing above it, less passes than is measured here.

    Source: inradius of a right triangle; derived, and checked against a numerical search for the
    largest circle on the stepped profile.
    """
    drops = drops_nm(layout)
    taped = {stair.name: stair for stair in layout.deck.stairs}
    for section, run in sections_with_runs(layout, raked=True):
        stair = taped[run.stair]
        rake = section.rake or run.rake
        attributes = {"place": "stair", "drop": drops[section.name]}
        if rake is None:
            yield Measurement(section.name, None, attributes, "The section has no rake.")
            continue
        diameter = triangle_sphere_nm(
            Fraction(rake.rise_nm, stair.risers),
            Fraction(rake.run_nm, stair.risers),
            stair.nosing_nm,
            layout.system.stair_bottom_gap_nm,
        )
        note = "Largest sphere in the triangle of riser, tread and bottom rail."
        if isinstance(diameter, Span):
            note += " The riser is too low to touch it, so that a larger one may pass."
        yield Measurement(section.name, diameter, attributes, note)


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


def undescribed_edges(layout: Layout) -> Iterator[Measurement]:
    """Name each open edge, for what one fall height does not tell of the ground beside it."""
    for level, edge in open_edges(layout):
        yield Measurement(edge_name(level.name, edge.number), None)


def undescribed_guards(layout: Layout) -> Iterator[Measurement]:
    """Name the guard of the deck, for what the layout does not hold of it, as its strength."""
    if layout.sections:
        yield Measurement("deck", None, {"mount": _mount(layout)})


def undescribed_deck(layout: Layout) -> Iterator[Measurement]:
    """Name the deck itself, whose framing the layout does not hold."""
    yield Measurement("deck", None)


def _mount(layout: Layout) -> str:
    return "top" if layout.system.mount is Mount.SURFACE else "side"
