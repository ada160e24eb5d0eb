"""Plans for a page: each at the largest standard scale that fits, large ones in parts as well."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil

from service.adapters.documents.extents import Box, bounds
from service.adapters.documents.legend import legend
from service.adapters.documents.picture import Picture, picture_of
from service.adapters.documents.plan_drawing import draw_plan
from service.adapters.documents.plan_geometry import edge_lines
from service.adapters.documents.plan_groups import plans_of
from service.adapters.documents.scales import Printed, Scale, View, standard_scales
from service.domain.layout.deck import Level
from service.domain.layout.records import Layout

_LARGEST = 20
_EASY = 70  # at smaller scales lettering crowds: parts are shown too
_READABLE = 100  # at smaller scales numbers of posts stand on each other
_LEAST_READABLE = 96  # up to here, parts at a larger scale are made only if they are few
_FEW = 6
_PAIR = 2  # a plan of more than one part has no fewer
_LAP = 0.12  # of a part, shown again in the next
_MOST_PARTS = 24
_RIM = 1.5  # [mm]


@dataclass(frozen=True, slots=True)
class PlanFigure:
    """A plan to be put on a page.

    Attributes:
        name: Of its levels.
        scale: In words, as printed.
        part: Which part and of how many, "" for the whole.
    """

    picture: Picture
    name: str
    scale: str
    magnified: float
    part: str = ""
    window: Box | None = None


def plan_figures(
    layout: Layout,
    units: str,
    printed: Printed,
    room: tuple[float, float],
    magnified: float = 1.0,
    *,
    parts: bool = True,
) -> Iterator[PlanFigure]:
    """Draw the plans of a layout, the whole of each first, then its parts if it must be small.

    Args:
        layout: What to draw.
        units: "imperial" or "metric".
        printed: Prints a length for people.
        room: Width and height that a picture may take. [mm]
        magnified: How much larger lettering is printed than it is drawn.
        parts: False shows the whole alone.
    """
    for levels in plans_of(layout):
        name = ", ".join(level.name for level in levels)
        readable = _EASY if parts else _READABLE
        picture, scale = _fitting(layout, levels, units, printed, room, magnified, readable)
        yield PlanFigure(picture, name, scale.text, magnified)
        if parts and scale.ratio > _EASY:
            yield from _parts(layout, levels, units, printed, room, magnified, name)


def legend_picture(layout: Layout, room: float, magnified: float = 1.0) -> Picture:
    """Draw the legend over a width. [mm]"""
    return picture_of([legend(layout, 0.0, 0.0, room / magnified)])


def shrunk(scale: Scale, magnified: float) -> Scale:
    """Give the scale to draw at so that the picture, once magnified, has the scale it names."""
    return replace(scale, ratio=scale.ratio * magnified)


def _fitting(
    layout: Layout,
    levels: Sequence[Level],
    units: str,
    printed: Printed,
    room: tuple[float, float],
    magnified: float,
    readable: float,
) -> tuple[Picture, Scale]:
    scales = [scale for scale in standard_scales(units) if scale.ratio >= _LARGEST]
    for scale in scales:
        if not _outline_fits(levels, scale, room) and scale is not scales[-1]:
            continue
        picture = picture_of(
            draw_plan(
                layout,
                levels,
                shrunk(scale, magnified),
                printed,
                numbered=scale.ratio <= readable,
            )
        )
        wide, high = picture.box.width * magnified, picture.box.height * magnified
        if (wide <= room[0] and high <= room[1]) or scale is scales[-1]:
            break
    return picture, scale


def _outline_fits(levels: Sequence[Level], scale: Scale, room: tuple[float, float]) -> bool:
    places = [View(scale).at(line.start) for level in levels for line in edge_lines(level)]
    xs, ys = [x for x, _ in places], [y for _, y in places]
    return max(xs) - min(xs) <= room[0] and max(ys) - min(ys) <= room[1]


def _parts(
    layout: Layout,
    levels: Sequence[Level],
    units: str,
    printed: Printed,
    room: tuple[float, float],
    magnified: float,
    name: str,
) -> Iterator[PlanFigure]:
    """Cut a plan into parts that fit the page; empty ones are left out.

    The scale is that of the fewest parts among those easily read, if they are few, else the
    largest that is read at all, else whatever keeps to a number of parts that people leaf through.
    """
    parts: list[tuple[Box, Picture]] = []
    text, few = "", False
    for scale in [s for s in standard_scales(units) if s.ratio >= _EASY / 2]:
        most = _FEW if scale.ratio < _LEAST_READABLE else _MOST_PARTS
        if few and (len(parts) <= _PAIR or scale.ratio > _EASY):
            break
        if _least_parts(layout, levels, scale, room) > most:
            continue
        whole = picture_of(draw_plan(layout, levels, shrunk(scale, magnified), printed))
        filled = _filled(whole, room[0] / magnified, room[1] / magnified)
        if not few or len(filled) < len(parts):
            parts, text = filled, scale.text
        few = few or len(filled) <= most
    for number, (window, picture) in enumerate(parts, start=1):
        part = f"part {number} of {len(parts)}"
        yield PlanFigure(picture, name, text, magnified, part, window)


def _least_parts(
    layout: Layout, levels: Sequence[Level], scale: Scale, room: tuple[float, float]
) -> int:
    """Count roughly, without drawing, the parts that posts stand in."""
    names = {level.name for level in levels}
    places = [View(scale).at(post.at) for post in layout.posts if post.level in names]
    return len({(x // room[0], y // room[1]) for x, y in places})


def _filled(whole: Picture, wide: float, high: float) -> list[tuple[Box, Picture]]:
    """Give the parts of a plan that show a post or a section, with what they show."""
    groups = [(group, bounds(group.shapes)) for group in whole.groups if group.shapes]
    filled = []
    for window in _windows(_framed(whole.box), wide, high):
        kept = [group for group, box in groups if _meet(box, window)]
        if any(g.id.startswith("section-") or g.title.startswith("Post ") for g in kept):
            filled.append((window, Picture(tuple(kept), whole.box)))
    return filled


def _framed(box: Box) -> Box:
    """Give a box with paper around it, so that the frame of a part cuts no letters at its rim."""
    return Box(box.left - _RIM, box.top - _RIM, box.right + _RIM, box.bottom + _RIM)


def _windows(box: Box, wide: float, high: float) -> Iterator[Box]:
    columns, across = _divided(box.width, wide)
    rows, down = _divided(box.height, high)
    wide, high = min(wide, box.width), min(high, box.height)
    for row in range(rows):
        for column in range(columns):
            left, top = box.left + column * across, box.top + row * down
            yield Box(left, top, left + wide, top + high)


def _divided(length: float, room: float) -> tuple[int, float]:
    """Give how many parts a length takes, and how far apart they begin."""
    if length <= room:
        return 1, 0.0
    count = 1 + ceil((length - room) / (room * (1 - _LAP)))
    return count, (length - room) / (count - 1)


def _meet(one: Box, other: Box) -> bool:
    return (
        one.left < other.right
        and other.left < one.right
        and one.top < other.bottom
        and other.top < one.bottom
    )
