"""Estimates for spreadsheets that can only fetch an address: a number, or a small CSV."""

from typing import Any

from flask import Response, request
from flask_smorest import Blueprint
from marshmallow import ValidationError

from service.api.address_decks import EDGE_WORDS, AddressDeck, deck_of
from service.api.answers.words import Described
from service.api.context import Beside, context
from service.api.estimates import worked_out
from service.api.manners.negotiation import VARY, best_offer
from service.api.manners.rates import spend_apart
from service.api.manners.sentences import TEXT
from service.api.operations import operation
from service.api.paging import read_query
from service.api.presenters.estimate import present_estimate
from service.api.problems import complaints_in
from service.api.quote_forms import CSV
from service.api.schemas.base import Complaints
from service.api.schemas.fields import TEXT_PATTERN, StrictField
from service.api.schemas.form import ADDRESS_ESTIMATE
from service.api.schemas.openapi_fields import explanations
from service.domain.errors import QuotingError
from service.quantities import LONGEST_TEXT
from service.usecases.callers import Scope

blueprint = Blueprint(
    "Estimates by address",
    __name__,
    url_prefix="/v1/estimates",
    description="For spreadsheets that can only fetch an address.",
)
MOST_FETCHED = 600  # of one dealer in a minute; LibreOffice asks twice for a cell, by HEAD first
_SAID = explanations()["AddressEstimateQuery"]
_SHOWN = {
    "sides": "12' 0\";16' 0\";12' 0\"",
    "falls": "3' 6\"",
    "stair_risers": "6",
    "stair_width": "4 ft",
    "stair_run": "10 in",
    "stair_nosing": "1 in",
    "stair_bottom": "slab",
    "edges": f"{EDGE_WORDS[0]};{EDGE_WORDS[0]};{EDGE_WORDS[0]};wall",
    "turns": "90;90",
    "total": "gross",
    "format": "number",
}
_LENGTH = {"type": "string", "minLength": 1, "maxLength": LONGEST_TEXT, "pattern": TEXT_PATTERN}


def _schema(name: str) -> Described:
    """Describe a parameter as its schema reads it."""
    field = ADDRESS_ESTIMATE.fields[name]
    return field.json_schema() if isinstance(field, StrictField) else {}


_QUERY = [
    {
        "name": name,
        "in": "query",
        "required": field.required,
        "description": _SAID[name],
        "schema": _schema(name),
        **({"example": _SHOWN[name]} if name in _SHOWN else {}),
    }
    for name, field in ADDRESS_ESTIMATE.fields.items()
    if name != "key"
]


@operation(
    blueprint,
    "GET ",
    "getEstimate",
    "Estimate a deck that an address describes",
    needs=Scope.ESTIMATES,
    by_address=True,
    description="For the cells of a spreadsheet, which can set no header: the deck and a "
    "publishable key stand in the address, each value percent-encoded (a function such as "
    "ENCODEURL does it). Nothing is kept. Whoever sees the sheet sees the key, and may do with it "
    "what the sheet does; the dealer opens a key for that with the scope sheets, bounds it by "
    "per_minute, and ends it with DELETE /v1/keys/{key_id}. A refusal is one line of text where "
    "format stands in the address or Accept prefers text, and keeps its status; spreadsheets show "
    "an error of their own then, and the address opened in a browser shows the line.",
    parameters=_QUERY,
    answers={
        200: {
            "description": "The total as a plain decimal in the currency of the dealer's prices, "
            "or lines, totals, conditions and cautions as CSV.",
            "content": {
                TEXT: {"schema": {"type": "string"}, "example": "9130.41"},
                CSV: {"schema": {"type": "string"}},
            },
            "headers": VARY,
        }
    },
    refusals=(409, 422),
)
def read() -> Response:
    """Give a number, or a table."""
    spend_apart("estimates by address", MOST_FETCHED)
    query = read_query(ADDRESS_ESTIMATE)
    asked = deck_of(query)
    units = {"units": query["units"]} if "units" in query else {}
    told = _told({**units, "deck": asked.deck}, asked)
    if _form(query) == CSV:
        table = context().sheets["estimate.csv"](told, Beside())
        response = Response(table, content_type=f"{CSV}; charset=utf-8; header=present")
    else:
        amount = told["totals"][query["total"]]["amount"]
        response = Response(amount, content_type=f"{TEXT}; charset=utf-8")
    response.headers["Referrer-Policy"] = "no-referrer"
    response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
    return response


def _form(query: dict[str, Any]) -> str:
    named = {"number": TEXT, "csv": CSV}.get(query.get("format", ""))
    return named or best_offer(request.accept_mimetypes, (TEXT, CSV)) or TEXT


def _told(content: dict[str, Any], asked: AddressDeck) -> dict[str, Any]:
    """Give the estimate; what is wrong with the deck is told at its parameter."""
    try:
        return present_estimate(worked_out(content), b"")
    except ValidationError as error:
        raise _placed(error, asked) from None
    except QuotingError as error:
        if error.where[:1] == ("deck",):
            error.where = asked.place_of(error.where)
        raise


def _placed(error: ValidationError, asked: AddressDeck) -> ValidationError:
    complaints = Complaints()
    told = [
        (asked.place_of(where) if where[:1] == ("deck",) else where, complaint)
        for where, complaint in complaints_in(error.messages)
    ]
    for index, (where, complaint) in enumerate(told):
        if (where, complaint) not in told[:index]:  # one fall may be that of every side
            complaints.add(where, complaint)
    try:
        complaints.refuse()
    except ValidationError as refused:
        return refused
    return error
