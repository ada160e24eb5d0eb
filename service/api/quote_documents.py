"""Each form of a quote at an address of its own, for callers that name a file."""

from collections.abc import Callable
from uuid import UUID

from flask import Response
from flask_smorest import Blueprint

from service.api.body import JSON
from service.api.operations import json_of, operation
from service.api.quote_forms import OF_QUOTE, PARTS, Form, given
from service.usecases.callers import Scope

blueprint = Blueprint(
    "Quote documents",
    __name__,
    url_prefix="/v1/quotes",
    description="What an office, a workshop and other programs read of a quote.",
)
_TOLD = {
    ".json": ("getQuoteJson", "The quote as it was answered"),
    ".csv": ("getQuoteCsv", "The priced lines as CSV"),
    ".xlsx": ("getQuoteWorkbook", "The quote as a workbook whose formulas recompute"),
    ".xml": ("getQuoteUbl", "The quote as a UBL 2.1 Quotation"),
    ".svg": ("getQuoteSvg", "Plan and elevations as SVG"),
    ".dxf": ("getQuoteDxf", "Plan and elevations as DXF, in real units"),
    ".pdf": ("getQuotePdf", "The quote on paper, for the customer"),
    "/takeoff.csv": ("getTakeoffCsv", "Parts and hours as CSV"),
    "/cut-list.csv": ("getCutListCsv", "Every cut of every bar as CSV"),
    "/findings.csv": ("getFindingsCsv", "The findings of the code check as CSV"),
    "/cut-bars.svg": ("getCutBars", "The bars with their cuts as SVG"),
}


def _view(form: Form) -> Callable[[UUID], Response]:
    def view(quote_id: UUID) -> Response:
        return given(form, str(quote_id))

    view.__name__ = _TOLD[form.suffix][0]
    return view


for _form in (*OF_QUOTE, *PARTS):
    _name, _summary = _TOLD[_form.suffix]
    _content = {_form.media_type: {"schema": _form.schema}}
    _content = json_of("Quote") if _form.media_type == JSON else _content
    operation(
        blueprint,
        f"GET /<uuid:quote_id>{_form.suffix}",
        _name,
        _summary,
        needs=Scope.QUOTES_READ,
        answers={200: {"description": f"{_summary}.", "content": _content}},
        refusals=(404, 409),
    )(_view(_form))
