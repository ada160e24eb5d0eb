"""A level's joists and rim in joist coordinates, and what lies where between them.

Joist coordinates are float millimetres: u along the joists, v square to them and growing from the
outline's leftmost corner (its lowest where the joists run along x). They never leave the modules
that reckon with them; records are snapped to nanometres.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from service.domain.layout.deck import Level, Point
from service.domain.layout.framing import Framing
from service.domain.layout.outline import corner_along, edge_lines
from service.domain.lengths import mm_of, snap_mm

UV = tuple[float, float]
Segment = tuple[UV, UV]

# Plan positions are rounded to a nanometre and then turned; nothing finer is told apart. [mm]
HAIR = 1e-5


@dataclass(frozen=True, slots=True)
class Hit:
    """What a line through a bay meets.

    Attributes:
        away: Distance along the line; infinite where it meets nothing. [mm]
        timber: "rim", "joist 3" or "".
        off_square_deg: Turn of that face from square to the line, anticlockwise in plan. [deg]
    """

    away: float
    timber: str
    off_square_deg: float


@dataclass(frozen=True)
class JoistField:
    """The timber of one level.

    Attributes:
        along: Unit vector of u in plan.
        across: Unit vector of v in plan.
        outer: The rim's outer face as a polygon.
        inner: The rim's inner face as a polygon; joists and blocks lie within.
        first: v of the first joist's centre.
        outer_near, inner_near: Sides of both polygons that distances and lines are reckoned to.
    """

    framing: Framing
    along: UV
    across: UV
    outer: tuple[UV, ...]
    inner: tuple[UV, ...]
    first: float
    outer_near: tuple[Segment, ...] = field(default=())
    inner_near: tuple[Segment, ...] = field(default=())

    @property
    def half(self) -> float:
        """Half a joist's thickness. [mm]"""
        return mm_of(self.framing.joist_thickness_nm) / 2

    @property
    def spacing(self) -> float:
        """Joists centre to centre. [mm]"""
        return mm_of(self.framing.spacing_nm)

    def to_uv(self, at: Point) -> UV:
        """Turn a plan position into joist coordinates."""
        x, y = mm_of(at[0]), mm_of(at[1])
        return (
            x * self.along[0] + y * self.along[1],
            x * self.across[0] + y * self.across[1],
        )

    def to_plan(self, place: UV) -> Point:
        """Turn joist coordinates into a plan position. [nm]"""
        u, v = place
        return (
            snap_mm(u * self.along[0] + v * self.across[0]),
            snap_mm(u * self.along[1] + v * self.across[1]),
        )

    def centre(self, joist: int) -> float:
        """Give the v of a joist's centre; joists count from 0."""
        return self.first + joist * self.spacing

    def joist_at(self, v: float) -> int | None:
        """Name the joist whose strip holds v, if any."""
        joist = max(0, round((v - self.first) / self.spacing))
        return joist if abs(v - self.centre(joist)) <= self.half else None

    def bay_at(self, v: float) -> int:
        """Number the bay at v by the joist before it; -1 lies before the first joist."""
        return max(-1, math.floor((v - self.first) / self.spacing))

    def _joists_between(self, low: float, high: float) -> range:
        """Give the joists whose strips overlap an interval of v."""
        first = math.floor((low - self.half - self.first) / self.spacing) + 1
        last = math.ceil((high + self.half - self.first) / self.spacing) - 1
        return range(max(0, first), max(0, last + 1))

    def near(self, place: UV, radius: float) -> "JoistField":
        """Give the same timber with only the rim within a distance of a place to reckon with."""
        return replace(
            self,
            outer_near=tuple(_within(self.outer, place, radius)),
            inner_near=tuple(_within(self.inner, place, radius)),
        )

    def _rim_pieces_near(self) -> Iterable[tuple[UV, ...]]:
        """Give the rim along each edge nearby, mitred at its corners, as four corners."""
        nearby = {*self.outer_near, *self.inner_near}
        for mine, theirs in zip(sides(self.outer), sides(self.inner), strict=True):
            if mine in nearby or theirs in nearby:
                yield (*mine, theirs[1], theirs[0])

    def reach(self, start: UV, way: UV) -> Hit:
        """Find the first joist face or rim face on a line from a place between joists.

        Args:
            start: A place inside the rim and in no joist.
            way: Unit vector of the line.
        """
        found = [Hit(math.inf, "", 0.0)]
        for a, b in self.inner_near:
            away = _crossing(start, way, a, b)
            if away is not None:
                side = (b[0] - a[0], b[1] - a[1])
                found.append(Hit(away, "rim", self._off_square(way, side)))
        if abs(way[1]) > HAIR:
            joist = self.bay_at(start[1]) + (1 if way[1] > 0 else 0)
            if joist >= 0:
                face = self.centre(joist) - math.copysign(self.half, way[1])
                away = (face - start[1]) / way[1]
                found.append(Hit(away, f"joist {joist + 1}", self._off_square(way, (1.0, 0.0))))
        return min(found, key=lambda hit: hit.away)

    def timber_under(self, plate: Sequence[UV]) -> tuple[str, ...]:
        """Name the timber that a convex polygon covers a part of."""
        found = []
        if any(_overlap(plate, piece) for piece in self._rim_pieces_near()):
            found.append("rim")
        low, high = min(v for _, v in plate), max(v for _, v in plate)
        for joist in self._joists_between(low, high):
            centre = self.centre(joist)
            strip = _clipped(plate, centre - self.half, centre + self.half)
            if strip and self._reaches_in(strip):
                found.append(f"joist {joist + 1}")
        return tuple(found)

    def _reaches_in(self, strip: Sequence[UV]) -> bool:
        """Tell whether any of a convex piece lies inside the rim's inner face."""
        if not self.inner_near:
            return inside(strip[0], self.inner)
        return abs(_area(_cut_to(self.inner, strip))) > HAIR

    def _off_square(self, way: UV, side: UV) -> float:
        hand = self.along[0] * self.across[1] - self.along[1] * self.across[0]
        along = way[0] * side[0] + way[1] * side[1]
        across = way[0] * side[1] - way[1] * side[0]
        return -math.degrees(math.atan(along / across)) * hand + 0.0


