"""Schedules on the site sheets: parts, fasteners, pilot holes, what carries posts, blocking."""

from collections.abc import Iterator, Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from service.adapters.documents.element_names import named_in_rows
from service.adapters.documents.money_text import figure
from service.adapters.documents.sheet import Block, Column, Heading, Listing, Paragraph, Row, Table
from service.adapters.documents.sheet_words import unit_word
from service.spoken_lengths import in_units

Json = Mapping[str, Any]

_FASTENINGS = ("fastener", "connector", "sealant")
_MOST_NAMES = 8
_CARRIED = (
    Column("Post"), Column("Over", 1.0), Column("Blocks", 0.8), Column("Carried"),
    Column("Notes", 2.0),
)  # fmt: skip
_LANDINGS = (
    Column("Post"), Column("No.", right=True), Column("Timber", 1.0),
    Column("To edge", right=True), Column("To end", right=True), Column("Holds"),
)  # fmt: skip


def schedule_blocks(quote: Json) -> Iterator[Block]:
    """Tell what is fixed with what, into which holes, onto which timber."""
    layout = quote["layout"]
    items = quote["takeoff"]["items"]
    fastenings = [item for item in items if item["category"] in _FASTENINGS]
    others = [item for item in items if item["category"] not in _FASTENINGS]
    for title, chosen in (("Parts", others), ("Fasteners and connectors", fastenings)):
        if chosen:
            yield Heading(title)
            yield _items(chosen, title)
    yield Heading("Pilot holes")
    yield from _holes((quote.get("structure") or {}).get("holes"))
    yield Heading("What carries the posts")
    yield from _supports(layout["supports"], quote["units"])
    if layout["blocks"]:
        yield Heading("Blocking")
        yield _blocking(layout["blocks"])


def _items(items: Sequence[Json], title: str) -> Table:
    columns = (
        Column("SKU"),
        Column("Description", 1.4),
        Column("Needed", right=True),
        Column("Ordered", right=True),
        Column("Unit"),
        Column("For", 1.0),
    )
    rows = tuple(
        Row((
            item["sku"],
            item["description"] + (f", {item['length']['text']}" if item["length"] else ""),
            _needed(item["needed"]),
            figure(item["ordered"]),
            unit_word(item["unit_of_measure"]),
            named_in_rows(item["elements"], _MOST_NAMES),
        ))
        for item in items
    )  # fmt: skip
    return Table(columns, rows, title)


def _needed(quantity: str) -> str:
    """Round a quantity half up to two decimals; what is ordered is exact beside it."""
    exact = Decimal(quantity)
    rounded = exact.quantize(Decimal("0.01"), ROUND_HALF_UP)
    return figure(quantity if rounded == exact else f"{rounded.normalize():f}")


def _holes(holes: Json | None) -> Iterator[Block]:
    if holes is None:
        yield Paragraph(
            "None are given with this quote: drill as the fastener's and the system's "
            "instructions say."
        )
        return
    lead = f"{holes['lead_least']['text']} to {holes['lead_most']['text']}"
    yield Listing(
        (
            f"Shank of lag screws: {holes['clearance']['text']}.",
            f"Thread of lag screws: {lead} (wood of {holes['gravity_class']}).",
        )
    )


def _supports(supports: Sequence[Json], units: str) -> Iterator[Block]:
    if not supports:
        yield Paragraph(
            "The framing was not described with this quote: look under each post before drilling. "
            "Decking alone carries no post."
        )
        return
    rows = [
        Row((
            support["post"],
            ", ".join(support["over"]) or "–",
            ", ".join(support["blocks"]) or "–",
            "yes" if support["supported"] else "NO",
            in_units(" ".join(support["notes"]), units) or "–",
        ))
        for support in supports
    ]  # fmt: skip
    yield Table(_CARRIED, tuple(rows), "What carries each post")
    yield from _landings(supports)


def _landings(supports: Sequence[Json]) -> Iterator[Block]:
    landings = [
        Row((
            support["post"], str(landing["number"]), landing["timber"] or "–",
            landing["edge"]["text"], (landing["end"] or {}).get("text", "–"),
            "yes" if landing["holds"] else "NO",
        ))
        for support in supports
        for landing in support["fasteners"]
    ]  # fmt: skip
    if landings:
        yield Heading("Where fasteners land", 2)
        yield Table(_LANDINGS, tuple(landings), "Where fasteners land")


def _blocking(blocks: Sequence[Json]) -> Table:
    columns = (
        Column("Block"), Column("Level"), Column("For posts", 1.0), Column("Between", 1.0),
        Column("Length", right=True), Column("Section", right=True), Column("Plies", right=True),
        Column("Ends off square", right=True),
    )  # fmt: skip
    rows = []
    for block in blocks:
        thick, deep = ((block[key] or {}).get("text", "–") for key in ("thickness", "depth"))
        ends = " / ".join(f"{turned:.1f}°" if turned else "square" for turned in block["ends_deg"])
        rows.append(Row((
            block["name"], block["level"], ", ".join(block["posts"]), ", ".join(block["between"]),
            block["length"]["text"], f"{thick} × {deep}", str(block["plies"]), ends,
        )))  # fmt: skip
    return Table(columns, tuple(rows), "Blocking")
