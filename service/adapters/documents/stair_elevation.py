"""The elevation of a stair section as primitives, in true rake, going down to the right."""

import math
from collections.abc import Iterator

from service.adapters.documents.elevation_drawing import post_shapes, with_rows
from service.adapters.documents.elevation_facts import facts, seen_from
from service.adapters.documents.elevation_page import Elevation
from service.adapters.documents.flight_profile import FlightProfile, nosing_line, rake_mark, steps
from service.adapters.documents.handrail_drawing import WHOLE, handrail_fact, handrail_shapes
from service.adapters.documents.infill_drawing import infill_shapes
from service.adapters.documents.labels import SMALL
from service.adapters.documents.picture import Picture
from service.adapters.documents.primitives import (
    Dimension,
    Layer,
    Line,
    Polyline,
    Shape,
    Text,
)
from service.domain.layout.records import Rail, Rake
from service.domain.layout.stair_records import Handrail


class StairElevation:
    """A stair section with the flight its parts follow. Heights are from the level's surface."""

    def __init__(self, base: Elevation, rake: Rake) -> None:
        """Find how far behind or before the top nosing the start post stands."""
        self.base = base
        layout = base.layout
        plan = next((stair for stair in layout.stairs if stair.name == base.run.stair), None)
        record = next((s for s in layout.deck.stairs if s.name == base.run.stair), None)
        going_nm = 0.0
        if plan is not None:
            (x, y), left = base.posts[base.section.start.post].at, plan.top[0]
            going_nm = (x - left[0]) * plan.down[0] + (y - left[1]) * plan.down[1]
        self.profile = FlightProfile(base.view, record, rake, going_nm)
        self.cosine, self.slope = self.profile.cosine, self.profile.slope

    def rail_heights(self, place: str) -> tuple[float, float]:
        """Give underside and top of a rail above the nosing line, plumb. [nm]"""
        system = self.base.layout.system
        if place == "top":
            high = float(system.stair_guard_height_nm)
            return high - system.top_rail.depth_nm / self.cosine, high
        low = float(system.stair_bottom_gap_nm)
        return low, low + system.bottom_rail.depth_nm / self.cosine

    def handrails(self) -> list[Handrail]:
        """The handrails inside the guard on this side of the flight."""
        run = self.base.run
        handrails = self.base.layout.handrails
        return [rail for rail in handrails if (rail.stair, rail.side) == (run.stair, run.side)]

    def reach(self) -> tuple[float, float]:
        """Where this section's part of a handrail ends: only the outer sections show its ends."""
        section, run = self.base.section, self.base.run
        return (
            WHOLE[0] if section.start.post == run.start else 0.0,
            WHOLE[1] if section.end.post == run.end else float(section.length_nm),
        )


def draw_stair_elevation(base: Elevation) -> Picture:
    """Draw a stair section, with the level's surface at paper height 0."""
    section = base.section
    rake = section.rake or base.run.rake
    if rake is None:
        raise ValueError(f"section {section.name} has no rake")
    stair = StairElevation(base, rake)
    profile = stair.profile
    body: list[Shape] = [
        *steps(profile, section.length_nm),
        *nosing_line(profile),
        *_pickets(stair),
        *infill_shapes(section, base.faces(), _picket_reach(stair), profile.over, 1 / stair.cosine),
        *_support_legs(stair),
        *_rails(stair),
        *post_shapes(base),
        *_removed(stair),
        *_handrails(stair),
    ]
    body += [*_heights(stair), *_slope_length(stair), *rake_mark(profile)]
    # numbers of posts clear the lines of dimensions that pass them
    body = [*(s for s in body if not _numbers(s)), *filter(_numbers, body)]
    foot = max(base.view.at((0, base.base_nm(post)))[1] for post, _ in base.post_places())
    top = next((rail for rail in section.rails if rail.place == "top"), None)
    said = facts(base)
    if top is not None:
        said.insert(1, f"Rake {rake.angle_deg:.1f}°; rails sawn {top.saw_deg:.1f}° off square.")
    if section.start.post == base.run.start:
        said += [handrail_fact(rail, base.printed) for rail in stair.handrails()]
    return with_rows(base, body, foot, said)


def _numbers(shape: Shape) -> bool:
    return isinstance(shape, Text) and shape.boxed


def _handrails(stair: StairElevation) -> Iterator[Shape]:
    """Draw handrails: before the guard as seen from the stair, as outlines from outside."""
    blank = seen_from(stair.base) != "seen from outside"
    for rail in stair.handrails():
        yield from handrail_shapes(stair.profile, rail, stair.reach(), blank=blank)


def _support_legs(stair: StairElevation) -> Iterator[Shape]:
    """Draw each leg from the bottom rail's underside down to its tread."""
    base, half = stair.base, stair.base.half_leg()
    gap = base.layout.system.stair_bottom_gap_nm
    for at, height in base.support_legs():
        high = stair.profile.nosing_nm(at) + gap
        yield base.rectangle(at - half, at + half, high - height, high, Layer.SUPPORT)


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
    x0, z0 = rail.start_nm, stair.profile.nosing_nm(rail.start_nm) + high
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
        yield stair.profile.sloped(left, left + row.width_nm, low, high, Layer.PICKET)


def _removed(stair: StairElevation) -> Iterator[Shape]:
    row = stair.base.section.pickets
    low, high = _picket_reach(stair)
    for centre in row.removed_nm:
        z = stair.profile.nosing_nm(centre) + (low + high) / 2
        x, y = stair.base.view.at((centre, z))
        yield Line((x - 1.4, y - 1.4), (x + 1.4, y + 1.4), Layer.MARK)
        yield Line((x - 1.4, y + 1.4), (x + 1.4, y - 1.4), Layer.MARK)


def _heights(stair: StairElevation) -> Iterator[Shape]:
    """Dimension the rail's height over the nosing line, plumb, before the start post."""
    base, system = stair.base, stair.base.layout.system
    x_nm = -stair.profile.on_paper(8.0) - system.post_width_nm / 2
    if base.section.start.post == base.run.start:
        ends = [rail.start_nm - rail.top_extension_nm for rail in stair.handrails()]
        clear = stair.profile.going_nm + stair.profile.on_paper(5.0)
        x_nm = min(x_nm, *(end - clear for end in ends), 0)
    low = stair.profile.nosing_nm(x_nm)
    foot, head = base.view.at((x_nm, low)), base.view.at((x_nm, low + system.stair_guard_height_nm))
    inner = base.view.at((0, stair.profile.nosing_nm(0) + system.stair_guard_height_nm))
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