def joist_field(level: Level) -> JoistField | None:
    """Give the timber of a level, or None where its framing was not taped."""
    framing = level.framing
    if framing is None:
        return None
    turned = math.radians(framing.joist_deg % 180.0)
    along = (math.cos(turned), math.sin(turned))
    across = (along[1], -along[0]) if along[1] > HAIR else (0.0, 1.0)
    outer_nm = framing.overhang_nm
    bare = JoistField(framing, along, across, (), (), 0.0)
    corners = [bare.to_uv(at) for at in level.outline]
    return JoistField(
        framing=framing,
        along=along,
        across=across,
        outer=_inset(bare, level, outer_nm),
        inner=_inset(bare, level, outer_nm + framing.rim_thickness_nm),
        first=min(v for _, v in corners) + mm_of(framing.first_joist_nm),
    )


def _inset(field: JoistField, level: Level, inward_nm: int) -> tuple[UV, ...]:
    lines = edge_lines(level)
    corners = []
    for index, after in enumerate(lines):
        _, along_nm = corner_along(lines[index - 1], after, inward_nm)
        corners.append(field.to_uv(after.point(along_nm, inward_nm)))
    return tuple(corners)


def sides(polygon: Sequence[UV]) -> Iterable[Segment]:
    """Give the sides of a polygon."""
    return zip(polygon, (*polygon[1:], polygon[0]), strict=True)


def inside(place: UV, polygon: Sequence[UV]) -> bool:
    """Tell whether a place lies in a polygon, by counting the sides it sees along u."""
    u, v = place
    within = False
    for (au, av), (bu, bv) in sides(polygon):
        if (av > v) != (bv > v) and u < au + (v - av) * (bu - au) / (bv - av):
            within = not within
    return within


