"""The elevation of a level section as primitives, from its start post on the left."""

from collections.abc import Iterator, Sequence

from service.adapters.documents.elevation_facts import facts
from service.adapters.documents.elevation_page import Elevation
from service.adapters.documents.elevation_rows import rows_below
from service.adapters.documents.extents import bounds, joined
from service.adapters.documents.infill_drawing import infill_shapes
from service.adapters.documents.labels import SMALL, Taken, place
from service.adapters.documents.picture import Picture, headed
from service.adapters.documents.plan_page import element_id
from service.adapters.documents.primitives import (
    Anchor,
    Dimension,
    Layer,
    Line,
    Shape,
    Text,
)
from service.domain.layout.records import PostPosition

_LIFTS = (0.0, 3.4, 6.8)  # names of posts that stand close are raised over each other
_BEYOND = 7.0  # the deck line reaches this far past the end posts' centres


def draw_elevation(elevation: Elevation) -> Picture:
    """Draw a level section, with its start post's foot at the paper's origin."""
    section, view = elevation.section, elevation.view
    body: list[Shape] = [
        *_deck_line(elevation),
        *_pickets(elevation),
        *infill_shapes(
            section, elevation.faces(), _picket_reach(elevation), lambda x, z: view.at((x, z)), 1.0
        ),
        *_rails(elevation),
        *_support_legs(elevation),
        *post_shapes(elevation),
        *_removed(elevation),
    ]
    body += [*_heights(elevation)]
    return with_rows(elevation, body, elevation.view.at((0, 0))[1], facts(elevation))


def with_rows(
    elevation: Elevation, body: Sequence[Shape], foot: float, sentences: Sequence[str]
) -> Picture:
    """Dimension a section from its feet down, and letter its name and facts above."""
    section = elevation.section
    ends = f"{section.start.post} to {section.end.post}"
    kind = "Stair section" if section.rake else "Section"
    box = bounds(body)
    rows = list(rows_below(elevation, box.bottom, foot))
    return headed(
        f"elevation-{element_id(section.name)}",
        f"{section.name}  {ends}",
        f"{kind} {section.name}, {ends}, elevation",
        [*body, *rows],
        joined(box, bounds(rows)),
        sentences,
        lettered=elevation.lettered,
    )


def _deck_line(elevation: Elevation) -> Iterator[Shape]:
    right = elevation.view.at((elevation.section.length_nm, 0))[0]
    yield Line((-_BEYOND, 0.0), (right + _BEYOND, 0.0), Layer.DECK)


def _rails(elevation: Elevation) -> Iterator[Shape]:
    system = elevation.layout.system
    for rail in elevation.section.rails:
        if rail.place == "infill":
            continue
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
    half = elevation.half_leg()
    for at, height in elevation.support_legs():
        yield elevation.rectangle(at - half, at + half, 0, height, Layer.SUPPORT)


def post_shapes(elevation: Elevation) -> Iterator[Shape]:
    """Draw each post with its number: heavy if the section carries it, thin if it stands."""
    system, taken = elevation.layout.system, Taken()
    for post, at in elevation.post_places():
        half = elevation.half_width(post)
        low = elevation.base_nm(post)
        low -= system.fascia_drop_nm if post.surface == "fascia" else 0
        height = post.height_nm
        layer = Layer.POST if post.name in elevation.section.carries else Layer.STANDING_POST
        if post.position is PostPosition.EXISTING:
            layer = Layer.EXISTING
            height = height or system.guard_height_nm + system.post_above_rail_nm
        yield elevation.rectangle(at - half, at + half, low, low + height, layer)
        x, y = elevation.view.at((at, low + height))
        rows = (
            Text((x, y - 1.4 - lift), post.name, SMALL, Anchor.MIDDLE, boxed=True)
            for lift in _LIFTS
        )
        yield from place(taken, rows)


def _heights(elevation: Elevation) -> Iterator[Shape]:
    system = elevation.layout.system
    inner_left, inner_right = elevation.faces()
    left, right = -inner_left, 2 * elevation.section.length_nm - inner_right
    foot, head = elevation.view.at((left, 0)), elevation.view.at((left, system.guard_height_nm))
    yield Dimension(foot, head, -5.0, elevation.printed(system.guard_height_nm), SMALL)
    low, high = elevation.view.at((right, 0)), elevation.view.at((right, system.bottom_gap_nm))
    yield Line((high[0] + 0.6, high[1]), (high[0] + 5.6, high[1]), Layer.DIMENSION)
    yield Dimension((low[0] + 4.6, low[1]), (high[0] + 4.6, high[1]), 0.0, "", SMALL)
    text = elevation.printed(system.bottom_gap_nm)
    yield Text((high[0] + 6.4, high[1] + 1.0), text, SMALL)
