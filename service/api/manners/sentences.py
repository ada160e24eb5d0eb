"""Refusals as one line of text, for a caller who reads text and no JSON, such as a cell.

Source: RFC 9110, section 12.1 (proactive negotiation).
"""

from typing import Any

import orjson
from flask import Flask, Response, request

from service.api.manners.negotiation import best_offer
from service.api.manners.traits import traits_asked
from service.api.problems import MEDIA_TYPE

FORMAT = "format"  # the parameter by which an address says what it is to be answered with
TEXT = "text/plain"
_OFFERS = (MEDIA_TYPE, "application/json", TEXT, "text/csv")


def register(app: Flask) -> None:
    """Tell refusals in a sentence where text was asked for; register it last."""

    def tell(response: Response) -> Response:
        if response.mimetype == MEDIA_TYPE and traits_asked().by_address and _asks_for_text():
            response.set_data(sentence(orjson.loads(response.get_data())))
            response.content_type = f"{TEXT}; charset=utf-8"
        return response

    app.after_request(tell)


def _asks_for_text() -> bool:
    if FORMAT in request.args:
        return True
    return (best_offer(request.accept_mimetypes, _OFFERS) or "").startswith("text/")


def sentence(problem: dict[str, Any]) -> str:
    """Tell a problem in one line; each of its places by the parameter, entries counted from 1.

    Example:
        >>> sentence({"detail": "…", "errors": [{"pointer": "#/sides/1", "detail": "A unit!"}]})
        'sides 2: A unit!'
        >>> sentence({"detail": "No key was sent.", "advice": "Send one."})
        'No key was sent. Send one.'
    """
    told = [_entry(error) for error in problem.get("errors", ())]
    told = told or [problem["detail"], problem.get("advice", "")]
    return " ".join(" ".join(filter(None, told)).split())


def _entry(error: dict[str, str]) -> str:
    name, _, entry = error["pointer"].removeprefix("#").removeprefix("/").partition("/")
    place = f"{name} {int(entry) + 1}" if entry.isdigit() else name
    said = f"{error['detail']} {error.get('advice', '')}".strip()
    return f"{place}: {said}" if place else said
