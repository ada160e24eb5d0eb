"""The versions of a price table: listed, read row by row, and told apart."""

from uuid import UUID

from flask import Response
from flask_smorest import Blueprint
from marshmallow import ValidationError

from service.api.auth import stores
from service.api.operations import answer, json_of, operation
from service.api.paging import LINK, cursor_of, most_of, place_of, point_to_next, read_query
from service.api.presenters.catalogue import (
    present_price_changes,
    present_price_version,
    present_row,
)
from service.api.price_tables import ADDRESS, shown_to_caller
from service.api.versions import NUMBER, PAGES, QUERY, SAID, numbered, versions_page
from service.domain.pricing.price_changes import price_changes
from service.usecases.callers import Scope
from service.usecases.catalogue import PriceVersion

blueprint = Blueprint(
    "Price table versions",
    __name__,
    url_prefix=f"{ADDRESS}/<uuid:table_id>/versions",
    description="Versions of price tables, their rows, and what differs between two of them.",
)
_SINCE = {"name": "since", "in": "query", "description": SAID["since"], "schema": NUMBER}


@operation(
    blueprint,
    "GET ",
    "listPriceTableVersions",
    "List the versions of a price table",
    needs=Scope.CATALOGUE_READ,
    parameters=PAGES,
    answers={
        200: {
            "description": "A page of them, newest first.",
            "content": json_of("PriceVersionPage"),
            "headers": LINK,
        }
    },
    refusals=(404, 422),
)
def index(table_id: UUID) -> Response:
    """Give one page."""
    kept = stores().price_tables

    def find(before: int, most: int) -> list[PriceVersion]:
        return kept.versions(str(table_id), before, most)

    return versions_page(find, lambda one: one.version.number, present_price_version)


@operation(
    blueprint,
    "GET /<int:version>/rows",
    "listPriceRows",
    "Read the rows of a version",
    needs=Scope.CATALOGUE_READ,
    description="Costs are null for keys without costs:read.",
    parameters=PAGES,
    answers={
        200: {
            "description": "A page of rows, in order.",
            "content": json_of("PriceRowPage"),
            "headers": LINK,
        }
    },
    refusals=(404, 422),
)
def rows(table_id: UUID, version: int) -> Response:
    """Give one page."""
    wish = read_query(QUERY, "limit", "cursor")
    most = most_of(wish)
    after = max(place_of(wish["cursor"], (int,))[0], 0) if "cursor" in wish else 0
    found = stores().price_tables.rows(str(table_id), numbered(version), after, most + 1)
    following = cursor_of(after + most) if len(found) > most else None
    shown = [present_row(row) for row in shown_to_caller(found[:most])]
    return point_to_next(answer({"rows": shown, "next": following}), following)


@operation(
    blueprint,
    "GET /<int:version>/changes",
    "getPriceChanges",
    "See what a version changes",
    needs=Scope.CATALOGUE_READ,
    description="Costs are left out for keys without costs:read.",
    parameters=[{**_SINCE, "description": f"{SAID['since']} The one before, if left out."}],
    answers={200: {"description": "What differs.", "content": json_of("PriceChanges")}},
    refusals=(404, 422),
)
def changes(table_id: UUID, version: int) -> Response:
    """Compare two versions."""
    kept = stores().price_tables
    new = kept.version(str(table_id), numbered(version))
    since = int(read_query(QUERY, "since").get("since", version - 1))
    if not since:
        raise ValidationError({"since": ["The first version changes none; name one to compare."]})
    old = kept.version(str(table_id), numbered(since))
    before, after = (
        shown_to_caller(kept.rows(str(table_id), number)) for number in (since, version)
    )
    found = price_changes(before, after)
    currencies = (old.currency, new.currency)
    return answer(present_price_changes(str(table_id), (since, version), found, currencies))
