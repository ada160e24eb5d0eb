"""From tape readings to a checked outline.

Source: the compass (Bowditch) rule and the closure of a traverse as taught in the US Navy
Engineering Aid courses (NAVEDTRA 14071, fig. 7-14); orientation by the signed (shoelace) area.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from service.domain.errors import InvalidGeometry, Where
from service.domain.layout.deck import Deck, Level, Opening, Point
from service.domain.lengths import INCH, mm_of, snap_mm

# A misclosure above this is a tape blunder, not a rounding: the larger of 1/4 in and 1:500 of the
# perimeter (judgement, no standard).
CLOSURE_FLOOR_NM = INCH // 4
CLOSURE_RATIO = 500
SHORTEST_EDGE_NM = 2 * INCH
SHARPEST_CORNER_DEG = 15.0


def outline_of_sides(sides: Sequence[tuple[int, float]], where: Where = ()) -> tuple[Point, ...]:
    """Turn taped sides and turning angles into vertices, sharing out the misclosure.

    The first side starts at the origin and runs along x; each angle is the turn at the end of its
    side, left positive. What is missing at the end is spread over the sides in proportion to
    their lengths (compass rule).

    Args:
        sides: (n, 2) side length [nm] and turn at its end [deg].
        where: Place of the outline in the request.

    Returns:
        (n, 2) vertices, the first at the origin, not closed. [nm]

    Raises:
        InvalidGeometry: Fewer than three sides, or the sides do not close within tolerance.
    """
    if len(sides) < 3:
        raise InvalidGeometry(
            "an outline needs at least three sides", where=where, advice="Send every side."
        )
    xs, ys, heading = [0.0], [0.0], 0.0
    for length_nm, turn_deg in sides:
        xs.append(xs[-1] + mm_of(length_nm) * math.cos(math.radians(heading)))
        ys.append(ys[-1] + mm_of(length_nm) * math.sin(math.radians(heading)))
        heading += turn_deg
    perimeter_nm = sum(length for length, _ in sides)
    _refuse_blunder(math.hypot(xs[-1], ys[-1]), perimeter_nm, where)
    gone_nm, vertices = 0, []
    for index, (length_nm, _) in enumerate(sides):
        share = gone_nm / perimeter_nm
        vertices.append((snap_mm(xs[index] - share * xs[-1]), snap_mm(ys[index] - share * ys[-1])))
        gone_nm += length_nm
    return tuple(vertices)


def _refuse_blunder(misclosure_mm: float, perimeter_nm: int, where: Where) -> None:
    allowed_nm = max(CLOSURE_FLOOR_NM, perimeter_nm // CLOSURE_RATIO)
    if misclosure_mm > mm_of(allowed_nm):
        raise InvalidGeometry(
            f"the sides and turns miss their starting point by {misclosure_mm:.1f} mm, more than "
            f"the {mm_of(allowed_nm):.1f} mm that taping explains",
            where=where,
            advice="Check that each turn is the angle at the end of its side, left turns positive, "
            "and tape the sides again.",
        )


def check_deck(deck: Deck) -> Deck:
    """Give the deck with every outline simple, anticlockwise and not closed twice.

    Raises:
        InvalidGeometry: An outline is no simple polygon, or is too small or too sharp to be a deck.
    """
    return replace(deck, levels=tuple(_check_level(level) for level in deck.levels))


def _check_level(level: Level) -> Level:
    where: Where = ("deck", "levels", level.index, "outline")
    if len(level.outline) < 3:
        raise InvalidGeometry(
            f"level {level.name} has {len(level.outline)} corners; a deck has at least three",
            element=f"level {level.name}",
            where=where,
            advice="Send every corner once, in order round the deck.",
        )
    _refuse_small_or_sharp(level, where)
    _refuse_crossing(level, where)
    return level if _twice_area(level.outline) > 0 else _reversed(level)


def _twice_area(outline: Sequence[Point]) -> int:
    following = (*outline[1:], outline[0])
    return sum(ax * by - bx * ay for (ax, ay), (bx, by) in zip(outline, following, strict=True))


def _reversed(level: Level) -> Level:
    """Walk a clockwise outline the other way; edge numbers stay the caller's."""
    outline = tuple(reversed(level.outline))
    lengths = list(_edge_lengths(level.outline))
    edges = [
        replace(edge, openings=_mirrored(edge.openings, length))
        for edge, length in zip(level.edges, lengths, strict=True)
    ]
    edges.reverse()
    return replace(level, outline=outline, edges=(*edges[1:], edges[0]))


