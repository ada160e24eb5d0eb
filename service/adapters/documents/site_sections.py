"""One section on the site sheets: its elevation, what the picture cannot show, what is cut."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from service.adapters.documents.section_figures import SectionFigure
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

_RAILS = (
    Column("Rail", 1.0),
    Column("Length", right=True),
    Column("From post centre", right=True),
    Column("Sawn off square", right=True),
    Column("First picket", right=True),
    Column("Pitch", right=True),
    Column("Places", right=True),
)
_PANELS = (
    Column("Panel"),
    Column("Supplied as", 1.0),
    Column("From post centre", right=True),
    Column("Width", right=True),
    Column("Height", right=True),
    Column("Corners: start low / high, end low / high", 1.4),
    Column("Clamps", right=True),
)


def elevation(figure: SectionFigure, *, keep: bool = False) -> Figure:
    """Give an elevation with its words."""
    return Figure(figure.picture, f"{figure.title}. {figure.said}", figure.magnified, keep=keep)


def section_blocks(figure: SectionFigure, section: Json, layout: Json) -> Iterator[Block]:
    """Tell and draw a section on as little paper as holds it together."""
    ends = f"{section['start']['post']} to {section['end']['post']}"
    kind = "Stair section" if section["rake"] else "Section"
    yield Heading(f"{kind} {section['name']}: {ends}", 2)
    yield elevation(figure, keep=True)
    yield Paragraph(f"Scale {figure.scale} if printed at full size.", keep=True)
    yield Paragraph(figure.said, keep=True)
    for sentence in _particulars(section, layout):
        yield Paragraph(sentence, keep=True)
    infill = section["infill"] or {}
    if infill.get("kind") == "glass":
        yield _panels(infill["panels"])
    yield _rails(section)


def _particulars(section: Json, layout: Json) -> Iterator[str]:
    pickets = section["pickets"]
    start, end = section["start"]["post"], section["end"]["post"]
    if pickets["count"]:
        gaps = [gap["text"] for gap in pickets["end_gaps"]]
        yield f"End gaps: {gaps[0]} at {start}, {gaps[1]} at {end}."
    yield from _infill(section["infill"] or {})
    for post in section["line_posts"]:
        at = f"{post['from_start']['text']} from the centre of {start}"
        removed = any(
            abs(place["mm"] - post["from_start"]["mm"]) < pickets["width"]["mm"] + 0.001
            for place in pickets["removed"]
        )
        told = "; the picket there is removed" if removed else ""
        yield f"Line post {post['post']} stands {at}{told}."
    for leg, height in zip(section["support_legs"], section["support_leg_heights"], strict=False):
        yield f"Support leg {leg['text']} from the centre of {start}, {height['text']} high."
    for fit in layout["raked_fits"]:
        if any(rail["name"] == fit["rail"] for rail in section["rails"]):
            yield (
                f"{fit['rail']} enters its post by {fit['entry']['text']}; visible gap "
                f"{fit['visible_gap']['text']}."
            )


def _infill(infill: Json) -> Iterator[str]:
    """Give the heights of what runs from post to post, and what holds it apart."""
    heights = ", ".join(height["text"] for height in infill.get("heights") or ())
    if heights:
        yield f"{str(infill['kind']).capitalize()} at heights {heights}."
    spreaders = ", ".join(place["text"] for place in infill.get("spreaders") or ())
    if spreaders:
        length = infill["spreader_length"]["text"]
        yield f"Spreaders {length} long, {spreaders} from the centre of the first post."
    if infill.get("kind") == "glass" and infill["gaps"]:
        yield f"Gaps beside the panels: {', '.join(gap['text'] for gap in infill['gaps'])}."


def _rails(section: Json) -> Table:
    """Set the rails; without pickets their columns are left out."""
    rails = [*section["rails"], *((section["infill"] or {}).get("rails") or ())]
    count = 7 if section["pickets"]["count"] else 4
    rows = [
        Row((
            rail["name"],
            rail["length"]["text"],
            rail["from_start"]["text"],
            f"{rail['saw_deg']:.1f}°" if rail["saw_deg"] else "square",
            (rail.get("first_picket") or {}).get("text", "–"),
            (rail.get("pitch") or {}).get("text", "–"),
            str(rail.get("pickets") or "–"),
        )[:count], keep=True)
        for rail in rails
    ]  # fmt: skip
    return Table(_RAILS[:count], tuple(rows), f"Rails of section {section['name']}")


def _panels(panels: Sequence[Json]) -> Table:
    rows = [
        Row((
            panel["name"],
            panel["stock"] or "–",
            panel["from_start"]["text"],
            panel["width"]["text"],
            panel["height"]["text"],
            " / ".join(height["text"] for height in panel["corners"].values()),
            str(panel["clamps"]),
        ), keep=True)
        for panel in panels
    ]  # fmt: skip
    return Table(_PANELS, tuple(rows), "Panels of glass")
