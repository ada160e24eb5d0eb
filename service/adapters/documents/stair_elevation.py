"""The elevation of a stair section as primitives, in true rake, going down to the right."""

import math
from collections.abc import Iterator

from service.adapters.documents.elevation_drawing import group_with_heading, post_shapes
from service.adapters.documents.elevation_facts import facts
from service.adapters.documents.elevation_page import Elevation
from service.adapters.documents.elevation_rows import rows_below
from service.adapters.documents.extents import bounds
from service.adapters.documents.infill_drawing import infill_shapes
from service.adapters.documents.labels import SMALL
from service.adapters.documents.primitives import (
    Dimension,
    Group,
    Layer,
    Line,
    PaperPoint,
    Polyline,
    Shape,
    Text,
)
from service.domain.layout.deck import Stair
from service.domain.layout.records import Rail, Rake
from service.domain.lengths import MILLIMETRE

_DEEPEST_NOSING = 25 * MILLIMETRE  # drawn thickness of a tread's nose; common practice, no source


class StairElevation:
    """A stair section with the slope its parts follow. Heights are from the level's surface."""

    def __init__(self, base: Elevation, rake: Rake) -> None:
        """Find how far behind or before the top nosing the start post stands."""
        self.base = base
        self.rake = rake
        self.slope = rake.rise_nm / rake.run_nm
        self.cosine = math.cos(math.atan(self.slope))
        stairs = base.layout.stairs
        self.plan = next((stair for stair in stairs if stair.name == base.run.stair), None)
        self.going_nm = 0.0
        if self.plan is not None:
            (x, y), (left, down) = base.posts[base.section.start.post].at, (
                self.plan.top[0], self.plan.down)  # fmt: skip
            self.going_nm = (x - left[0]) * down[0] + (y - left[1]) * down[1]

    def nosing_nm(self, x_nm: float) -> float:
        """Height of the nosing line at a distance from the start post. [nm]"""
        return -(self.going_nm + x_nm) * self.slope

    def over(self, x_nm: float, height_nm: float) -> PaperPoint:
        """Give the place on paper of a height above the nosing line. [nm]"""
        return self.base.view.at((x_nm, self.nosing_nm(x_nm) + height_nm))

    def sloped(self, x1: float, x2: float, low: float, high: float, layer: Layer) -> Polyline:
        """Draw a plumb-ended strip between two heights above the nosing line. [nm]"""
        corners = ((x1, low), (x2, low), (x2, high), (x1, high))
        points = tuple(self.over(x, z) for x, z in corners)
        return Polyline(points, layer, closed=True, blank=True)

    def rail_heights(self, place: str) -> tuple[float, float]:
        """Give underside and top of a rail above the nosing line, plumb. [nm]"""
        system = self.base.layout.system
        if place == "top":
            high = float(system.stair_guard_height_nm)
            return high - system.top_rail.depth_nm / self.cosine, high
        low = float(system.stair_bottom_gap_nm)
        return low, low + system.bottom_rail.depth_nm / self.cosine


def draw_stair_elevation(base: Elevation) -> Group:
    """Draw a stair section, with the level's surface at paper height 0."""
    section = base.section
    rake = section.rake or base.run.rake
    if rake is None:
        raise ValueError(f"section {section.name} has no rake")
    stair = StairElevation(base, rake)
    body: list[Shape] = [
        *_steps(stair),
        *_nosing_line(stair),
        *_pickets(stair),
        *infill_shapes(section, base.faces(), _picket_reach(stair), stair.over, 1 / stair.cosine),
        *_rails(stair),
        *post_shapes(base),
        *_removed(stair),
    ]
    body += [*_heights(stair), *_slope_length(stair), *_angle(stair)]
    below = bounds(body).bottom
    foot = max(base.view.at((0, post.base_nm))[1] for post, _ in base.post_places())
    body += [*rows_below(base, below, foot)]
    top = next((rail for rail in section.rails if rail.place == "top"), None)
    said = facts(base)
    if top is not None:
        said.insert(1, f"Rake {rake.angle_deg:.1f}°; rails sawn {top.saw_deg:.1f}° off square.")
    return group_with_heading(base, body, said)


def _record(stair: StairElevation) -> Stair | None:
    deck = stair.base.layout.deck
    return next((record for record in deck.stairs if record.name == stair.base.run.stair), None)


