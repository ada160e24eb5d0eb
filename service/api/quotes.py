"""Quotes: made once, read for ever as they were answered."""

from datetime import date
from uuid import UUID

from flask import Response
from flask_smorest import Blueprint
from marshmallow import ValidationError

from service import __version__
from service.api.auth import stores
from service.api.body import JSON
from service.api.context import context, load
from service.api.manners.negotiation import VARY
from service.api.operations import json_of, located, operation
from service.api.quote_forms import DRAWING, OF_QUOTE, SVG, accepted, given, pointed
from service.api.schemas.requests import QUOTE_REQUEST
from service.usecases.callers import Scope
from service.usecases.orders import QuoteOrder
from service.usecases.ports import StoredQuote
from service.usecases.quote_railing import Receipt, quote_railing

blueprint = Blueprint(
    "Quotes", __name__, url_prefix="/v1/quotes", description="From a taped deck to a price."
)

_SAME_ID = {"quote_id": "$response.body#/id"}
# Where an answer that is a quote leads. Each of these steps can be taken at once.
OF_A_QUOTE = {
    name: {"operationId": operation_id, "parameters": _SAME_ID}
    for name, operation_id in {
        "GetQuote": "getQuote",
        "GetCosts": "getQuoteCosts",
        "GetDrawing": "getDrawing",
        "Print": "printQuote",
        "PrintSiteSheets": "printSiteSheets",
        "PrintCodeReport": "printCodeReport",
        "GetState": "getQuoteState",
        "Accept": "acceptQuote",
        "Issue": "issueQuote",
        "Decline": "declineQuote",
        "Revise": "reviseQuote",
        "Recompute": "recomputeQuote",
    }.items()
}
_ETAG = {"ETag": {"description": "Never changes.", "schema": {"type": "string"}}}
_IF_NONE_MATCH = {
    "name": "If-None-Match",
    "in": "header",
    "description": "An ETag already held.",
    "schema": {"type": "string"},
}
_LINK = {
    "Link": {
        "description": "The quote in its other forms (RFC 8288, relation alternate), each with "
        "its type.",
        "schema": {"type": "string"},
    }
}
_CONTENT = {form.media_type: {"schema": form.schema} for form in OF_QUOTE} | json_of("Quote")
_NOT_MODIFIED = {"description": "What is held is still right."}


@operation(
    blueprint,
    "POST ",
    "createQuote",
    "Lay out, check, take off and price a deck",
    needs=Scope.QUOTES_WRITE,
    takes=QUOTE_REQUEST,
    example="quote",
    answers={
        201: {
            "description": "The quote, which is kept as it is answered.",
            "content": json_of("Quote"),
            "headers": located("Where the quote can be read.") | _LINK,
            "links": OF_A_QUOTE,
        }
    },
)
def create() -> Response:
    """Make a quote."""
    with context().watch.stage("read"):
        raw, order = load(QUOTE_REQUEST)
    stored = make_quote(raw, order)
    location = {"Location": f"/v1/quotes/{stored.id}"}
    response = Response(stored.answer, status=201, content_type=JSON, headers=location)
    return pointed(response, stored.id)


def make_quote(raw: bytes, order: QuoteOrder) -> StoredQuote:
    """Make and keep the quote of an order, whose body is kept with it."""
    here, kept, now = context(), stores(), context().now()
    refuse_past(order, now.date())
    receipt = Receipt(here.new_id(), now, order.on or now.date(), __version__, raw)
    return quote_railing(
        order,
        receipt,
        codes=here.codes,
        materials=here.materials,
        saw=here.saw,
        press=here.press,
        quotes=kept.quotes,
        shelf=kept.shelf,
        watch=here.watch,
    )


def refuse_past(order: QuoteOrder, day: date) -> None:
    """Refuse a validity that is over before it begins.

    Raises:
        ValidationError: It is.
    """
    if order.valid_until is not None and order.valid_until < day:
        raise ValidationError({"valid_until": [f"It is {day} already; send that day or later."]})


@operation(
    blueprint,
    "GET /<uuid:quote_id>",
    "getQuote",
    "Read a quote as it was answered",
    needs=Scope.QUOTES_READ,
    parameters=[_IF_NONE_MATCH],
    answers={
        200: {
            "description": "As JSON the same bytes as when it was made; other forms are written "
            "from it, drawings from its layout laid out again.",
            "content": _CONTENT,
            "headers": _ETAG | VARY | _LINK,
        },
        304: _NOT_MODIFIED,
    },
    refusals=(404, 409),
)
def read(quote_id: UUID) -> Response:
    """Give the quote in the form the caller likes best."""
    form = accepted()
    response = given(form, str(quote_id))
    if form.media_type == JSON:
        response.set_etag(f"{quote_id}")
    return pointed(response, str(quote_id))


@operation(
    blueprint,
    "GET /<uuid:quote_id>/costs",
    "getQuoteCosts",
    "See what a quote costs its dealer, and which prices drive it",
    needs=Scope.COSTS_READ,
    parameters=[_IF_NONE_MATCH],
    answers={
        200: {
            "description": "The dealer's view; no document of the customer holds it.",
            "content": json_of("QuoteCosts"),
            "headers": _ETAG,
        },
        304: _NOT_MODIFIED,
    },
    refusals=(404, 409),
)
def read_costs(quote_id: UUID) -> Response:
    """Give the stored costs."""
    return _stored(stores().quotes.costs(str(quote_id)), JSON, f"{quote_id}-costs")


@operation(
    blueprint,
    "GET /<uuid:quote_id>/drawing.svg",
    "getDrawing",
    "See a quote's plan and elevations",
    needs=Scope.QUOTES_READ,
    parameters=[_IF_NONE_MATCH],
    answers={
        200: {
            "description": "The drawing.",
            "content": {SVG: {"schema": {"type": "string"}}},
            "headers": _ETAG,
        },
        304: _NOT_MODIFIED,
    },
    refusals=(404, 409),
)
def draw(quote_id: UUID) -> Response:
    """Give the drawing, which may run nothing."""
    response = given(DRAWING, str(quote_id))
    response.set_etag(f"{quote_id}.svg")
    return response


def _stored(content: bytes, content_type: str, etag: str) -> Response:
    response = Response(content, content_type=content_type)
    response.set_etag(etag)
    return response
