"""The forms a kept quote is given in: one registry for suffixes and for the Accept header."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import orjson
from flask import Response, request

from service.api.auth import stores
from service.api.body import JSON
from service.api.context import Beside, context, today
from service.api.documents_pdf import PDF, paper
from service.api.kept_requests import read_again
from service.api.manners.negotiation import best_offer
from service.usecases.draw_quote import draw_quote, plot_quote
from service.usecases.print_quote import Document
from service.usecases.standing import standing_on

SVG = "image/svg+xml"
CSV = "text/csv"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
XML = "application/xml"
DXF = "image/vnd.dxf"
# A picture may run nothing and fetch nothing.
_STILL = {"Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'"}
_TEXT: Mapping[str, Any] = {"type": "string"}
_BYTES: Mapping[str, Any] = {"type": "string", "format": "binary"}


@dataclass(frozen=True, slots=True)
class Form:
    """One form of a quote.

    Attributes:
        suffix: What follows the quote's address, such as ".csv" or "/findings.csv".
        media_type: What an Accept header names it by.
        write: Gives it for a quote's id.
        parameters: Of the media type, as sent.
        headers: Sent with it.
        schema: Of its body in the document.
    """

    suffix: str
    media_type: str
    write: Callable[[str], bytes]
    parameters: str = ""
    headers: Mapping[str, str] = field(default_factory=dict)
    schema: Mapping[str, Any] = field(default_factory=lambda: _TEXT)


def _kept(quote_id: str) -> bytes:
    return stores().quotes.answer(quote_id)


def _sheet(name: str) -> Callable[[str], bytes]:
    """Give what writes a document out of the answer that is kept."""

    def write(quote_id: str) -> bytes:
        kept = stores()
        dealer = kept.letterheads.letterhead().name
        standing = standing_on(kept.lives.life(quote_id), today())
        return context().sheets[name](orjson.loads(_kept(quote_id)), Beside(dealer, standing))

    return write


def _drawing(quote_id: str) -> bytes:
    return draw_quote(quote_id, quotes=stores().quotes, read=read_again, press=context().press)


def _plot(quote_id: str) -> bytes:
    return plot_quote(quote_id, quotes=stores().quotes, read=read_again, press=context().press)


def _paper(quote_id: str) -> bytes:
    return paper(quote_id, Document.QUOTE)


_CSV = "; charset=utf-8; header=present"
DRAWING = Form(".svg", SVG, _drawing, headers=_STILL)
OF_QUOTE = (
    Form(".json", JSON, _kept),
    Form(".csv", CSV, _sheet("lines.csv"), _CSV),
    Form(".xlsx", XLSX, _sheet("quote.xlsx"), schema=_BYTES),
    Form(".xml", XML, _sheet("quote.xml")),
    DRAWING,
    Form(".dxf", DXF, _plot),
    Form(".pdf", PDF, _paper, schema=_BYTES),
)
PARTS = (
    Form("/takeoff.csv", CSV, _sheet("takeoff.csv"), _CSV),
    Form("/cut-list.csv", CSV, _sheet("cut-list.csv"), _CSV),
    Form("/findings.csv", CSV, _sheet("findings.csv"), _CSV),
    Form("/cut-bars.svg", SVG, _sheet("cut-bars.svg"), headers=_STILL),
)


def accepted() -> Form:
    """Give the form of a quote that the caller likes best; what nobody offers is refused before."""
    forms = {form.media_type: form for form in OF_QUOTE}
    return forms[best_offer(request.accept_mimetypes, tuple(forms)) or JSON]


def pointed(response: Response, quote_id: str) -> Response:
    """Tell the other forms of a quote by links (RFC 8288, relation "alternate")."""
    response.headers["Link"] = ", ".join(
        f'</v1/quotes/{quote_id}{form.suffix}>; rel="alternate"; type="{form.media_type}"'
        for form in OF_QUOTE
        if form.media_type != response.mimetype
    )
    return response


def given(form: Form, quote_id: str) -> Response:
    """Answer with a quote in a form."""
    content_type = form.media_type + form.parameters
    response = Response(form.write(quote_id), content_type=content_type, headers=form.headers)
    if form.media_type != JSON:
        name = form.suffix.lstrip("/") if form.suffix.startswith("/") else f"quote{form.suffix}"
        response.headers["Content-Disposition"] = f'inline; filename="{quote_id}-{name}"'
    return response