def _steps(stair: StairElevation) -> Iterator[Shape]:
    """The stepped profile of the flight, from the level down to the lower surface."""
    record = _record(stair)
    if record is None:
        return
    nose = record.nosing_nm
    depth = min(_DEEPEST_NOSING, record.unit_rise_nm // 4)
    reach = 9.0 * MILLIMETRE * stair.base.view.scale.ratio
    top = -stair.going_nm  # the top nosing, from the start post
    end_post = stair.base.section.length_nm
    points: list[tuple[float, float]] = [(min(-reach, top - reach), 0.0), (top, 0.0)]
    for i in range(1, record.risers + 1):
        x = top + (i - 1) * record.unit_run_nm
        above = -record.total_rise_nm * (i - 1) / record.risers
        under = -record.total_rise_nm * i / record.risers
        if nose:
            points += [(x, above - depth), (x - nose, above - depth)]
        points.append((x - nose, under))
        last = i == record.risers
        points.append((max(x + record.unit_run_nm, end_post + reach), under) if last
                      else (x + record.unit_run_nm, under))  # fmt: skip
    yield Polyline(tuple(stair.base.view.at(point) for point in points), Layer.STAIR)


def _nosing_line(stair: StairElevation) -> Iterator[Shape]:
    start, end = -stair.going_nm, -stair.going_nm + stair.rake.run_nm
    start = min(start, -12.0 * MILLIMETRE * stair.base.view.scale.ratio)
    ends = [stair.base.view.at((x, stair.nosing_nm(x))) for x in (start, end)]
    yield Line(ends[0], ends[1], Layer.NOSING)


def _rails(stair: StairElevation) -> Iterator[Shape]:
    for rail in stair.base.section.rails:
        if rail.place != "infill":
            yield _blank(stair, rail)


def _blank(stair: StairElevation, rail: Rail) -> Polyline:
    """Draw a rail's blank: long point on top at the start, underneath at the end."""
    system = stair.base.layout.system
    profile = system.top_rail if rail.place == "top" else system.bottom_rail
    _, high = stair.rail_heights(rail.place)
    cut = profile.depth_nm * math.tan(math.radians(rail.saw_deg))
    cosine, sine = stair.cosine, stair.cosine * stair.slope
    x0, z0 = rail.start_nm, stair.nosing_nm(rail.start_nm) + high
    corners = (
        (0.0, 0.0),
        (rail.length_nm - cut, 0.0),
        (float(rail.length_nm), -float(profile.depth_nm)),
        (cut, -float(profile.depth_nm)),
    )
    points = tuple(
        stair.base.view.at((x0 + s * cosine + t * sine, z0 - s * sine + t * cosine))
        for s, t in corners
    )
    return Polyline(points, Layer.RAIL, closed=True, blank=True)


def _picket_reach(stair: StairElevation) -> tuple[float, float]:
    return stair.rail_heights("bottom")[1], stair.rail_heights("top")[0]


def _pickets(stair: StairElevation) -> Iterator[Shape]:
    row = stair.base.section.pickets
    low, high = _picket_reach(stair)
    for centre in row.centres_nm:
        left = centre - row.width_nm / 2
        yield stair.sloped(left, left + row.width_nm, low, high, Layer.PICKET)


def _removed(stair: StairElevation) -> Iterator[Shape]:
    row = stair.base.section.pickets
    low, high = _picket_reach(stair)
    for centre in row.removed_nm:
        z = stair.nosing_nm(centre) + (low + high) / 2
        x, y = stair.base.view.at((centre, z))
        yield Line((x - 1.4, y - 1.4), (x + 1.4, y + 1.4), Layer.MARK)
        yield Line((x - 1.4, y + 1.4), (x + 1.4, y - 1.4), Layer.MARK)


def _heights(stair: StairElevation) -> Iterator[Shape]:
    """Dimension the rail's height over the nosing line, plumb, before the start post."""
    base, system = stair.base, stair.base.layout.system
    x_nm = -8.0 * MILLIMETRE * base.view.scale.ratio - system.post_width_nm / 2
    low = stair.nosing_nm(x_nm)
    foot, head = base.view.at((x_nm, low)), base.view.at((x_nm, low + system.stair_guard_height_nm))
    inner = base.view.at((0, stair.nosing_nm(0) + system.stair_guard_height_nm))
    yield Line(head, inner, Layer.DIMENSION)
    yield Dimension(foot, head, 0.0, base.printed(system.stair_guard_height_nm), SMALL)


def _slope_length(stair: StairElevation) -> Iterator[Shape]:
    base = stair.base
    for rail in base.section.rails:
        if rail.place != "top":
            continue
        start = _blank(stair, rail).points[0]
        full = base.view.scale.paper(rail.length_nm)
        rise = full * stair.cosine * stair.slope
        end = (start[0] + full * stair.cosine, start[1] + rise)
        yield Dimension(start, end, -9.0, f"{base.printed(rail.length_nm)} on the slope", SMALL)


def _angle(stair: StairElevation) -> Iterator[Shape]:
    """Letter the rake where the nosing line meets the lower surface."""
    base = stair.base
    x_nm = -stair.going_nm + stair.rake.run_nm
    x, y = base.view.at((x_nm, stair.nosing_nm(x_nm)))
    radius = 8.0
    turn = math.radians(stair.rake.angle_deg)
    arc = tuple(
        (x - radius * math.cos(turn * i / 6), y - radius * math.sin(turn * i / 6)) for i in range(7)
    )
    yield Polyline(arc, Layer.DIMENSION)
    yield Text((x + 1.5, y - 1.2), f"{stair.rake.angle_deg:.1f}°", SMALL, boxed=True)
