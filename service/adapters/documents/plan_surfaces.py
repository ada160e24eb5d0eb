"""Walking surfaces of a plan with their names: levels of the deck, and landings."""

from collections.abc import Iterator

from service.adapters.documents.extents import bounds, wrapped
from service.adapters.documents.labels import LARGE, MEDIUM, SMALL, label
from service.adapters.documents.plan_geometry import roomiest_point
from service.adapters.documents.plan_page import PlanPage, shortened
from service.adapters.documents.primitives import (
    Anchor,
    Group,
    Layer,
    PaperPoint,
    Polyline,
    Shape,
    Text,
    text_width,
)
from service.domain.layout.deck import Level

_SMALLEST = 2.2  # letters on a landing may be as small as this
_SIDE = 1.5  # between a level's name and its sides [mm]
_LINE = 1.25  # line distance in letter heights


def draw_surface(page: PlanPage, level: Level) -> Group:
    """Draw a level's outline and letter its name inside; a landing's is small."""
    outline = tuple(page.view.at(vertex) for vertex in level.outline)
    shape = Polyline(outline, Layer.DECK, closed=True)
    at = page.view.at(roomiest_point(level.outline))
    name = shortened(level.name)
    texts: tuple[Shape, ...]
    if level.landing_of is None:
        texts = _level_name(page, outline, at, name)
        kind = "Level"
    else:
        texts = _landing_name(page, outline, level.name)
        kind = "Landing"
    identity = f"level-{page.level_keys[level.name]}"
    return Group(identity, f"{kind} {level.name}", (shape, *texts))


def _level_name(
    page: PlanPage, outline: tuple[PaperPoint, ...], at: PaperPoint, name: str
) -> tuple[Text, ...]:
    """Letter a level's name as large as it keeps within the sides, if need be off the middle."""
    box = bounds([Polyline(outline, Layer.DECK)])
    beside = min(at[0] - box.left, box.right - at[0]) - _SIDE
    for size in (LARGE, MEDIUM, SMALL):
        half = text_width(name, size, bold=True) / 2
        if half <= beside:
            break
    x = max(min(at[0], box.right - _SIDE - half), min(box.left + _SIDE + half, box.right))
    return label(page.taken, (x, at[1]), (0.0, 1.0), name, size, bold=True)


def _landing_name(page: PlanPage, outline: tuple[PaperPoint, ...], name: str) -> tuple[Text, ...]:
    """Letter a landing's name in lines within its outline, or only its number, or nothing."""
    box = bounds([Polyline(outline, Layer.DECK)])
    middle = ((box.left + box.right) / 2, (box.top + box.bottom) / 2)
    for words in (shortened(name), " ".join(name.split()[-2:])):
        for size in (SMALL, _SMALLEST):
            lines = wrapped(words, size, box.width - 6.0)
            whole = set(words.split()) == {word for line in lines for word in line.split()}
            high = len(lines) * size * _LINE
            if whole and high < box.height - 6.0:
                texts = tuple(_lines(middle, lines, size))
                if all(page.taken.free(bounds([text])) for text in texts):
                    page.taken.add_shapes(texts)
                    return texts
    return ()


def _lines(middle: PaperPoint, lines: tuple[str, ...], size: float) -> Iterator[Text]:
    top = middle[1] - (len(lines) - 1) * size * _LINE / 2 + 0.28 * size
    for i, line in enumerate(lines):
        yield Text((middle[0], top + i * size * _LINE), line, size, Anchor.MIDDLE)
