"""Handrails in elevation: on the guard they belong to, and on a wall as pictures of their own."""

import math
from collections.abc import Iterator
from itertools import pairwise

from service.adapters.documents.extents import bounds
from service.adapters.documents.flight_profile import FlightProfile, nosing_line, rake_mark, steps
from service.adapters.documents.labels import SMALL, chain
from service.adapters.documents.picture import Picture, headed
from service.adapters.documents.plan_page import shortened
from service.adapters.documents.primitives import (
    Circle,
    Dimension,
    Layer,
    Line,
    Polyline,
    Shape,
)
from service.adapters.documents.scales import Printed, View
from service.domain.layout.deck import Side
from service.domain.layout.records import Layout
from service.domain.layout.stair_records import Handrail, HandrailMount
from service.domain.lengths import MILLIMETRE

_DROP = 60 * MILLIMETRE  # drawn length of a bracket under its rail; common practice, no source
_ROSETTE = 0.6  # radius on paper of the plate that holds a bracket
WHOLE = (-math.inf, math.inf)


def walled_handrails(layout: Layout) -> list[Handrail]:
    """Give the handrails that no stair section shows, for there is no guard on their side."""
    guarded = {(run.stair, run.side) for run in layout.runs if run.stair}
    return [rail for rail in layout.handrails if (rail.stair, rail.side) not in guarded]


def handrail_shapes(
    profile: FlightProfile, rail: Handrail, within: tuple[float, float], *, blank: bool
) -> Iterator[Shape]:
    """Draw a handrail at its height over the nosing line, its brackets and returned ends.

    Args:
        profile: The flight.
        rail: Its handrail.
        within: Horizontal reach of the picture from its start; the rest is left out. [nm]
        blank: Whether the rail hides what is behind it.
    """
    thick = rail.projection_nm - rail.clearance_nm
    plumb = thick / profile.cosine
    start, end = rail.start_nm - profile.going_nm, rail.end_nm - profile.going_nm
    low, high = max(start, within[0]), min(end, within[1])
    if low >= high:
        return
    for at in rail.brackets_nm:
        x = start + at * profile.cosine
        if low <= x <= high:
            under = profile.over(x, rail.height_nm - plumb)
            foot = profile.over(x, rail.height_nm - plumb - _DROP)
            yield Line(under, foot, Layer.HANDRAIL)
            yield Circle(foot, _ROSETTE, Layer.HANDRAIL, solid=True)
    strip = profile.sloped(low, high, rail.height_nm - plumb, rail.height_nm, Layer.HANDRAIL)
    yield Polyline(strip.points, Layer.HANDRAIL, closed=True, blank=blank)
    first = (start, profile.nosing_nm(start) + rail.height_nm - thick / 2)
    if rail.top_extension_nm and low == start:
        z = profile.nosing_nm(start) + rail.height_nm
        corners = (
            (start - rail.top_extension_nm, z - thick), (start, z - thick),
            (start, z), (start - rail.top_extension_nm, z),
        )  # fmt: skip
        points = tuple(map(profile.view.at, corners))
        yield Polyline(points, Layer.HANDRAIL, closed=True, blank=blank)
        first = (start - rail.top_extension_nm, first[1])
    last = (end, profile.nosing_nm(end) + rail.height_nm - plumb / 2)
    if rail.returns_nm:
        radius = profile.view.scale.paper(thick / 2)
        for place, seen in ((first, low == start), (last, high == end)):
            if seen:
                yield Circle(profile.view.at(place), radius, Layer.HANDRAIL)


def handrail_fact(rail: Handrail, printed: Printed) -> str:
    """Say in a sentence what a handrail is and how it is held."""
    level = f", {printed(rail.top_extension_nm)} level at its top" if rail.top_extension_nm else ""
    ends = "returned" if rail.returns_nm else "not returned"
    return (
        f"Handrail {rail.name} on the {rail.mount}: {printed(rail.height_nm)} over the nosing "
        f"line, {printed(rail.slope_nm)} on the slope{level}, {len(rail.brackets_nm)} brackets, "
        f"{printed(rail.clearance_nm)} clear, ends {ends}."
    )


def draw_handrail(layout: Layout, rail: Handrail, view: View, printed: Printed) -> Picture | None:
    """Draw a handrail that no section shows, from the top nosing down to the right."""
    plan = next((stair for stair in layout.stairs if stair.name == rail.stair), None)
    if plan is None:
        return None
    record = next((stair for stair in layout.deck.stairs if stair.name == rail.stair), None)
    profile = FlightProfile(view, record, plan.rake, 0.0)
    body: list[Shape] = [
        *steps(profile, rail.end_nm),
        *nosing_line(profile),
        *handrail_shapes(profile, rail, WHOLE, blank=True),
        *rake_mark(profile),
        *_height(profile, rail, printed),
        *_lengths(profile, rail, printed),
    ]
    seen = "seen from the stair" if rail.side is Side.LEFT else "seen through the stair's wall"
    if rail.mount is not HandrailMount.WALL:
        seen = "drawn without its guard"
    said = [
        f"Stair {shortened(rail.stair)}, {rail.side} side, {seen}.",
        handrail_fact(rail, lambda nm: printed(nm).replace(" ", "\u00a0")),
        f"Rake {plan.rake.angle_deg:.1f}°.",
    ]
    return headed(
        f"elevation-{rail.name}",
        f"{rail.name}  handrail",
        f"Handrail {rail.name} of stair {rail.stair}, elevation",
        body,
        bounds(body),
        said,
    )


def _height(profile: FlightProfile, rail: Handrail, printed: Printed) -> Iterator[Shape]:
    """Dimension the handrail over a nosing in the middle of the flight."""
    run = profile.stair.unit_run_nm if profile.stair else 1
    x = float(round((rail.start_nm + rail.end_nm) / 2 / run) * run)
    foot, head = profile.over(x, 0), profile.over(x, rail.height_nm)
    yield Dimension(foot, head, 0.0, printed(rail.height_nm), SMALL)


def _lengths(profile: FlightProfile, rail: Handrail, printed: Printed) -> Iterator[Shape]:
    """Dimension the slope with its brackets, and the level part above it."""
    places = [0, *rail.brackets_nm, rail.slope_nm]
    points = [profile.over(rail.start_nm + at * profile.cosine, rail.height_nm) for at in places]
    spans = chain(points, [printed(b - a) for a, b in pairwise(places)], -6.0)
    yield from spans
    lifted = max(span.lift for span in spans) * SMALL * 1.35
    whole = f"{printed(rail.slope_nm)} on the slope"
    yield Dimension(points[0], points[-1], -13.0 - lifted, whole, SMALL)
    if rail.top_extension_nm:
        z = profile.nosing_nm(rail.start_nm) + rail.height_nm
        ends = [profile.view.at((rail.start_nm - back, z)) for back in (rail.top_extension_nm, 0)]
        yield Dimension(ends[0], ends[1], 8.0, printed(rail.top_extension_nm), SMALL)