def _mirrored(openings: tuple[Opening, ...], edge_nm: int) -> tuple[Opening, ...]:
    turned = [
        o if o.offset_nm is None else replace(o, offset_nm=edge_nm - o.offset_nm - o.width_nm)
        for o in openings
    ]
    return tuple(reversed(turned))


def _edge_lengths(outline: Sequence[Point]) -> Iterator[int]:
    for (ax, ay), (bx, by) in zip(outline, (*outline[1:], outline[0]), strict=True):
        yield snap_mm(math.hypot(mm_of(bx - ax), mm_of(by - ay)))


def _refuse_small_or_sharp(level: Level, where: Where) -> None:
    outline, count = level.outline, len(level.outline)
    headings = []
    for index, length_nm in enumerate(_edge_lengths(outline)):
        if length_nm < SHORTEST_EDGE_NM:
            raise InvalidGeometry(
                f"edge {level.edges[index].number} of level {level.name} is only "
                f"{mm_of(length_nm):.1f} mm long",
                element=f"level {level.name}, edge {level.edges[index].number}",
                where=(*where[:3], "edges", level.edges[index].number - 1),
                advice="Leave out corners that repeat; do not close the outline twice.",
            )
        (ax, ay), (bx, by) = outline[index], outline[(index + 1) % count]
        headings.append(math.atan2(by - ay, bx - ax))
    for index, heading in enumerate(headings):
        turn = math.degrees(math.remainder(heading - headings[index - 1], math.tau))
        if abs(turn) > 180.0 - SHARPEST_CORNER_DEG:
            raise InvalidGeometry(
                f"the corner at the start of edge {level.edges[index].number} of level "
                f"{level.name} is sharper than {SHARPEST_CORNER_DEG:g} degrees",
                element=f"level {level.name}, edge {level.edges[index].number}",
                where=(*where[:3], "edges", level.edges[index].number - 1),
                advice="Check the order of the corners; a post cannot stand in so sharp a corner.",
            )


def _refuse_crossing(level: Level, where: Where) -> None:
    """Sweep the edges from left to right and compare only those that overlap in x."""
    outline, count = level.outline, len(level.outline)
    spans = sorted((min(outline[i][0], outline[(i + 1) % count][0]), i) for i in range(count))
    active: list[int] = []
    for left, index in spans:
        active = [i for i in active if max(outline[i][0], outline[(i + 1) % count][0]) >= left]
        for other in active:
            if abs(other - index) in (0, 1, count - 1):
                continue
            if _touch(_ends(outline, index), _ends(outline, other)):
                first, second = sorted((level.edges[index].number, level.edges[other].number))
                raise InvalidGeometry(
                    f"edges {first} and {second} of level {level.name} cross or touch",
                    element=f"level {level.name}, edge {first}",
                    where=where,
                    advice="Send the corners in order round the deck; split a deck that touches "
                    "itself into two levels.",
                )
        active.append(index)


def _ends(outline: Sequence[Point], index: int) -> tuple[Point, Point]:
    return outline[index], outline[(index + 1) % len(outline)]


def _touch(one: tuple[Point, Point], other: tuple[Point, Point]) -> bool:
    """Tell whether two segments share a point, exactly (integer orientation test)."""
    (a, b), (c, d) = one, other
    turns = (_turn(c, d, a), _turn(c, d, b), _turn(a, b, c), _turn(a, b, d))
    if turns[0] * turns[1] < 0 and turns[2] * turns[3] < 0:
        return True
    return any(
        turn == 0 and _within(segment, point)
        for turn, segment, point in zip(turns, (other, other, one, one), (a, b, c, d), strict=True)
    )


def _turn(a: Point, b: Point, c: Point) -> int:
    cross = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    return (cross > 0) - (cross < 0)


def _within(segment: tuple[Point, Point], point: Point) -> bool:
    (ax, ay), (bx, by) = segment
    return min(ax, bx) <= point[0] <= max(ax, bx) and min(ay, by) <= point[1] <= max(ay, by)
