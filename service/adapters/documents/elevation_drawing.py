"""The elevation of a level section as primitives, from its start post on the left."""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.adapters.documents.labels import LARGE, SMALL, chain
from service.adapters.documents.plan_geometry import Vector, unit
from service.adapters.documents.plan_page import element_id, shortened
from service.adapters.documents.primitives import (
    Anchor,
    Dimension,
    Group,
    Layer,
    Line,
    Polyline,
    Shape,
    Text,
    bounds,
    wrapped,
)
from service.adapters.documents.scales import Printed, View
from service.domain.layout.records import Layout, Post, PostPosition, Run, Section
from service.domain.layout.system import Assembly

ROW = 6.5  # distance of dimension rows on paper
NARROWEST_HEADING = 88.0
_BEYOND = 7.0  # the deck line reaches this far past the end posts' centres


@dataclass(frozen=True, slots=True)
class Elevation:
    """What the drawing of one section works with."""

    layout: Layout
    section: Section
    run: Run
    view: View
    printed: Printed
    posts: dict[str, Post]
    outward: Vector

    def rectangle(
        self, left_nm: float, right_nm: float, low_nm: float, high_nm: float, layer: Layer
    ) -> Polyline:
        """Draw an upright rectangle; it hides what was drawn before. [nm]"""
        (left, low), (right, high) = (
            self.view.at((left_nm, low_nm)),
            self.view.at((right_nm, high_nm)),
        )
        corners = ((left, low), (right, low), (right, high), (left, high))
        return Polyline(corners, layer, closed=True, blank=True)

    def post_places(self) -> list[tuple[Post, int]]:
        """Give the section's posts with their centres from the start post. [nm]"""
        section = self.section
        names = [section.start.post, *section.line_posts, section.end.post]
        places = [0, *section.line_posts_nm, section.length_nm]
        return [(self.posts[name], at) for name, at in zip(names, places, strict=True)]


def draw_elevation(elevation: Elevation) -> Group:
    """Draw a level section, with its start post's foot at the paper's origin."""
    body: list[Shape] = [
        *_deck_line(elevation),
        *_pickets(elevation),
        *_rails(elevation),
        *_support_legs(elevation),
        *post_shapes(elevation),
        *_removed(elevation),
    ]
    body += [*_heights(elevation)]
    below = bounds(body).bottom
    body += [*rows_below(elevation, below, elevation.view.at((0, 0))[1])]
    return group_with_heading(elevation, body, facts(elevation))


def group_with_heading(
    elevation: Elevation, body: Sequence[Shape], sentences: Sequence[str]
) -> Group:
    """Letter the section's name and facts above its picture."""
    section = elevation.section
    box = bounds(body)
    width = max(box.width, NARROWEST_HEADING)
    lines = [line for sentence in sentences for line in wrapped(sentence, SMALL, width)]
    top = box.top - 3.0 - len(lines) * SMALL * 1.4
    heading = f"{section.name}  {section.start.post} to {section.end.post}"
    texts: list[Shape] = [Text((box.left, top), heading, LARGE, bold=True)]
    for i, line in enumerate(lines, start=1):
        texts.append(Text((box.left, top + 0.6 + i * SMALL * 1.4), line, SMALL))
    kind = "Stair section" if section.rake else "Section"
    return Group(
        f"elevation-{element_id(section.name)}",
        f"{kind} {section.name}, {section.start.post} to {section.end.post}, elevation",
        (*texts, *body),
        " ".join(sentences),
    )


def _deck_line(elevation: Elevation) -> Iterator[Shape]:
    right = elevation.view.at((elevation.section.length_nm, 0))[0]
    yield Line((-_BEYOND, 0.0), (right + _BEYOND, 0.0), Layer.DECK)


def _rails(elevation: Elevation) -> Iterator[Shape]:
    system = elevation.layout.system
    for rail in elevation.section.rails:
        if rail.place == "top":
            high = system.guard_height_nm
            low = high - system.top_rail.depth_nm
        else:
            low = system.bottom_gap_nm
            high = low + system.bottom_rail.depth_nm
        start = rail.start_nm
        yield elevation.rectangle(start, start + rail.length_nm, low, high, Layer.RAIL)


