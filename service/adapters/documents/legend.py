"""The legend: what each line and mark on the sheet stands for, only what occurs on it."""

from collections.abc import Iterator

from service.adapters.documents.labels import SMALL
from service.adapters.documents.primitives import Group, Layer, Line, Polyline, Shape, Text
from service.domain.layout.deck import EdgeKind
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
    kinds = {edge.kind for level in layout.deck.levels for edge in level.edges}
    existing = any(post.position is PostPosition.EXISTING for post in layout.posts)
    yield "deck edge", Layer.DECK
    if EdgeKind.WALL in kinds:
        yield "wall", Layer.WALL
    if EdgeKind.EXISTING in kinds or existing:
        yield "existing", Layer.EXISTING
    yield "guard", Layer.RAIL
    yield "post, in plan", Layer.POST
    if layout.stairs:
        yield "nosing line", Layer.NOSING
    if layout.system.assembly is Assembly.PREFABRICATED:
        yield "post carried by the section", Layer.PICKET
        yield "post that stands already", Layer.STANDING_POST
    if any(section.pickets.removed_nm for section in layout.sections):
        yield "picket removed", Layer.MARK


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
    elif layer is Layer.MARK:
        yield Line((middle - 1.4, y - 1.4), (middle + 1.4, y + 1.4), Layer.MARK)
        yield Line((middle - 1.4, y + 1.4), (middle + 1.4, y - 1.4), Layer.MARK)
    else:
        yield Line((x, y), (x + _SAMPLE, y), layer)


def _square(x: float, y: float, half: float, layer: Layer, *, solid: bool) -> Polyline:
    corners = (
        (x - half, y - half),
        (x + half, y - half),
        (x + half, y + half),
        (x - half, y + half),
    )
    return Polyline(corners, layer, closed=True, solid=solid)
