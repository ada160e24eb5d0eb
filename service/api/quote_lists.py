"""Quotes in lists."""

from datetime import datetime
from typing import Any

from flask import Response
from flask_smorest import Blueprint

from service.api.answers.words import Described
from service.api.auth import stores
from service.api.context import today
from service.api.operations import json_of, operation
from service.api.paging import (
    LINK,
    cursor_of,
    most_of,
    page_of,
    page_parameters,
    place_of,
    read_query,
)
from service.api.presenters.offcuts import present_kept
from service.api.schemas.fields import TEXT_PATTERN
from service.api.schemas.openapi_fields import explanations
from service.api.schemas.quote_lists import QUOTE_QUERY
from service.domain.pricing.life import State
from service.usecases.callers import Scope
from service.usecases.ports import Kept, Since, Wanted

blueprint = Blueprint(
    "Quote lists", __name__, url_prefix="/v1/quotes", description="Quotes, found again."
)
_SAID = explanations()["QuoteQuery"]
_LINE = {"type": "string", "minLength": 1, "maxLength": 80, "pattern": TEXT_PATTERN}
_DAY = {"type": "string", "format": "date"}
_STATES = {
    "style": "form",
    "explode": False,
    "schema": {
        "type": "array",
        "items": {"type": "string", "enum": [state.value for state in State]},
        "minItems": 1,
        "maxItems": 6,
    },
}
_OTHERS: dict[str, Described] = {
    "reference": _LINE,
    "outside_reference": _LINE,
    "text": _LINE,
    "series": {"type": "string", "format": "uuid"},
    "made_from": _DAY,
    "made_to": _DAY,
}
_QUERY = [
    {"name": "state", "in": "query", "description": _SAID["state"], **_STATES},
    *(
        {"name": name, "in": "query", "description": _SAID[name], "schema": schema}
        for name, schema in _OTHERS.items()
    ),
    *page_parameters(QUOTE_QUERY),
]


@operation(
    blueprint,
    "GET ",
    "listQuotes",
    "Find quotes",
    needs=Scope.QUOTES_READ,
    parameters=_QUERY,
    answers={
        200: {
            "description": "A page of quotes, newest first.",
            "content": json_of("QuotePage"),
            "headers": LINK,
        }
    },
    refusals=(422,),
)
def index() -> Response:
    """Give one page."""
    wish = read_query(QUOTE_QUERY)
    most, day = most_of(wish), today()
    found = stores().quotes.page(_wanted(wish), _after(wish), most + 1)
    return page_of("quotes", found, most, lambda one: present_kept(one, day), _cursor)


def _wanted(wish: dict[str, Any]) -> Wanted:
    states = wish.get("state", "")
    rest = {name: wish[name] for name in _OTHERS if name in wish and name != "text"}
    named = frozenset(State(state) for state in states.split(",") if state)
    return Wanted(day=today(), states=named, within=wish.get("text", ""), **rest)


def _cursor(last: Kept) -> str:
    return cursor_of(last.created_at.isoformat(), last.life.quote_id)


def _after(wish: dict[str, Any]) -> Since | None:
    if "cursor" not in wish:
        return None
    made, quote_id = place_of(wish["cursor"], (datetime, str))
    return made, quote_id