def _picket_reach(elevation: Elevation) -> tuple[int, int]:
    """Give the heights between which pickets show. [nm]"""
    system = elevation.layout.system
    low = system.bottom_gap_nm + system.bottom_rail.depth_nm
    return low, system.guard_height_nm - system.top_rail.depth_nm


def _pickets(elevation: Elevation) -> Iterator[Shape]:
    row = elevation.section.pickets
    low, high = _picket_reach(elevation)
    for centre in row.centres_nm:
        left = centre - row.width_nm / 2
        yield elevation.rectangle(left, left + row.width_nm, low, high, Layer.PICKET)


def _removed(elevation: Elevation) -> Iterator[Shape]:
    """Cross out the pickets that give way to a line post."""
    row = elevation.section.pickets
    low, high = _picket_reach(elevation)
    for centre in row.removed_nm:
        for side in (centre - row.width_nm / 2, centre + row.width_nm / 2):
            ends = elevation.view.at((side, low)), elevation.view.at((side, high))
            yield Line(*ends, Layer.REMOVED)
        x, y = elevation.view.at((centre, (low + high) // 2))
        yield Line((x - 1.4, y - 1.4), (x + 1.4, y + 1.4), Layer.MARK)
        yield Line((x - 1.4, y + 1.4), (x + 1.4, y - 1.4), Layer.MARK)


def _support_legs(elevation: Elevation) -> Iterator[Shape]:
    system = elevation.layout.system
    half = system.pickets.width_nm / 2
    for at in elevation.section.support_legs_nm:
        yield elevation.rectangle(at - half, at + half, 0, system.bottom_gap_nm, Layer.SUPPORT)


def post_shapes(elevation: Elevation) -> Iterator[Shape]:
    """Draw each post with its number: heavy if the section carries it, thin if it stands."""
    system = elevation.layout.system
    half = system.post_width_nm / 2
    for post, at in elevation.post_places():
        low = post.base_nm - (system.fascia_drop_nm if post.surface == "fascia" else 0)
        height = post.height_nm
        layer = Layer.POST if post.name in elevation.section.carries else Layer.STANDING_POST
        if post.position is PostPosition.EXISTING:
            layer = Layer.EXISTING
            height = height or system.guard_height_nm + system.post_above_rail_nm
        yield elevation.rectangle(at - half, at + half, low, low + height, layer)
        x, y = elevation.view.at((at, low + height))
        yield Text((x, y - 1.4), post.name, SMALL, Anchor.MIDDLE)


def _heights(elevation: Elevation) -> Iterator[Shape]:
    system = elevation.layout.system
    half = system.post_width_nm // 2
    foot, head = elevation.view.at((-half, 0)), elevation.view.at((-half, system.guard_height_nm))
    yield Dimension(foot, head, -5.0, elevation.printed(system.guard_height_nm), SMALL)
    right = elevation.section.length_nm + half
    low, high = elevation.view.at((right, 0)), elevation.view.at((right, system.bottom_gap_nm))
    yield Line((high[0] + 0.6, high[1]), (high[0] + 5.6, high[1]), Layer.DIMENSION)
    yield Dimension((low[0] + 4.6, low[1]), (high[0] + 4.6, high[1]), 0.0, "", SMALL)
    text = elevation.printed(system.bottom_gap_nm)
    yield Text((high[0] + 6.4, high[1] + 1.0), text, SMALL)


@dataclass(frozen=True, slots=True)
class _Rows:
    """Dimension rows under a picture: from the feet at ``foot``, counted down from ``below``."""

    elevation: Elevation
    below: float
    foot: float

    def x(self, at_nm: float) -> float:
        return self.elevation.view.at((at_nm, 0))[0]

    def span(
        self, start_nm: float, end_nm: float, drop: float, text: str, outside: str | None = None
    ) -> Dimension:
        """Dimension between two places; text that has no room goes past the end."""
        start, end = (self.x(start_nm), self.foot), (self.x(end_nm), self.foot)
        room = self.x(end_nm) - self.x(start_nm)
        if outside is None and Text((0.0, 0.0), text, SMALL).width > room - 1.0:
            outside = "end"
        return Dimension(start, end, self.below - self.foot + drop, text, SMALL, 0, outside)


def rows_below(elevation: Elevation, below: float, foot: float) -> Iterator[Shape]:
    """Dimension the bays, the clear length and the end gaps in rows under the picture."""
    rows = _Rows(elevation, below, foot)
    section, printed = elevation.section, elevation.printed
    places = [at for _, at in elevation.post_places()]
    texts = [printed(b - a) for a, b in itertools.pairwise(places)]
    whole = f"{printed(section.length_nm)} c-c"
    if len(texts) == 1:
        yield rows.span(0, section.length_nm, 3 * ROW, whole)
    else:
        bays = chain([(rows.x(x), foot) for x in places], texts, below - foot + 3 * ROW)
        lifted = max(bay.lift for bay in bays) * SMALL * 1.35
        yield rows.span(0, section.length_nm, 4 * ROW + lifted, whole)
        yield from bays
    half = elevation.layout.system.post_width_nm / 2
    clear = f"clear {printed(section.clear_nm)}"
    yield rows.span(half, section.length_nm - half, 2 * ROW, clear)
    yield from _end_gaps(rows, half)


def _end_gaps(rows: _Rows, half: float) -> Iterator[Shape]:
    """Dimension both end gaps, with the pickets' count and pitch between if there is room."""
    section = rows.elevation.section
    row = section.pickets
    centres = sorted([*row.centres_nm, *row.removed_nm])
    if not centres:
        return
    first, last = centres[0] - row.width_nm / 2, centres[-1] + row.width_nm / 2
    start_gap, end_gap = (rows.elevation.printed(gap) for gap in row.end_gaps_nm)
    yield rows.span(half, first, ROW, start_gap, "start")
    yield rows.span(last, section.length_nm - half, ROW, end_gap, "end")
    middle = (rows.x((first + last) / 2), rows.below + ROW - 0.35 * SMALL)
    text = Text(middle, _spacing(rows.elevation), SMALL, Anchor.MIDDLE, boxed=True)
    if text.width + 3.0 < rows.x(last) - rows.x(first):
        yield text


def _spacing(elevation: Elevation) -> str:
    row = elevation.section.pickets
    count = len(row.centres_nm)
    if count + len(row.removed_nm) < 2:
        return f"{count} picket"
    return f"{count} pickets at {elevation.printed(row.pitch_nm)}"


def facts(elevation: Elevation) -> list[str]:
    """Say in sentences what the picture cannot show."""
    section, row = elevation.section, elevation.section.pickets

    def printed(length_nm: int) -> str:
        return elevation.printed(length_nm).replace(" ", "\u00a0")  # kept on one line

    said = [f"Run {section.run}, level {shortened(elevation.run.level)}, {seen_from(elevation)}."]
    rails = []
    for place in ("top", "bottom"):
        lengths = [printed(rail.length_nm) for rail in section.rails if rail.place == place]
        if lengths:
            rails.append(f"{place} rail {_counted(lengths)}")
    if rails:
        said.append(f"{'; '.join(rails)}.".capitalize())
    if row.centres_nm:
        removed = f", {len(row.removed_nm)} removed (crossed)" if row.removed_nm else ""
        said.append(
            f"{_spacing(elevation)}, {printed(row.length_nm)} long{removed}; "
            f"middle on a {row.centred_on}."
        )
    joints = []
    for end in (section.start, section.end):
        angle = f" at {abs(end.angle_deg):.1f}°" if abs(end.angle_deg) > 0.05 else ""
        joints.append(f"{end.post} {end.joint}{angle}")
    carries = ""
    if section.carries and elevation.layout.system.assembly is Assembly.PREFABRICATED:
        carries = f"; carries {', '.join(section.carries)}"
    said.append(f"Joints: {', '.join(joints)}{carries}.")
    return said


def _counted(lengths: Sequence[str]) -> str:
    r"""Join lengths, equal ones counted: "2 × 3' 0\", 1' 6\""."""
    counts: dict[str, int] = {}
    for length in lengths:
        counts[length] = counts.get(length, 0) + 1
    return ", ".join(f"{n} × {text}" if n > 1 else text for text, n in counts.items())


def seen_from(elevation: Elevation) -> str:
    """Tell on which side the viewer stands, the start post being on the left."""
    start, end = (
        elevation.posts[e.post].at for e in (elevation.section.start, elevation.section.end)
    )
    along, outward = unit(start, end), elevation.outward
    outside = along[1] * outward[0] - along[0] * outward[1] > 0
    inside = "the stair" if elevation.run.stair else "the deck"
    return "seen from outside" if outside else f"seen from {inside}"
