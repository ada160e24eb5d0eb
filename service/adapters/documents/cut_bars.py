"""Bars of stock with what is sawn from them, as primitives; lengths to scale, heights not."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from service.adapters.documents.labels import LARGE, SMALL
from service.adapters.documents.picture import Picture, picture_of
from service.adapters.documents.primitives import (
    Anchor,
    Group,
    Layer,
    Line,
    Polyline,
    Shape,
    Text,
    text_width,
)

Json = Mapping[str, Any]

_HIGH = 9.0  # of a bar on paper [mm]
_HATCH = 2.4  # between the strokes over what is left [mm]


def draw_bar(bar: Json, longest_mm: float, room: float) -> Picture:
    """Draw one bar: its pieces by number with their lengths, hatched what falls off.

    Args:
        bar: A bar of a cut plan as it was answered.
        longest_mm: Length of the longest bar drawn at this scale. [mm]
        room: Paper that one would take. [mm]
    """
    by = room / longest_mm
    whole = bar["length"]["mm"] * by
    shapes: list[Shape] = [*_hatched(bar, by), _box(0.0, whole, Layer.RAIL, blank=False)]
    for number, cut in enumerate(bar["cuts"], start=1):
        shapes += _piece(number, cut, by)
    title = f"{bar['sku']}, {bar['length']['text']}"
    return picture_of([Group("bar", title, tuple(shapes), _told(bar["cuts"]))])


def _told(cuts: Sequence[Json]) -> str:
    return "; ".join(
        f"{n}: {cut['piece']}, {cut['length']['text']}" for n, cut in enumerate(cuts, 1)
    )


def _box(left: float, right: float, layer: Layer, *, blank: bool) -> Polyline:
    corners = ((left, 0.0), (right, 0.0), (right, _HIGH), (left, _HIGH))
    return Polyline(corners, layer, closed=True, blank=blank)


def _hatched(bar: Json, by: float) -> Iterator[Shape]:
    """Hatch the whole bar; pieces are drawn over it and blank what they take."""
    whole = bar["length"]["mm"] * by
    at = -_HIGH
    while at < whole:
        left, right = max(at, 0.0), min(at + _HIGH, whole)
        yield Line((left, _HIGH - (left - at)), (right, _HIGH - (right - at)), Layer.DIMENSION)
        at += _HATCH


def _piece(number: int, cut: Json, by: float) -> Iterator[Shape]:
    left = cut["from_start"]["mm"] * by
    right = left + cut["length"]["mm"] * by
    middle = (left + right) / 2
    yield _box(left, right, Layer.RAIL, blank=True)
    label = str(number)
    length = cut["length"]["text"]
    both = f"{label}:  {length}"
    if text_width(both, SMALL) + 2.0 <= right - left:
        yield Text((middle, _HIGH * 0.5 + 0.4 * SMALL), both, SMALL, Anchor.MIDDLE)
    elif text_width(label, LARGE, bold=True) <= right - left:
        yield Text((middle, _HIGH * 0.5 + 0.36 * LARGE), label, LARGE, Anchor.MIDDLE, bold=True)
    first = cut["first_picket"]
    if first is not None:
        yield Line((left, _HIGH), (left, _HIGH + 2.0), Layer.MARK)
        yield Text((left + 0.8, _HIGH + 3.4), f"picket {first}", SMALL)
