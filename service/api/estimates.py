"""Estimates and inquiries: what a dealer's quote form asks with a publishable key.

The visitor sends a deck; the railing system, prices, rules and code are the dealer's settings.
"""

from collections.abc import Mapping
from typing import Any

from flask import Response
from flask_smorest import Blueprint
from marshmallow import Schema, ValidationError

from service import __version__
from service.api.auth import stores
from service.api.context import body, context, load_content
from service.api.examples import example_request
from service.api.manners.rates import spend_apart
from service.api.operations import answer, json_of, operation
from service.api.presenters.estimate import present_estimate
from service.api.quotes import make_quote
from service.api.schemas.form import ESTIMATE_REQUEST, INQUIRY_REQUEST
from service.api.schemas.requests import QUOTE_REQUEST
from service.domain.errors import FormNotReady, QuotingError
from service.usecases.callers import Scope
from service.usecases.form_settings import FIXED
from service.usecases.orders import QuoteOrder
from service.usecases.quote_railing import Quote, Receipt, work_out

blueprint = Blueprint(
    "Estimates",
    __name__,
    url_prefix="/v1",
    description="For pages on a dealer's web site: a deck in, a price out, and an inquiry.",
)
MOST_INQUIRIES = 10  # of one dealer in a minute
_REFERENCE = 80  # letters of a quote's reference
_DECK = {"deck": example_request("layout")["deck"]}
_CONTACT = {"name": "Ann Arden", "email": "ann@example.com", "phone": "555 0123"}


@operation(
    blueprint,
    "POST /estimates",
    "createEstimate",
    "Estimate a deck by the dealer's form settings",
    needs=Scope.ESTIMATES,
    takes=ESTIMATE_REQUEST,
    shown=_DECK,
    answers={
        200: {
            "description": "What the visitor may see; nothing is kept.",
            "content": json_of("Estimate"),
        }
    },
    refusals=(409,),
)
def estimate() -> Response:
    """Estimate a deck."""
    _raw, content = body()
    quote = worked_out(content)
    drawing = context().sketch(quote.layout, quote.order.units)
    return answer(present_estimate(quote, drawing))


def worked_out(content: Any) -> Quote:
    """Give what a deck comes to by the dealer's settings; nothing is kept.

    Raises:
        FormNotReady: The dealer's own part of the order is missing or does not hold.
    """
    here, kept, now = context(), stores(), context().now()
    _asked, raw, order = _asked_for(ESTIMATE_REQUEST, content, {})
    return work_out(
        order,
        Receipt(here.new_id(), now, now.date(), __version__, raw),
        codes=here.codes,
        materials=here.materials,
        saw=here.saw,
        shelf=kept.shelf,
        watch=here.watch,
    )


@operation(
    blueprint,
    "POST /inquiries",
    "createInquiry",
    "Send a deck to the dealer, with whom to answer",
    needs=Scope.ESTIMATES,
    takes=INQUIRY_REQUEST,
    shown=_DECK | {"contact": _CONTACT},
    replays=True,
    answers={
        201: {
            "description": "It is kept as a draft quote of the dealer.",
            "content": json_of("Inquiry"),
        }
    },
    refusals=(409,),
)
def inquire() -> Response:
    """Keep a deck and a contact as a draft."""
    spend_apart("inquiries", MOST_INQUIRIES)
    number = f"W-{context().new_id()[:8].upper()}"
    _raw, content = body()
    draft = {"draft": True, "outside_reference": number}
    asked, raw, order = _asked_for(INQUIRY_REQUEST, content, draft)
    make_quote(raw, order)
    told = {"reference": number, "name": asked["contact"]["name"]}
    return answer(told, status=201)


def _asked_for(
    schema: Schema, content: Any, more: Mapping[str, Any]
) -> tuple[Any, bytes, QuoteOrder]:
    """Give what was sent as its schema reads it, and the whole order it makes, bytes first.

    Raises:
        FormNotReady: The dealer's own part of the order is missing or does not hold.
    """
    _, asked = load_content(schema, content)
    settings = stores().forms.settings()
    if not settings.ready:
        raise _not_ready()
    whole = {"units": content.get("units", settings.units.value), "deck": content["deck"]}
    if "contact" in asked:
        name = asked["contact"]["name"]
        whole |= {"customer": content["contact"]}
        whole |= {"reference": f"Inquiry of {name}"[:_REFERENCE].rstrip()}
    try:
        return asked, *load_content(QUOTE_REQUEST, {**settings.fixed, **whole, **more})
    except ValidationError as error:
        if isinstance(error.messages, dict) and set(error.messages) & set(FIXED):
            raise _not_ready() from error
        raise
    except QuotingError as error:
        if error.where and error.where[0] in FIXED:
            raise _not_ready() from error
        raise


def _not_ready() -> FormNotReady:
    return FormNotReady(
        "The dealer has not set this form up, or it names what is no longer there.",
        advice="Ask the dealer; they set it with PUT /v1/form-settings.",
    )
