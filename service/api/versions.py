"""What all resources in versions share: conditions, queries, numbers, lists."""

from collections.abc import Callable, Sequence
from typing import Any, TypeVar

from flask import Response, request

from service.api.operations import answer, located
from service.api.paging import (
    PAGE,
    cursor_of,
    page_parameters,
    place_of,
    point_to_next,
    read_query,
)
from service.api.presenters.values import Json
from service.api.schemas.catalogue import CatalogueQuery
from service.api.schemas.openapi_fields import explanations
from service.api.schemas.stored import LARGEST_VERSION
from service.domain.errors import ConditionMissing, NotKept, StaleState
from service.usecases.catalogue import Begin, Named

QUERY = CatalogueQuery()
SAID = explanations()["CatalogueQuery"]
PAGES = page_parameters(SAID)
NUMBER = {"type": "string", "pattern": "^[1-9][0-9]{0,6}$"}
VERSION = {"name": "version", "in": "query", "description": SAID["version"], "schema": NUMBER}
IF_MATCH = {
    "name": "If-Match",
    "in": "header",
    "description": "ETag of what was seen; the change is refused if it has changed since.",
    "schema": {"type": "string"},
}
# 428 answers a call without it, so that the document does not call it required.
NEEDED_IF_MATCH = {
    **IF_MATCH,
    "description": "Needed: ETag of what was seen; the change is refused if it has changed since.",
}
ETAG = {"ETag": {"description": "Of it as it stands.", "schema": {"type": "string"}}}
LOCATION = located("Where it can be read.")

Entry = TypeVar("Entry")


def refuse_unseen(named: Named, *, needed: bool = True) -> None:
    """Refuse a change by somebody who has not seen the newest state.

    Raises:
        ConditionMissing: Nothing is said of what was seen.
        StaleState: What was seen has changed since.
    """
    if request.headers.get("If-Match") is None:
        if not needed:
            return
        raise ConditionMissing(
            "This change needs the header If-Match.",
            advice="Read what is kept, and send back the ETag of that answer.",
        )
    if not request.if_match.contains(str(named.revision)):
        raise StaleState(
            f"{named.name} has changed since it was read.",
            advice="Read it again; its ETag is new.",
        )


def numbered(number: int) -> int:
    """Give the number of a version, as far as there can be one.

    Raises:
        NotKept: No version ever has it.
    """
    if not 1 <= number <= LARGEST_VERSION:
        raise NotKept(f"Nothing has a version {number}.")
    return number


def tagged(content: Json, named: Named, status: int = 200) -> Response:
    """Answer with what is kept, and the tag that a change of it needs."""
    response = answer(content, status)
    response.set_etag(str(named.revision))
    return response


def names_page(
    member: str, find: Callable[[Begin | None, int], Sequence[Named]], show: Callable[[Named], Json]
) -> Response:
    """Give a page of a list by names."""
    wish = read_query(QUERY, "limit", "cursor")
    after: Any = place_of(wish["cursor"], (str, str)) if "cursor" in wish else None

    def place(last: Named) -> str:
        return cursor_of(last.name, last.id)

    most = int(wish.get("limit", PAGE))
    return _page(member, find(after, most + 1), most, show, place)


def versions_page(
    find: Callable[[int, int], Sequence[Entry]],
    number: Callable[[Entry], int],
    show: Callable[[Entry], Json],
) -> Response:
    """Give a page of versions, newest first."""
    wish = read_query(QUERY, "limit", "cursor")
    before = place_of(wish["cursor"], (int,))[0] if "cursor" in wish else LARGEST_VERSION + 1

    def place(last: Entry) -> str:
        return cursor_of(number(last))

    most = int(wish.get("limit", PAGE))
    before = max(min(before, LARGEST_VERSION + 1), 0)
    return _page("versions", find(before, most + 1), most, show, place)


def _page(
    member: str,
    found: Sequence[Entry],
    most: int,
    show: Callable[[Entry], Json],
    place: Callable[[Entry], str],
) -> Response:
    following = place(found[most - 1]) if len(found) > most else None
    content = {member: [show(one) for one in found[:most]], "next": following}
    return point_to_next(answer(content), following)
