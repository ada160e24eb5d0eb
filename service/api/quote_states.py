"""What is decided about a quote; its answer stays as it was given."""

from functools import partial
from uuid import UUID

from flask import Response
from flask_smorest import Blueprint

from service.api.auth import stores
from service.api.conditions import condition
from service.api.context import context, load, today
from service.api.operations import answer, json_of, operation
from service.api.presenters.offcuts import present_life
from service.api.schemas.quote_states import CUT_REQUEST
from service.domain.pricing.life import QuoteLife, accept, decline, issue, saw_bars
from service.usecases.callers import Scope
from service.usecases.decide_quote import Step, decide_quote, tag_of

blueprint = Blueprint(
    "Quote states",
    __name__,
    url_prefix="/v1/quotes",
    description="Issued, accepted, declined, expired; and the offcuts a quote holds by it.",
)
_STATE = {
    "description": "Where the quote stands now.",
    "content": json_of("QuoteState"),
    "headers": {"ETag": {"description": "Of this state.", "schema": {"type": "string"}}},
}
_SAME_ID = {"quote_id": "$request.path.quote_id"}
_ACCEPTED = _STATE | {"links": {"Cut": {"operationId": "cutQuote", "parameters": _SAME_ID}}}
IF_MATCH = {
    "name": "If-Match",
    "in": "header",
    "description": "ETag of the state that was seen; the step is refused if it has changed.",
    "schema": {"type": "string"},
}


@operation(
    blueprint,
    "GET /<uuid:quote_id>/state",
    "getQuoteState",
    "See where a quote stands",
    needs=Scope.QUOTES_READ,
    answers={200: _STATE},
    refusals=(404,),
)
def read(quote_id: UUID) -> Response:
    """Give the state as of today."""
    return _present(stores().lives.life(str(quote_id)))


@operation(
    blueprint,
    "POST /<uuid:quote_id>/issue",
    "issueQuote",
    "Issue a draft",
    needs=Scope.QUOTES_WRITE,
    description="Issuing again changes nothing. The earlier quotes of its series that are drafts "
    "or issued are replaced by it.",
    parameters=[IF_MATCH],
    answers={200: _STATE},
    refusals=(404, 409, 412),
)
def issue_quote(quote_id: UUID) -> Response:
    """Issue."""
    return _decide(quote_id, issue)


@operation(
    blueprint,
    "POST /<uuid:quote_id>/accept",
    "acceptQuote",
    "Accept a quote and reserve the offcuts it uses",
    needs=Scope.QUOTES_WRITE,
    description="Accepting again changes nothing. The offcuts are held until the quote is "
    "declined or its validity ends, and for good once its bars are cut.",
    parameters=[IF_MATCH],
    answers={200: _ACCEPTED},
    refusals=(404, 409, 412),
)
def accept_quote(quote_id: UUID) -> Response:
    """Accept."""
    return _decide(quote_id, accept)


@operation(
    blueprint,
    "POST /<uuid:quote_id>/decline",
    "declineQuote",
    "Decline a quote and release the offcuts it holds",
    needs=Scope.QUOTES_WRITE,
    description="Declining again changes nothing. An accepted quote can be declined until its "
    "bars are cut.",
    parameters=[IF_MATCH],
    answers={200: _STATE},
    refusals=(404, 409, 412),
)
def decline_quote(quote_id: UUID) -> Response:
    """Decline."""
    return _decide(quote_id, decline)


@operation(
    blueprint,
    "POST /<uuid:quote_id>/cut",
    "cutQuote",
    "Tell that the bars of an accepted quote are cut",
    needs=Scope.QUOTES_WRITE,
    description="Its offcuts are used up, and the quote no longer expires. Its reusable remnants "
    "become offcuts on hand if that is asked for, once.",
    takes=CUT_REQUEST,
    shown={"store_remnants": True},
    parameters=[IF_MATCH],
    answers={200: _STATE},
    refusals=(404, 409, 412),
)
def cut_quote(quote_id: UUID) -> Response:
    """Note the sawing."""
    _, wish = load(CUT_REQUEST)
    return _decide(quote_id, partial(saw_bars, keep_remnants=wish["store_remnants"]))


def _decide(quote_id: UUID, step: Step) -> Response:
    at = context().now()
    return _present(
        decide_quote(str(quote_id), step, lives=stores().lives, at=at, matches=condition())
    )


def _present(life: QuoteLife) -> Response:
    day = today()
    response = answer(present_life(life, day))
    response.set_etag(tag_of(life, day))
    return response
