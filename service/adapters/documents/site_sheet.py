"""The sheets an installer takes to site: plan, elevations, cuts, order of work, what to check.

Lengths and counts are those of the quote as it was answered; the pictures are of its layout. No
amount of money is on them.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.adapters.documents.picture import Picture
from service.adapters.documents.plan_figures import PlanFigure
from service.adapters.documents.quote_layout_text import counted
from service.adapters.documents.section_figures import SectionFigure
from service.adapters.documents.sheet import (
    Blanks,
    Block,
    Column,
    Facts,
    Figure,
    Heading,
    Listing,
    Mark,
    Paragraph,
    Row,
    Sheet,
    Table,
    Tone,
)
from service.adapters.documents.sheet_words import customer_text, footing, paper_of, running
from service.adapters.documents.site_checks import care, checks
from service.adapters.documents.site_cuts import cut_blocks
from service.adapters.documents.site_schedules import schedule_blocks
from service.adapters.documents.site_sections import elevation, section_blocks
from service.adapters.notes import notes_of
from service.usecases.letterhead import Letterhead

Json = Mapping[str, Any]

SIZE = 10.5  # letters of plain text, read at arm's length [pt]
MAGNIFIED = 1.25  # pictures are lettered for a large sheet at 8.5 pt; here at 10.6 pt


@dataclass(frozen=True, slots=True)
class SitePictures:
    """What is drawn of a layout for site.

    Attributes:
        heights: Of what is to be checked on site, printed, by name.
    """

    plans: tuple[PlanFigure, ...]
    legend: Picture
    sections: tuple[SectionFigure, ...]
    handrails: tuple[SectionFigure, ...]
    heights: Mapping[str, str]


def site_sheet(quote: Json, head: Letterhead, drawn: SitePictures) -> Sheet:
    """Make the sheets of a quote for site."""
    about = f" for {quote['reference']}" if quote["reference"] else ""
    return Sheet(
        title=f"Site sheets{about}",
        author=head.name,
        subject=f"Quote {quote['id']}",
        running=running(head, "Site sheets", quote),
        footing=footing(quote),
        paper=paper_of(quote),
        size=SIZE,
        blocks=tuple(_blocks(quote, head, drawn)),
        letterhead=head,
        made_on=quote["created_on"],
    )


def _blocks(quote: Json, head: Letterhead, drawn: SitePictures) -> Iterator[Block]:
    layout = quote["layout"]
    yield Heading("Site sheets")
    yield Facts(tuple(_facts(quote)))
    yield Paragraph("Measure again before anything is cut.", Tone.STRONG)
    if layout["installation"]:
        yield Heading("Order of installation")
        yield Listing(tuple(step["text"] for step in layout["installation"]), Mark.NUMBER)
    yield Heading("Posts")
    yield _posts(layout["posts"])
    yield from _plan(drawn)
    yield Heading("Elevations")
    for figure, section in zip(drawn.sections, layout["sections"], strict=False):
        yield from section_blocks(figure, section, layout)
    left_out = len(layout["sections"]) - len(drawn.sections)
    if left_out:
        yield Paragraph(f"{left_out} further sections are not drawn; the quote lists them.")
    for figure in drawn.handrails:
        yield Heading(f"Handrail {figure.name}", 2)
        yield elevation(figure)
    yield from cut_blocks(quote)
    yield from schedule_blocks(quote)
    yield Heading("Final inspection", fresh=True)
    yield Paragraph("Tick what was looked at and is right; write beside it what is not.", keep=True)
    yield Listing(tuple(checks(layout, drawn.heights)), Mark.TICK)
    yield from _ending(quote, head)


def _ending(quote: Json, head: Letterhead) -> Iterator[Block]:
    names = ("Name", "Signature", "Date")
    yield Blanks((("Installed and checked by", names), ("Seen by the customer", names)))
    yield Heading("Care")
    yield Listing(tuple(care(quote["layout"])))
    notes = notes_of(quote)
    if notes:
        yield Heading("Notes")
        yield Listing(notes)
    yield Heading("Cautions")
    yield Listing(tuple(quote["cautions"]))


def _facts(quote: Json) -> Iterator[tuple[str, str]]:
    if quote["reference"]:
        yield "Job", quote["reference"]
    told = customer_text(quote)
    if told:
        yield "Customer", told
    yield "Quote", quote["id"]
    yield "Made on", quote["created_on"]
    yield "System", quote["layout"]["system"]
    yield "Guard", counted(quote["layout"])
    imperial = quote["units"] == "imperial"
    yield "Lengths", "feet and inches" if imperial else "millimetres"


def _plan(drawn: SitePictures) -> Iterator[Block]:
    for plan in drawn.plans:
        part = f", {plan.part}" if plan.part else ""
        yield Heading(f"Plan of {plan.name}{part}", fresh=True)
        yield Paragraph(f"Scale {plan.scale} if printed at full size.", keep=True)
        alt = f"Plan of {plan.name}{part} with the numbers of posts and sections."
        yield Figure(plan.picture, alt, plan.magnified, plan.window)
    yield Figure(drawn.legend, "Legend: what each line and mark stands for.", MAGNIFIED)


def _posts(posts: Sequence[Json]) -> Table:
    columns = (
        Column("Post"),
        Column("Kind", 1.0),
        Column("Where", 1.5),
        Column("x", right=True),
        Column("y", right=True),
        Column("Cut from", 1.2),
        Column("Height", right=True),
    )
    rows = tuple(
        Row((
            post["name"],
            f"{post['position'].replace('_', ' ')}, on {post['surface']}",
            _where(post),
            post["at"]["x"]["text"],
            post["at"]["y"]["text"],
            post["stock"] or "stands already",
            post["height"]["text"],
        ))
        for post in posts
    )  # fmt: skip
    return Table(columns, rows, "Posts with their places in plan")


def _where(post: Json) -> str:
    place = f"stair {post['stair']}" if post["stair"] else f"edge {post['edge']}"
    return f"{post['level']}, {place}"
