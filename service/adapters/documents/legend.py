"""The legend: what each line and mark on the sheet stands for, only what occurs on it."""

from collections.abc import Iterator

from service.adapters.documents.labels import SMALL
from service.adapters.documents.plan_edges import free_stretches
from service.adapters.documents.plan_geometry import edge_lines
from service.adapters.documents.primitives import (
    Circle,
    Group,
    Layer,
    Line,
    Polyline,
    Shape,
    Text,
)
from service.domain.layout.deck import EdgeKind, Level, OpeningKind
from service.domain.layout.records import Layout, PostPosition
from service.domain.layout.system import Assembly

_SAMPLE = 9.0


def legend(layout: Layout, left: float, top: float, room: float) -> Group:
    """Draw the legend as one or more rows from a place on paper."""
    shapes: list[Shape] = []
    x, y = left, top
    for words, sample in _entries(layout):
        text = Text((x + _SAMPLE + 2.0, y + 1.0), words, SMALL)
        if x + _SAMPLE + text.width > left + room:
            x, y = left, y + 6.0
            text = Text((x + _SAMPLE + 2.0, y + 1.0), words, SMALL)
        shapes += [*_sample(sample, x, y), text]
        x += _SAMPLE + text.width + 7.0
    return Group("legend", "Legend", tuple(shapes))


def _entries(layout: Layout) -> Iterator[tuple[str, Layer]]:
    edges = [edge for level in layout.deck.levels for edge in level.edges]
    kinds = {edge.kind for edge in edges}
    openings = {opening.kind for edge in edges for opening in edge.openings}
    existing = any(post.position is PostPosition.EXISTING for post in layout.posts)
    yield "deck edge", Layer.DECK
    if any(_bare(level) for level in layout.deck.levels):
        yield "open edge, no guard", Layer.UNGUARDED
    if EdgeKind.WALL in kinds:
        yield "wall", Layer.WALL
    if EdgeKind.EXISTING in kinds or existing:
        yield "existing", Layer.EXISTING
    if OpeningKind.OBSTACLE in openings:
        yield "obstacle", Layer.FRAME
    yield "guard", Layer.RAIL
    yield "post, in plan", Layer.POST
    if OpeningKind.GATE in openings:
        yield "gate", Layer.GATE
    if layout.handrails:
        yield "handrail", Layer.HANDRAIL
    if layout.stairs:
        yield "nosing line", Layer.NOSING
    if layout.system.assembly is Assembly.PREFABRICATED:
        yield "post carried by the section", Layer.PICKET
        yield "post that stands already", Layer.STANDING_POST
    if any(section.pickets.removed_nm for section in layout.sections):
        yield "picket removed", Layer.MARK
    if any(section.support_legs_nm for section in layout.sections):
        yield "support leg", Layer.SUPPORT


def _bare(level: Level) -> bool:
    """Tell whether a level has a stretch of open edge without a guard."""
    return any(
        line.edge.kind is EdgeKind.OPEN and not line.edge.guarded and any(free_stretches(line))
        for line in edge_lines(level)
    )


def _sample(layer: Layer, x: float, y: float) -> Iterator[Shape]:
    middle = x + _SAMPLE / 2
    if layer is Layer.WALL:
        yield Line((x, y), (x + _SAMPLE, y), layer)
        yield Line((x, y - 2.0), (x + _SAMPLE, y - 2.0), layer)
        for i in range(4):
            yield Line((x + 0.4 + i * 2, y), (x + 2.2 + i * 2, y - 2.0), layer)
    elif layer is Layer.EXISTING:
        yield Line((x, y), (x + _SAMPLE, y), layer)
        yield Line((x, y - 2.0), (x + _SAMPLE, y - 2.0), layer)
    elif layer is Layer.POST:
        yield _square(middle, y, 0.8, layer, solid=True)
    elif layer is Layer.PICKET:
        yield _square(middle, y, 1.5, Layer.POST, solid=False)
    elif layer is Layer.STANDING_POST:
        yield _square(middle, y, 1.5, layer, solid=False)
    elif layer is Layer.UNGUARDED:
        yield Line((x, y), (x + _SAMPLE, y), Layer.DECK)
        yield Line((x, y + 1.3), (x + _SAMPLE, y + 1.3), layer)
    elif layer is Layer.FRAME:
        corners = ((x, y - 2.2), (x + _SAMPLE, y - 2.2), (x + _SAMPLE, y + 0.8), (x, y + 0.8))
        yield Polyline(corners, Layer.EXISTING, closed=True)
        yield Line(corners[0], corners[2], Layer.WALL)
        yield Line(corners[1], corners[3], Layer.WALL)
    elif layer is Layer.HANDRAIL:
        yield Polyline(((x, y - 1.2), (x, y), (x + _SAMPLE, y), (x + _SAMPLE, y - 1.2)), layer)
        yield Circle((middle, y), 0.6, layer, solid=True)
    elif layer is Layer.SUPPORT:
        yield _rectangle(middle - 0.5, middle + 0.5, y - 2.0, y + 0.6, layer)
    elif layer is Layer.MARK:
        yield Line((middle - 1.4, y - 1.4), (middle + 1.4, y + 1.4), Layer.MARK)
        yield Line((middle - 1.4, y + 1.4), (middle + 1.4, y - 1.4), Layer.MARK)
    else:
        yield Line((x, y), (x + _SAMPLE, y), layer)


def _rectangle(left: float, right: float, top: float, foot: float, layer: Layer) -> Polyline:
    return Polyline(((left, top), (right, top), (right, foot), (left, foot)), layer, closed=True)


def _square(x: float, y: float, half: float, layer: Layer, *, solid: bool) -> Polyline:
    corners = (
        (x - half, y - half),
        (x + half, y - half),
        (x + half, y + half),
        (x - half, y + half),
    )
    return Polyline(corners, layer, closed=True, solid=solid)
