"""Every bar of a quote's cut plans on one SVG sheet, from the answer that is kept."""

from collections.abc import Iterator
from dataclasses import replace

from service.adapters.documents.cut_bars import Json, draw_bar
from service.adapters.documents.drawing_svg import svg
from service.adapters.documents.extents import wrapped
from service.adapters.documents.labels import LARGE, MEDIUM, SMALL
from service.adapters.documents.primitives import Drawing, Group, Text, moved

_WIDTH, _MARGIN, _GAP = 297.0, 12.0, 8.0
_SAID = (
    "Lengths are those of the blanks, long point to long point. What is hatched falls off. "
    "Measure again before cutting."
)


def render(quote: Json) -> bytes:
    """Draw the bars of a stored quote, the same bytes for the same quote."""
    groups, foot = [], _MARGIN + LARGE
    for at, plan in enumerate(quote["cut_plans"], start=1):
        for group, height in _plan(at, plan):
            groups.append(moved(group, (_MARGIN, foot)))
            foot += height
    words = quote["reference"][:80]
    title = f"Cut bars of {words}" if words else "Cut bars"
    head = Group("title", title, tuple(_head(title)))
    described = f"{_SAID} {_counted(quote)}"
    drawing = Drawing(_WIDTH, foot + 2 * _MARGIN, title, described, (head, *groups))
    return svg(drawing).encode("utf-8")


def _head(title: str) -> Iterator[Text]:
    yield Text((_MARGIN, _MARGIN), title, LARGE, bold=True)
    yield Text((_MARGIN, _MARGIN + 1.6 * SMALL), _SAID, SMALL)


def _counted(quote: Json) -> str:
    bars = [f"{len(plan['bars'])} of {plan['material']}" for plan in quote["cut_plans"]]
    return f"Bars: {'; '.join(bars)}." if bars else "No bars are cut."


def _plan(at: int, plan: Json) -> Iterator[tuple[Group, float]]:
    """Give the heading and the bars of one material, each with the paper it takes up. [mm]"""
    room = _WIDTH - 2 * _MARGIN
    lines = wrapped(f"{plan['material']}: {len(plan['bars'])} bars", LARGE, room)
    step = 1.4 * LARGE
    texts = [Text((0.0, (i + 2) * step), line, LARGE, bold=True) for i, line in enumerate(lines)]
    yield Group(f"material-{at}", plan["material"], tuple(texts)), (len(lines) + 2) * step
    longest = max((bar["length"]["mm"] for bar in plan["bars"]), default=1.0)
    for number, bar in enumerate(plan["bars"], start=1):
        source = ", an offcut on hand" if bar["offcut"] else ""
        words = f"Bar {number}: {bar['sku']}, {bar['length']['text']}{source}"
        picture = draw_bar(bar, longest, room)
        (group,) = picture.groups
        text = Text((0.0, MEDIUM), words, MEDIUM)
        label = Group(f"label-{at}-{number}", words, (text,))
        yield label, 1.8 * MEDIUM
        named = replace(group, id=f"bar-{at}-{number}", title=f"{plan['material']}, {words}")
        yield named, picture.box.bottom + _GAP
