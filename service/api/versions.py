"""What all resources in versions share: tags, queries, numbers, lists."""

from collections.abc import Callable, Sequence
from typing import Any, TypeVar

from flask import Response

from service.api.conditions import with_tag
from service.api.operations import answer, located
from service.api.paging import (
    cursor_of,
    most_of,
    page_of,
    page_parameters,
    place_of,
    read_query,
)
from service.api.presenters.values import Json
from service.api.schemas.catalogue import CatalogueQuery
from service.api.schemas.openapi_fields import explanations
from service.api.schemas.stored import LARGEST_VERSION
from service.domain.errors import NotKept
from service.usecases.catalogue import Begin, Named

QUERY = CatalogueQuery()
SAID = explanations()["CatalogueQuery"]
PAGES = page_parameters(QUERY)
NUMBER = {"type": "string", "pattern": "^[1-9][0-9]{0,6}$"}
VERSION = {"name": "version", "in": "query", "description": SAID["version"], "schema": NUMBER}
LOCATION = located("Where it can be read.")

Entry = TypeVar("Entry")


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
    return with_tag(answer(content, status), str(named.revision))


def names_page(
    member: str, find: Callable[[Begin | None, int], Sequence[Named]], show: Callable[[Named], Json]
) -> Response:
    """Give a page of a list by names."""
    wish = read_query(QUERY, "limit", "cursor")
    after: Any = place_of(wish["cursor"], (str, str)) if "cursor" in wish else None

    def place(last: Named) -> str:
        return cursor_of(last.name, last.id)

    most = most_of(wish)
    return page_of(member, find(after, most + 1), most, show, place)


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

    most = most_of(wish)
    before = max(min(before, LARGEST_VERSION + 1), 0)
    return page_of("versions", find(before, most + 1), most, show, place)
