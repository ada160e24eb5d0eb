"""Revisions of a quote: made, compared, computed again."""

from uuid import UUID

import orjson
from flask import Response, request
from flask_smorest import Blueprint
from marshmallow import ValidationError

from service import __version__
from service.api.auth import stores
from service.api.body import JSON, MERGE_PATCH
from service.api.conditions import condition
from service.api.context import body, context, load, reread
from service.api.kept_requests import read_again
from service.api.operations import answer, json_of, located, operation
from service.api.paging import read_query
from service.api.presenters.figures import figures_of, present_changes, present_recomputed
from service.api.quote_states import IF_MATCH
from service.api.quotes import OF_A_QUOTE, refuse_past
from service.api.references import patched
from service.api.schemas.openapi_fields import explanations
from service.api.schemas.quote_lists import CHANGES_QUERY
from service.api.schemas.requests import QUOTE_REQUEST
from service.domain.pricing.changes import compare
from service.usecases.callers import Scope
from service.usecases.orders import QuoteOrder
from service.usecases.quote_railing import Receipt
from service.usecases.recompute_quote import recompute_quote
from service.usecases.revise_quote import revise_quote

blueprint = Blueprint(
    "Quote revisions",
    __name__,
    url_prefix="/v1/quotes",
    description="A quote that takes the place of an earlier one, and how the two differ.",
)
_SINCE = {
    "name": "since",
    "in": "query",
    "description": explanations()["ChangesQuery"]["since"],
    "schema": {"type": "string", "format": "uuid"},
}
_LOCATION = located("Where the quote can be read.")
_CHANGES = {
    "operationId": "getQuoteChanges",
    "parameters": {"quote_id": "$response.body#/id", "since": "$response.body#/revises"},
}


@operation(
    blueprint,
    "POST /<uuid:quote_id>/revisions",
    "reviseQuote",
    "Make the next revision of a quote",
    needs=Scope.QUOTES_WRITE,
    description="The body is a whole order, or a merge patch (RFC 7396) of the order that the "
    "quote was made from. What that order named keeps its version; what a patch names without a "
    "version is taken as it is now, in place of all that stood there, and named amendments of a "
    "code stay behind when the patch goes to another code or place. Once the revision is issued "
    "the earlier quote is replaced; one that is accepted stands until the revision is accepted.",
    takes=QUOTE_REQUEST,
    example="quote",
    patch={"pricing": {"labour_rate": "66.00"}},
    parameters=[IF_MATCH],
    answers={
        201: {
            "description": "The revision, a quote of its own.",
            "content": json_of("Quote"),
            "headers": _LOCATION,
            "links": OF_A_QUOTE | {"GetChanges": _CHANGES},
        }
    },
    refusals=(404, 409, 412),
)
def revise(quote_id: UUID) -> Response:
    """Make a revision."""
    here, kept, now = context(), stores(), context().now()
    with here.watch.stage("read"):
        raw, order = _ordered(str(quote_id))
    refuse_past(order, now.date())
    stored = revise_quote(
        str(quote_id),
        order,
        Receipt(here.new_id(), now, order.on or now.date(), __version__, raw),
        lives=kept.lives,
        codes=here.codes,
        materials=here.materials,
        saw=here.saw,
        press=here.press,
        quotes=kept.quotes,
        shelf=kept.shelf,
        matches=condition(),
        watch=here.watch,
    )
    location = {"Location": f"/v1/quotes/{stored.id}"}
    return Response(stored.answer, status=201, content_type=JSON, headers=location)


def _ordered(quote_id: str) -> tuple[bytes, QuoteOrder]:
    """Read the order: sent whole, or as a patch of the one before."""
    if request.mimetype != MERGE_PATCH:
        raw, order = load(QUOTE_REQUEST)
        return raw, order
    _, patch = body(MERGE_PATCH)
    if not isinstance(patch, dict):
        raise ValidationError("Send an object that holds only the members that change.")
    content, moves = patched(orjson.loads(stores().quotes.request(quote_id)), patch)
    return reread(QUOTE_REQUEST, content, defaults=moves)


@operation(
    blueprint,
    "GET /<uuid:quote_id>/changes",
    "getQuoteChanges",
    "See how a quote differs from an earlier one",
    needs=Scope.QUOTES_READ,
    parameters=[_SINCE],
    answers={200: {"description": "What changed.", "content": json_of("Changes")}},
    refusals=(404, 409, 422),
)
def changes(quote_id: UUID) -> Response:
    """Compare two quotes as they were answered."""
    later = stores().quotes.answer(str(quote_id))
    since = read_query(CHANGES_QUERY, "since").get("since") or orjson.loads(later).get("revises")
    if not since:
        raise ValidationError({"since": ["This quote revises none; name the one to compare."]})
    before, after = figures_of(stores().quotes.answer(since)), figures_of(later)
    found = compare(before, after)
    return answer(present_changes(since, str(quote_id), found, after.currency))


@operation(
    blueprint,
    "POST /<uuid:quote_id>/recompute",
    "recomputeQuote",
    "Compute a quote again and see that it comes out the same",
    needs=Scope.QUOTES_READ,
    description="From what was kept when it was made: its order, day, prices, offcuts and all "
    "else that was stored. Nothing changes by it.",
    answers={200: {"description": "The quote beside itself.", "content": json_of("Recomputed")}},
    refusals=(404, 409),
)
def recompute(quote_id: UUID) -> Response:
    """Compute again."""
    here, quotes = context(), stores().quotes
    done = recompute_quote(
        str(quote_id),
        quotes=quotes,
        read=read_again,
        press=here.press,
        codes=here.codes,
        materials=here.materials,
        saw=here.saw,
        table_of=stores().table_of,
        service_version=__version__,
        at=here.now(),
        watch=here.watch,
    )
    kept_version = orjson.loads(quotes.answer(str(quote_id)))["service_version"]
    return answer(present_recomputed(done, kept_version, __version__))
