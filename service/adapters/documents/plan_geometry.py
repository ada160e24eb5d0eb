"""Where the edges, stairs and runs of a level lie in plan, for drawing them. [nm]"""

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from service.domain.layout.deck import Edge, Level, Opening, OpeningKind, Point
from service.domain.layout.records import Layout, Run, StairPlan

Vector = tuple[float, float]


@dataclass(frozen=True, slots=True)
class EdgeLine:
    """An edge in plan with the unit vectors along it and away from the deck."""

    level: Level
    edge: Edge
    start: Point
    end: Point
    along: Vector
    outward: Vector
    length_nm: int


def unit(start: Point, end: Point) -> Vector:
    """Give the unit vector from one point to another, (1, 0) if they coincide."""
    length = math.dist(start, end)
    if not length:
        return (1.0, 0.0)
    return ((end[0] - start[0]) / length, (end[1] - start[1]) / length)


def signed_area(outline: Sequence[Point]) -> float:
    """Give twice the area, positive for an anticlockwise outline."""
    pairs = zip(outline, [*outline[1:], outline[0]], strict=True)
    return float(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs))


def edge_lines(level: Level) -> tuple[EdgeLine, ...]:
    """Give every edge of a level in plan."""
    hand = 1.0 if signed_area(level.outline) >= 0 else -1.0
    lines = []
    ends = [*level.outline[1:], level.outline[0]]
    for edge, start, end in zip(level.edges, level.outline, ends, strict=True):
        along = unit(start, end)
        outward = (hand * along[1], -hand * along[0])
        lines.append(
            EdgeLine(level, edge, start, end, along, outward, round(math.dist(start, end)))
        )
    return tuple(lines)


def moved_point(point: Point | Vector, *steps: tuple[Vector, float]) -> Vector:
    """Give a point displaced along unit vectors by lengths."""
    x, y = point
    for (dx, dy), length in steps:
        x, y = x + dx * length, y + dy * length
    return (x, y)


def stair_depth_nm(layout: Layout, plan: StairPlan) -> int:
    """Give the horizontal distance from the top nosing to the lowest one. [nm]"""
    stair = next((stair for stair in layout.deck.stairs if stair.name == plan.name), None)
    risers = stair.risers if stair else 1
    return plan.rake.run_nm * (risers - 1) // risers


def depth_beyond(layout: Layout, line: EdgeLine) -> int:
    """Give how far the stairs of an edge reach out from it, 0 without one. [nm]"""
    names = {o.name for o in line.edge.openings if o.kind is OpeningKind.STAIR}
    return max(
        (stair_depth_nm(layout, s) for s in layout.stairs
         if s.level == line.level.name and s.name in names),
        default=0,
    )  # fmt: skip


def by_edge(lines: Iterable[EdgeLine]) -> dict[tuple[str, int], list[EdgeLine]]:
    """Sort edges by level and number; the chords of an arc share both."""
    found: dict[tuple[str, int], list[EdgeLine]] = defaultdict(list)
    for line in lines:
        found[line.level.name, line.edge.number].append(line)
    return found


def run_outward(
    layout: Layout, lines: Mapping[tuple[str, int], Sequence[EdgeLine]], run: Run
) -> Vector:
    """Give the direction from a run towards its fall; ``lines`` are sorted by edge."""
    plan = next((stair for stair in layout.stairs if stair.name == run.stair), None)
    if plan is not None and run.side is not None:
        (left, right) = plan.top
        return unit(right, left) if run.side == "left" else unit(left, right)
    own = list(lines.get((run.level, run.edge), ()))
    if len(own) > 1:  # the chords of an arc
        ends = [post.at for post in layout.posts if post.name in (run.start, run.end)]
        own.sort(key=lambda line: max(_off(line, end) for end in ends))
    return own[0].outward if own else (0.0, -1.0)


def _off(line: EdgeLine, point: Point) -> float:
    """Give how far a point lies from the middle of an edge, along it. [nm]"""
    x = point[0] - (line.start[0] + line.end[0]) / 2
    y = point[1] - (line.start[1] + line.end[1]) / 2
    return abs(x * line.along[0] + y * line.along[1])


def opening_span(line: EdgeLine, opening: Opening) -> tuple[int, int]:
    """Give where an opening begins and ends along its edge. [nm]"""
    low = opening.offset_nm
    if low is None:
        low = (line.length_nm - opening.width_nm) // 2
    return low, low + opening.width_nm


def roomiest_point(outline: Sequence[Point], steps: int = 12) -> Vector:
    """Give an inside point of a polygon that lies far from all its edges, for its name."""
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    ends = [*outline[1:], outline[0]]
    sides = [(a, b, unit(a, b), math.dist(a, b)) for a, b in zip(outline, ends, strict=True)]
    best, best_room = (float(xs[0]), float(ys[0])), -1.0
    for i in range(1, steps):
        for j in range(1, steps):
            point = (
                min(xs) + (max(xs) - min(xs)) * i / steps,
                min(ys) + (max(ys) - min(ys)) * j / steps,
            )
            room = _room(point, sides)
            if room > best_room * 1.0001:
                best, best_room = point, room
    return best


def _room(point: Vector, sides: Sequence[tuple[Point, Point, Vector, float]]) -> float:
    """Give the distance from the nearest side, negative outside."""
    inside, nearest = False, math.inf
    for a, b, along, length in sides:
        x, y = point[0] - a[0], point[1] - a[1]
        if (a[1] > point[1]) != (b[1] > point[1]):
            inside ^= x < y * (b[0] - a[0]) / (b[1] - a[1])
        reach = min(max(x * along[0] + y * along[1], 0.0), length)
        nearest = min(nearest, math.hypot(x - along[0] * reach, y - along[1] * reach))
    return nearest if inside else -nearest
