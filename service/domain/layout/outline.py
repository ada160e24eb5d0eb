"""Edges of an outline as directed lines, and the post line that runs beside them.

Along-edge positions are whole nanometres from the edge's first vertex. The post line lies at a
signed distance from the edge: positive to the inside (surface mount), negative to the outside
(fascia mount).
"""

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

from service.domain.layout.deck import Level, Point
from service.domain.lengths import mm_of, snap_mm
from service.domain.record import record

# Two edges that turn less than this are one straight line for the meeting of their post lines.
STRAIGHT_DEG = 0.01


@record(frozen=True, slots=True)
class EdgeLine:
    """One edge as a directed line.

    Attributes:
        start: Its first vertex. [nm]
        length_nm: Vertex to vertex. [nm]
        ux, uy: Unit vector along it; its inward normal is (-uy, ux).
    """

    start: Point
    length_nm: int
    ux: float
    uy: float

    @property
    def heading_deg(self) -> float:
        """Direction in plan, anticlockwise from x. [deg]"""
        return math.degrees(math.atan2(self.uy, self.ux))

    def point(self, along_nm: int, inward_nm: int) -> Point:
        """Give the plan point at a distance along and inwards. [nm]"""
        along, inward = mm_of(along_nm), mm_of(inward_nm)
        x, y = mm_of(self.start[0]), mm_of(self.start[1])
        return (
            snap_mm(x + along * self.ux - inward * self.uy),
            snap_mm(y + along * self.uy + inward * self.ux),
        )

    def local(self, point: Point) -> tuple[int, int]:
        """Give how far along and how far inwards a plan point lies. [nm]"""
        dx, dy = mm_of(point[0] - self.start[0]), mm_of(point[1] - self.start[1])
        return snap_mm(dx * self.ux + dy * self.uy), snap_mm(dy * self.ux - dx * self.uy)


def edge_lines(level: Level) -> tuple[EdgeLine, ...]:
    """Give the level's edges as directed lines, (n,) in the order of its outline."""
    lines = []
    count = len(level.outline)
    for index, (ax, ay) in enumerate(level.outline):
        bx, by = level.outline[(index + 1) % count]
        dx, dy = mm_of(bx - ax), mm_of(by - ay)
        length = math.hypot(dx, dy)
        lines.append(EdgeLine((ax, ay), snap_mm(length), dx / length, dy / length))
    return tuple(lines)


def turn_deg(before: EdgeLine, after: EdgeLine) -> float:
    """Give the turn from one edge to the next, left positive, in (-180, 180]. [deg]"""
    cross = before.ux * after.uy - before.uy * after.ux
    dot = before.ux * after.ux + before.uy * after.uy
    return math.degrees(math.atan2(cross, dot))


def corner_along(before: EdgeLine, after: EdgeLine, inward_nm: int) -> tuple[int, int]:
    """Say where the post lines of two meeting edges cross.

    Both post lines are the same distance d inside, so they meet d tan(turn / 2) before the end of
    one edge and as far behind the start of the other.

    Returns:
        Position along the edge before, and along the edge after. [nm]
    """
    turn = turn_deg(before, after)
    if abs(turn) < STRAIGHT_DEG:
        return before.length_nm, 0
    shift_nm = snap_mm(mm_of(inward_nm) * math.tan(math.radians(turn) / 2))
    return before.length_nm - shift_nm, shift_nm


def wall_along(edge: EdgeLine, turn: float, inward_nm: int, half_nm: int, gap_nm: int) -> int:
    """Say how far from a wall the centre of an end post stands, along its own edge.

    A square post, its faces along the edge, reaches half_nm (|cos| + |sin|) towards the wall; the
    clear gap is measured square to the wall. Where the wall meets the edge at more than 150
    degrees inside, it cannot stand beside the post, and the gap is measured along the edge.

    Args:
        edge: The open edge.
        turn: Turn between wall and edge at their common vertex, left positive. [deg]
        inward_nm: Distance of the post line from the edge. [nm]
        half_nm: Half the post's width. [nm]
        gap_nm: Clear gap to leave. [nm]
    """
    interior = 180.0 - turn
    if interior > 150.0:
        return gap_nm + half_nm
    angle = math.radians(interior)
    reach = mm_of(half_nm) * (abs(math.cos(angle)) + math.sin(angle))
    # A point (along, inward) is along sin(a) - inward cos(a) away from the wall's line.
    needed = mm_of(gap_nm) + reach + mm_of(inward_nm) * math.cos(angle)
    return min(snap_mm(needed / math.sin(angle)), edge.length_nm)


@lru_cache(maxsize=256)
def two_post_shift_nm(turn: float, half_nm: int, gap_nm: int) -> int:
    """Say how far from a corner of the post line each of its two posts stands.

    Each square post lies along its own edge; the clear gap between the two is what is asked.

    Args:
        turn: Turn at the corner. [deg]
        half_nm: Half the width of a post. [nm]
        gap_nm: Clear gap between the posts. [nm]
    """
    half, gap = mm_of(half_nm), mm_of(gap_nm)
    angle = math.radians(turn)
    near, far = 0.0, (4 * half + gap) / math.cos(angle / 2)
    for _ in range(60):
        middle = (near + far) / 2
        one = _square(-middle, 0.0, 0.0, half)
        other = _square(middle * math.cos(angle), middle * math.sin(angle), angle, half)
        if convex_overlap(one, other) or _distance(one, other) < gap:
            near = middle
        else:
            far = middle
    return snap_mm(far)


Corners = Sequence[tuple[float, float]]


def _square(x: float, y: float, angle: float, half: float) -> Corners:
    c, s = half * math.cos(angle), half * math.sin(angle)
    return [
        (x + c - s, y + s + c),
        (x - c - s, y - s + c),
        (x - c + s, y - s - c),
        (x + c + s, y + s - c),
    ]


def convex_overlap(one: Corners, other: Corners) -> bool:
    """Tell whether two convex shapes share ground: no edge direction separates them."""
    for shape in (one, other):
        for (ax, ay), (bx, by) in pairwise((*shape, shape[0])):
            nx, ny = by - ay, ax - bx
            mine = [nx * x + ny * y for x, y in one]
            theirs = [nx * x + ny * y for x, y in other]
            if max(mine) <= min(theirs) or max(theirs) <= min(mine):
                return False
    return True


def _distance(one: Corners, other: Corners) -> float:
    return min(
        _to_segment(point, a, b)
        for points, shape in ((one, other), (other, one))
        for point in points
        for a, b in pairwise((*shape, shape[0]))
    )


def _to_segment(
    point: tuple[float, float], a: tuple[float, float], b: tuple[float, float]
) -> float:
    (px, py), (ax, ay), (bx, by) = point, a, b
    dx, dy = bx - ax, by - ay
    along = ((px - ax) * dx + (py - ay) * dy) / (dx * dx + dy * dy)
    along = min(1.0, max(0.0, along))
    return math.hypot(px - ax - along * dx, py - ay - along * dy)