def to_sides(place: UV, nearby: Sequence[Segment]) -> float:
    """Give the distance from a place to the nearest of some sides, infinite without any. [mm]"""
    return min((_to_segment(place, a, b) for a, b in nearby), default=math.inf)


def _within(polygon: Sequence[UV], place: UV, radius: float) -> Iterable[Segment]:
    for a, b in sides(polygon):
        if _to_segment(place, a, b) <= radius:
            yield a, b


def _to_segment(place: UV, a: UV, b: UV) -> float:
    du, dv = b[0] - a[0], b[1] - a[1]
    square = du * du + dv * dv
    share = ((place[0] - a[0]) * du + (place[1] - a[1]) * dv) / square if square else 0.0
    share = min(1.0, max(0.0, share))
    return math.hypot(place[0] - a[0] - share * du, place[1] - a[1] - share * dv)


def _crossing(start: UV, way: UV, a: UV, b: UV) -> float | None:
    """Say how far along a line it crosses a segment, None if it does not."""
    du, dv = b[0] - a[0], b[1] - a[1]
    across = way[0] * dv - way[1] * du
    length = math.hypot(du, dv)
    if abs(across) <= HAIR * length:
        return None
    eu, ev = a[0] - start[0], a[1] - start[1]
    share = (eu * way[1] - ev * way[0]) / across * length
    away = (eu * dv - ev * du) / across
    if not -HAIR <= share <= length + HAIR or away < -HAIR:
        return None
    return max(away, 0.0)


def _overlap(piece: Sequence[UV], other: Sequence[UV]) -> bool:
    """Tell whether two convex polygons share more than a hair's breadth."""
    for polygon in (piece, other):
        for (au, av), (bu, bv) in sides(polygon):
            length = math.hypot(bu - au, bv - av)
            if length <= HAIR:
                continue
            nu, nv = (bv - av) / length, (au - bu) / length
            mine = [u * nu + v * nv for u, v in piece]
            theirs = [u * nu + v * nv for u, v in other]
            if max(mine) - min(theirs) <= HAIR or max(theirs) - min(mine) <= HAIR:
                return False
    return True


def _clipped(plate: Sequence[UV], low: float, high: float) -> tuple[UV, ...]:
    """Give the part of a polygon between two values of v."""
    return _half(_half(plate, (0.0, 1.0), low), (0.0, -1.0), -high)


def _cut_to(polygon: Sequence[UV], piece: Sequence[UV]) -> tuple[UV, ...]:
    """Give the part of a polygon inside a convex piece; parts hang together by their sides."""
    turn = math.copysign(1.0, _area(piece))
    kept = tuple(polygon)
    for (au, av), (bu, bv) in sides(piece):
        length = math.hypot(bu - au, bv - av)
        if length > HAIR:
            normal = (turn * (av - bv) / length, turn * (bu - au) / length)
            kept = _half(kept, normal, au * normal[0] + av * normal[1])
    return kept


def _half(polygon: Sequence[UV], normal: UV, limit: float) -> tuple[UV, ...]:
    """Give the part of a polygon on the far side of a line along its normal."""
    part: list[UV] = []
    for a, b in sides(polygon) if polygon else ():
        before = a[0] * normal[0] + a[1] * normal[1] - limit
        behind = b[0] * normal[0] + b[1] * normal[1] - limit
        if before >= 0:
            part.append(a)
        if (before >= 0) != (behind >= 0):
            share = before / (before - behind)
            part.append((a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])))
    return tuple(part)


def _area(polygon: Sequence[UV]) -> float:
    """Give the area of a polygon, positive anticlockwise. [mm2]"""
    return sum(au * bv - bu * av for (au, av), (bu, bv) in sides(polygon)) / 2 if polygon else 0.0
