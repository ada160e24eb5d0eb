"""Pages of a list: a strict query, a cursor that nobody needs to understand, a Link header.

Source: RFC 8288 (web linking), relation "next" of its registry.
"""

import base64
import binascii
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Any, TypeVar
from urllib.parse import urlencode

import orjson
from flask import Response, request
from marshmallow import Schema, ValidationError

from service.api.answers.words import Described
from service.api.operations import answer
from service.api.schemas.openapi_fields import explanations
from service.api.schemas.pages import CURSOR, LONGEST_CURSOR, MOST, PAGE, PageQuery

Entry = TypeVar("Entry")
LINK: Described = {
    "Link": {
        "description": "Address of the next page, if there is one (RFC 8288).",
        "schema": {"type": "string"},
    }
}
_WRITTEN: Mapping[type, type] = {datetime: str}


def page_parameters(query: PageQuery) -> list[Described]:
    """Describe ``limit`` and ``cursor`` of a list."""
    said = {
        name: words
        for schema in reversed(type(query).__mro__)
        for name, words in explanations().get(schema.__name__, {}).items()
    }
    limit = {"type": "integer", "minimum": 1, "maximum": MOST, "default": PAGE}
    cursor = {"type": "string", "minLength": 1, "maxLength": LONGEST_CURSOR, "pattern": CURSOR}
    return [
        {"name": "limit", "in": "query", "description": said["limit"], "schema": limit},
        {"name": "cursor", "in": "query", "description": said["cursor"], "schema": cursor},
    ]


def most_of(wish: Mapping[str, Any]) -> int:
    """Give how many entries a page is to have at most."""
    return int(wish.get("limit", PAGE))


def read_query(schema: Schema, *only: str) -> dict[str, Any]:
    """Read the query strictly: known names, each once.

    Raises:
        ValidationError: It is not as the schema, or the names given, say.
    """
    repeated = [name for name in request.args if len(request.args.getlist(name)) > 1]
    strange = [name for name in request.args if only and name not in only]
    if repeated or strange:
        wrong = {name: ["Send it once."] for name in repeated}
        raise ValidationError(wrong | {name: ["No such parameter here."] for name in strange})
    loaded: dict[str, Any] = schema.load(request.args.to_dict())
    return loaded


def cursor_of(*place: str | int) -> str:
    """Give the cursor of the page that begins after a place."""
    return base64.urlsafe_b64encode(orjson.dumps(place)).decode().rstrip("=")


def place_of(cursor: str, kinds: Sequence[type]) -> tuple[Any, ...]:
    """Read where a page ended.

    Args:
        cursor: As it was given out.
        kinds: Of each part of the place: str, int, or datetime for a moment in ISO 8601.

    Raises:
        ValidationError: This was no cursor of this list.
    """
    try:
        place = orjson.loads(base64.urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)))
        if isinstance(place, list) and _fits(place, [_WRITTEN.get(kind, kind) for kind in kinds]):
            return tuple(
                datetime.fromisoformat(part) if kind is datetime else part
                for part, kind in zip(place, kinds, strict=True)
            )
    except (binascii.Error, ValueError):
        pass
    raise ValidationError({"cursor": ["Send the cursor of the page before, or leave it out."]})


def _fits(place: list[Any], kinds: Sequence[type]) -> bool:
    return [type(part) for part in place] == list(kinds) and all(
        abs(part) < 2**63 if isinstance(part, int) else "\0" not in part for part in place
    )


def page_of(
    member: str,
    found: Sequence[Entry],
    most: int,
    show: Callable[[Entry], Any],
    place: Callable[[Entry], str],
) -> Response:
    """Answer with a page of a list.

    Args:
        member: Of the answer, which holds the entries.
        found: One more than a page has, if there are so many.
        most: How many a page has.
        show: Presents an entry.
        place: Gives the cursor of the page that begins after an entry.
    """
    following = place(found[most - 1]) if len(found) > most else None
    content = {member: [show(one) for one in found[:most]], "next": following}
    return point_to_next(answer(content), following)


def point_to_next(response: Response, cursor: str | None) -> Response:
    """Add the address of the next page, which keeps the rest of the query."""
    if cursor:
        query = urlencode({**request.args.to_dict(), "cursor": cursor})
        response.headers["Link"] = f'<{request.path}?{query}>; rel="next"'
    return response
