"""Printed documents of a quote: for the customer, for site, for the code official."""

from uuid import UUID

from flask import Response
from flask_smorest import Blueprint

from service.api.auth import stores
from service.api.context import context, today
from service.api.kept_requests import read_again
from service.api.operations import operation
from service.usecases.callers import Scope
from service.usecases.print_quote import Document, print_quote
from service.usecases.standing import standing_on

PDF = "application/pdf"
blueprint = Blueprint(
    "Printed documents",
    __name__,
    url_prefix="/v1/quotes",
    description="A quote on paper, under the dealer's letterhead. One that is a draft, declined, "
    "expired or replaced says so on every page, and has no room to sign.",
)
_IF_NONE_MATCH = {
    "name": "If-None-Match",
    "in": "header",
    "description": "An ETag already held.",
    "schema": {"type": "string"},
}


def _answers(description: str) -> dict[int, dict[str, object]]:
    return {
        200: {
            "description": description,
            "content": {PDF: {"schema": {"type": "string", "format": "binary"}}},
            "headers": {
                "ETag": {
                    "description": "Of these bytes; a new letterhead makes new ones, and so does a "
                    "new state of the quote.",
                    "schema": {"type": "string"},
                }
            },
        },
        304: {"description": "What is held is still right."},
    }


@operation(
    blueprint,
    "GET /<uuid:quote_id>/quote.pdf",
    "printQuote",
    "Print a quote for the customer",
    needs=Scope.QUOTES_READ,
    description="Items, sums and words are those of the quote as it was answered; costs and "
    "margins are never on it. The plan is left out, and the page says so, where this version "
    "lays the deck out differently.",
    parameters=[_IF_NONE_MATCH],
    answers=_answers("The quote with items, sums, plan, cautions and room to sign."),
    refusals=(404, 409),
)
def print_for_customer(quote_id: UUID) -> Response:
    """Give the quote on paper."""
    return _printed(quote_id, Document.QUOTE)


@operation(
    blueprint,
    "GET /<uuid:quote_id>/site-sheets.pdf",
    "printSiteSheets",
    "Print the sheets an installer takes to site",
    needs=Scope.QUOTES_READ,
    parameters=[_IF_NONE_MATCH],
    answers=_answers("Plan, elevations, cut list, schedules, inspection list; no price."),
    refusals=(404, 409),
)
def print_for_site(quote_id: UUID) -> Response:
    """Give the sheets for site."""
    return _printed(quote_id, Document.SITE_SHEETS)


@operation(
    blueprint,
    "GET /<uuid:quote_id>/code-report.pdf",
    "printCodeReport",
    "Print the findings on a quote with their sources",
    needs=Scope.QUOTES_READ,
    parameters=[_IF_NONE_MATCH],
    answers=_answers("Every finding, the screening of the structure, and what is missing."),
    refusals=(404, 409),
)
def print_code_report(quote_id: UUID) -> Response:
    """Give the code report."""
    return _printed(quote_id, Document.CODE_REPORT)


def paper(quote_id: str, document: Document) -> bytes:
    """Give a document of a quote on paper."""
    here, kept = context(), stores()
    return print_quote(
        quote_id,
        document,
        quotes=kept.quotes,
        read=read_again,
        press=here.press,
        printer=here.printer,
        head=kept.letterheads.letterhead(),
        standing=standing_on(kept.lives.life(quote_id), today()),
    )


def _printed(quote_id: UUID, document: Document) -> Response:
    response = Response(paper(str(quote_id), document), content_type=PDF)
    response.headers["Content-Disposition"] = f'inline; filename="{quote_id}-{document}.pdf"'
    return response
