"""The cut list on the site sheets: every bar drawn, and each piece with its saw angle."""

from collections.abc import Iterator, Mapping
from typing import Any

from service.adapters.documents.cut_bars import draw_bar
from service.adapters.documents.quote_layout_text import some
from service.adapters.documents.sheet import (
    Block,
    Column,
    Figure,
    Heading,
    Paragraph,
    Row,
    Table,
)

Json = Mapping[str, Any]

_ROOM = 134.0  # of the longest bar before it is magnified [mm]
_MAGNIFIED = 1.25
_COLUMNS = (
    Column("No.", right=True),
    Column("Piece", 1.0),
    Column("From bar's end", right=True),
    Column("Length", right=True),
    Column("Sawn off square", right=True),
    Column("First picket", right=True),
)


def cut_blocks(quote: Json) -> Iterator[Block]:
    """Tell and draw every bar of every cut plan, in the order they are sawn."""
    if not quote["cut_plans"]:
        return
    angles = _angles(quote["layout"])
    yield Heading("Cut list", fresh=True)
    yield Paragraph(
        "Lengths are those of the blanks, long point to long point; places are from the bar's end "
        "at the left. What is hatched falls off. Pickets are counted by the holes of the bar."
    )
    for plan in quote["cut_plans"]:
        bars = plan["bars"]
        yield Heading(f"{plan['material']}: {some(len(bars), 'bar')}", 2)
        longest = max(bar["length"]["mm"] for bar in bars)
        for number, bar in enumerate(bars, start=1):
            yield from _bar(number, bar, longest, angles)


def _bar(number: int, bar: Json, longest: float, angles: Mapping[str, float]) -> Iterator[Block]:
    source = ", an offcut on hand" if bar["offcut"] else ""
    yield Heading(f"Bar {number}: {bar['sku']}, {bar['length']['text']}{source}", 3)
    picture = draw_bar(bar, longest, _ROOM)
    told = picture.groups[0].description
    yield Figure(picture, f"Bar {number}, {bar['sku']}: {told}.", _MAGNIFIED, keep=True)
    rows = [
        Row((
            str(place),
            cut["piece"],
            cut["from_start"]["text"],
            cut["length"]["text"],
            _angle(angles.get(cut["piece"], 0.0)),
            str(cut["first_picket"]) if cut["first_picket"] is not None else "–",
        ), keep=True)
        for place, cut in enumerate(bar["cuts"], start=1)
    ]  # fmt: skip
    yield Table(_COLUMNS, tuple(rows), f"Cuts of bar {number}")
    yield Paragraph(_rest(bar))


def _rest(bar: Json) -> str:
    kept = bar["reusable"]
    name = f" ({kept['name']})" if kept and kept.get("name") else ""
    reused = f", keep {kept['length']['text']}{name}" if kept else ""
    return (
        f"Trimmed {bar['trim']['text']}, sawn away {bar['kerf']['text']}, "
        f"left {bar['remnant']['text']}{reused}."
    )


def _angle(saw_deg: float) -> str:
    return f"{saw_deg:.1f}°" if saw_deg else "square"


def _angles(layout: Json) -> dict[str, float]:
    """Give the saw angle of each piece by its name."""
    angles: dict[str, float] = {}
    for section in layout["sections"]:
        infill = (section["infill"] or {}).get("rails") or ()
        for rail in (*section["rails"], *infill):
            angles[rail["name"]] = rail["saw_deg"]
    for rail in layout.get("handrails") or ():
        angles[rail["name"]] = rail["saw_deg"]
    return angles
