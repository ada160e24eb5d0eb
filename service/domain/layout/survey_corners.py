"""Corners that are none: an outline closed twice, and corners in a straight line."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from service.domain.errors import InvalidGeometry
from service.domain.layout.deck import Edge, Level, Opening, Point
from service.domain.layout.edge_plan import AT_CORNER_NM
from service.domain.lengths import MILLIMETRE, mm_of, snap_mm

# A corner this near to the straight line between its neighbours is an error of the tape, not a
# bend (judgement, no standard).
STRAIGHT_NM = 3 * MILLIMETRE


def drop_closing_corner(level: Level) -> tuple[Level, tuple[str, ...]]:
    """Leave out a last corner that is the first one again, and the edge of no length after it.

    Raises:
        InvalidGeometry: That edge is said to hold an opening, or the edges do not go round.
    """
    outline, edges = level.outline, level.edges
    notes: tuple[str, ...] = ()
    if len(outline) > 3 and outline[0] == outline[-1]:
        outline = outline[:-1]
        if len(edges) == len(outline) + 1:
            if edges[-1].openings or edges[-1].sagitta_nm:
                raise InvalidGeometry(
                    f"edge {edges[-1].number} of level {level.name} has no length, but something "
                    "in it",
                    element=f"level {level.name}, edge {edges[-1].number}",
                    where=level.where(edges[-1]),
                    advice="Send each corner once; the outline closes by itself.",
                )
            edges = edges[:-1]
        note = f"Level {level.name}: its last corner is the first one again and was left out."
        level, notes = replace(level, outline=outline, edges=edges), (note,)
    if len(level.edges) != len(level.outline):
        raise InvalidGeometry(
            f"level {level.name} has {len(level.edges)} edges for {len(level.outline)} corners",
            element=f"level {level.name}",
            where=(*level.where(), "edges"),
            advice="Give one edge for each corner, from it to the next.",
        )
    return level, notes


class _Sleeve(NamedTuple):
    """Directions in which a line from the last corner kept passes every corner left out. [rad]"""

    low: float
    high: float


@dataclass
class _Kept:
    """The edge that grows while corners are left out; its openings by place along it. [nm]"""

    index: int
    start: Point
    edge: Edge
    joined: list[int]
    openings: list[tuple[Point, Opening]]


def merge_straight_corners(level: Level) -> tuple[Level, tuple[str, ...]]:
    """Make one edge of edges in a straight line that differ in nothing.

    A corner goes if it lies within 3 mm of the straight line between the corners kept, its two
    edges are of one kind, guard, fall height and no arc, and no opening meets it. The edge keeps
    the number of its first part and every opening its place.

    Args:
        level: No edge of it is shorter than an inch or folds back onto the one before.
    """
    outline, edges = level.outline, level.edges
    count = len(outline)
    first = max(range(count), key=lambda i: (abs(_turn_at(outline, i)), -i))
    order = [(first + i) % count for i in range(count)]
    kept: list[_Kept] = []
    sleeve: _Sleeve | None = None
    for index in order:
        edge, start = edges[index], outline[index]
        openings = list(_placed(level, index))
        onto = outline[(index + 1) % count]
        narrower = None
        if kept and _one_edge(level, index):
            narrower = _through(sleeve, kept[-1].start, start, onto)
        if narrower is None:
            kept.append(_Kept(index, start, edge, [edge.number], openings))
        else:
            kept[-1].joined.append(edge.number)
            kept[-1].openings += openings
        sleeve = narrower
    if len(kept) == count:
        return level, ()
    lead = min(range(len(kept)), key=lambda i: kept[i].index)
    kept = kept[lead:] + kept[:lead]
    return _rebuilt(level, kept), tuple(_notes(level, kept))


def _turn_at(outline: Sequence[Point], index: int) -> float:
    (ax, ay), (bx, by) = outline[index - 1], outline[index]
    cx, cy = outline[(index + 1) % len(outline)]
    turn = math.atan2(cy - by, cx - bx) - math.atan2(by - ay, bx - ax)
    return math.remainder(turn, math.tau)


def _placed(level: Level, index: int) -> Iterator[tuple[Point, Opening]]:
    """Give each opening of an edge with the plan point where it begins."""
    (ax, ay), (bx, by) = level.outline[index], level.outline[(index + 1) % len(level.outline)]
    length_nm = _length_nm((ax, ay), (bx, by))
    for opening in level.edges[index].openings:
        low_nm = _low_nm(opening, length_nm)
        part = low_nm / length_nm
        yield (round(ax + (bx - ax) * part), round(ay + (by - ay) * part)), opening


def _length_nm(a: Point, b: Point) -> int:
    return snap_mm(math.hypot(mm_of(b[0] - a[0]), mm_of(b[1] - a[1])))


def _low_nm(opening: Opening, length_nm: int) -> int:
    if opening.offset_nm is None:
        return (length_nm - opening.width_nm) // 2
    return opening.offset_nm


def _one_edge(level: Level, index: int) -> bool:
    """Tell whether the edges that meet at a vertex differ in nothing and leave it free."""
    before, after = level.edges[index - 1], level.edges[index]
    if before.sagitta_nm or after.sagitta_nm:
        return False
    if (before.kind, before.guarded, before.fall_height_nm, before.falls) != (
        after.kind,
        after.guarded,
        after.fall_height_nm,
        after.falls,
    ):
        return False
    outline = level.outline
    for edge, start, end, from_end in (
        (before, outline[index - 1], outline[index], True),
        (after, outline[index], outline[(index + 1) % len(outline)], False),
    ):
        length_nm = _length_nm(start, end)
        for opening in edge.openings:
            low_nm = _low_nm(opening, length_nm)
            high_nm = low_nm + opening.width_nm
            if low_nm < 0 or high_nm > length_nm:  # refused later, with its own edge's number
                return False
            if (length_nm - high_nm if from_end else low_nm) <= AT_CORNER_NM:
                return False
    return True


def _through(sleeve: _Sleeve | None, start: Point, corner: Point, onto: Point) -> _Sleeve | None:
    """Narrow the sleeve by one more corner; None if the line to the next one leaves it."""
    ahead = (corner[0] - start[0], corner[1] - start[1])
    beyond = (onto[0] - corner[0], onto[1] - corner[1])
    if ahead[0] * beyond[0] + ahead[1] * beyond[1] <= 0:
        return None
    heading = math.atan2(ahead[1], ahead[0])
    spread = math.asin(min(1.0, STRAIGHT_NM / math.hypot(*ahead)))
    low, high = heading - spread, heading + spread
    if sleeve is not None:
        shift = math.tau * round((heading - (sleeve.low + sleeve.high) / 2) / math.tau)
        low, high = max(low - shift, sleeve.low), min(high - shift, sleeve.high)
    line = math.atan2(onto[1] - start[1], onto[0] - start[0])
    line += math.tau * round(((low + high) / 2 - line) / math.tau)
    return _Sleeve(low, high) if low <= line <= high else None


def _rebuilt(level: Level, kept: Sequence[_Kept]) -> Level:
    edges = []
    for part, following in zip(kept, (*kept[1:], kept[0]), strict=True):
        if len(part.joined) == 1:
            edges.append(part.edge)
            continue
        (ax, ay), (bx, by) = part.start, following.start
        length_nm = _length_nm(part.start, following.start)
        ux, uy = mm_of(bx - ax) / mm_of(length_nm), mm_of(by - ay) / mm_of(length_nm)
        openings = []
        for (x, y), opening in part.openings:
            along_nm = snap_mm(mm_of(x - ax) * ux + mm_of(y - ay) * uy)
            last_nm = length_nm - opening.width_nm
            openings.append(replace(opening, offset_nm=max(0, min(along_nm, last_nm))))
        edges.append(replace(part.edge, openings=tuple(openings)))
    outline = tuple(part.start for part in kept)
    return replace(level, outline=outline, edges=tuple(edges))


def _notes(level: Level, kept: Sequence[_Kept]) -> Iterator[str]:
    for part in kept:
        if len(part.joined) > 1:
            numbers = ", ".join(map(str, part.joined[:-1])) + f" and {part.joined[-1]}"
            yield (
                f"Level {level.name}: edges {numbers} lie in a straight line to within "
                f"{mm_of(STRAIGHT_NM):g} mm and are built as one, edge {part.joined[0]}."
            )
