"""Prints the documents of a quote as PDF, from the answer that is kept and its layout."""

from dataclasses import replace
from typing import Any

import orjson

from service.adapters.documents.code_sheet import code_sheet
from service.adapters.documents.drawing_sheet import MOST_SECTIONS
from service.adapters.documents.pdf import render
from service.adapters.documents.plan_figures import legend_picture, plan_figures
from service.adapters.documents.quote_sheet import quote_sheet
from service.adapters.documents.section_figures import handrail_figures, section_figures
from service.adapters.documents.setting import MARGIN, RUNNING
from service.adapters.documents.sheet import Paragraph, Sheet, Tone
from service.adapters.documents.sheet_words import paper_of, replaced
from service.adapters.documents.site_sheet import MAGNIFIED, SitePictures, site_sheet
from service.domain.layout.records import Layout
from service.quantities import length_text
from service.usecases.letterhead import Letterhead
from service.usecases.orders import Units
from service.usecases.print_quote import Document
from service.usecases.standing import OFFERED, Standing

_SIGNED = 85.0  # room for the heading and the scale of a quote's plan, and for signing below [mm]
_AROUND = 32.0  # room for the heading and the scale of a plan on site sheets [mm]
_ELEVATION = 120.0  # height an elevation may take beside its tables [mm]


def print_document(
    document: Document,
    answer: bytes,
    layout: Layout | None,
    head: Letterhead,
    standing: Standing = OFFERED,
) -> bytes:
    """Print a document of a quote, the same bytes for the same answer and all that goes with it."""
    quote = orjson.loads(answer)
    sheet = _sheet(document, quote, layout, head, standing)
    if standing != OFFERED:
        sheet = _told(sheet, standing)
    signed = (head.name, head.footer, head.registration, *head.address, *head.contact)
    missing = replaced(answer.decode(), *signed)
    if missing:
        sheet = replace(sheet, blocks=(*sheet.blocks, Paragraph(missing, Tone.SMALL)))
    return render(sheet)


def _told(sheet: Sheet, standing: Standing) -> Sheet:
    """Say where a quote stands under the title, at the head of each page and in the name."""
    title, *blocks = sheet.blocks
    said = Paragraph(standing.sentence, Tone.LARGE)
    return replace(
        sheet,
        title=f"{sheet.title} ({standing.word.lower()})",
        running=f"{standing.word}  ·  {sheet.running}",
        blocks=(title, said, *blocks),
    )


def _sheet(
    document: Document, quote: Any, layout: Layout | None, head: Letterhead, standing: Standing
) -> Sheet:
    if document is Document.CODE_REPORT:
        return code_sheet(quote, head)
    if document is Document.QUOTE:
        return quote_sheet(quote, head, _plans(quote, layout), offered=standing == OFFERED)
    if layout is None:
        raise ValueError("site sheets need a layout")
    return site_of(quote, head, layout)


def site_of(quote: Any, head: Letterhead, layout: Layout) -> Sheet:
    """Make the sheets for site of a quote and its layout."""
    return site_sheet(quote, head, _pictures(quote, layout))


def _printed(units: Units) -> Any:
    return lambda length_nm: length_text(length_nm, units)


def _plans(quote: Any, layout: Layout | None) -> list[Any]:
    if layout is None:
        return []
    units = Units(quote["units"])
    wide, high = _room(quote)
    plans = plan_figures(layout, units.value, _printed(units), (wide, high - _SIGNED), parts=False)
    return list(plans)


def _room(quote: Any) -> tuple[float, float]:
    wide, high = paper_of(quote).value
    return wide - 2 * MARGIN, high - 2 * MARGIN - 2 * RUNNING


def _pictures(quote: Any, layout: Layout) -> SitePictures:
    units = Units(quote["units"])
    printed, named = _printed(units), units.value
    wide, high = _room(quote)
    system, elevation = layout.system, (wide, _ELEVATION)
    heights = {
        "guard": system.guard_height_nm,
        "stair": system.stair_guard_height_nm,
        "gap": system.bottom_gap_nm,
        "stair gap": system.stair_bottom_gap_nm,
    }
    drawn = replace(layout, sections=layout.sections[:MOST_SECTIONS])
    return SitePictures(
        plans=tuple(plan_figures(layout, named, printed, (wide, high - _AROUND), MAGNIFIED)),
        legend=legend_picture(layout, wide, MAGNIFIED),
        sections=tuple(section_figures(drawn, named, printed, elevation, MAGNIFIED)),
        handrails=tuple(handrail_figures(layout, named, printed, elevation, MAGNIFIED)),
        heights={name: printed(length_nm) for name, length_nm in heights.items()},
    )
