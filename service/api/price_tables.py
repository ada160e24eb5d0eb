"""Price tables that are kept: named, listed, and put in force from a day on."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any
from uuid import UUID

from flask import Response
from flask_smorest import Blueprint

from service.api.auth import stores
from service.api.conditions import ETAG, IF_MATCH, NEEDED_IF_MATCH, refuse_unseen
from service.api.context import body, context
from service.api.examples import example_request
from service.api.operations import answer, json_of, operation
from service.api.paging import LINK, read_query
from service.api.presenters.catalogue import present_named, present_price_table
from service.api.schemas.catalogue import (
    ActivationRequest,
    KeptPriceTableRequest,
    PriceTableVersionRequest,
)
from service.api.scopes import demand, may
from service.api.versions import (
    LOCATION,
    PAGES,
    QUERY,
    VERSION,
    names_page,
    numbered,
    tagged,
)
from service.domain.pricing.price_table import PriceRow
from service.usecases.callers import Scope
from service.usecases.catalogue import Named, PriceDraft

ADDRESS = "/v1/price-tables"
blueprint = Blueprint(
    "Price tables",
    __name__,
    url_prefix=ADDRESS,
    description="Prices that requests may name: "
    '{"price_table": {"stored": "Larkmere 2026"}}. A version is in force once it is activated, '
    "from the day it was given; of several the one that began last.",
)
_FIRST, _FURTHER = KeptPriceTableRequest(), PriceTableVersionRequest()
_ACTIVATION = ActivationRequest()
_DEMO = example_request("quote")["price_table"]
_SHOWN = {"name": "Larkmere 2026", "currency": _DEMO["currency"], "rows": _DEMO["rows"]}
_SAME = {"table_id": "$response.body#/id"}
_TABLE = {
    "description": "The table with its newest version.",
    "content": json_of("KeptPriceTable"),
    "headers": ETAG,
}
MADE = {**_TABLE, "headers": ETAG | LOCATION}


@operation(
    blueprint,
    "POST ",
    "createPriceTable",
    "Keep a price table",
    needs=Scope.CATALOGUE_WRITE,
    description="Rows with costs need a key that also has costs:read. Leave the rows out to "
    "import them from a spreadsheet.",
    takes=_FIRST,
    shown=_SHOWN,
    answers={
        201: {
            **MADE,
            "links": {
                "GetPriceTable": {"operationId": "getPriceTable", "parameters": _SAME},
                "ListVersions": {"operationId": "listPriceTableVersions", "parameters": _SAME},
            },
        }
    },
    refusals=(409,),
)
def create() -> Response:
    """Keep a table with its first version."""
    wish = _FIRST.load(body()[1])
    draft = draft_of(wish)
    _refuse_costs(draft.rows)
    named = Named(context().new_id(), wish["name"], context().now(), 1, 1)
    stores().price_tables.add(named, draft)
    return made(named.id)


@operation(
    blueprint,
    "GET ",
    "listPriceTables",
    "List the price tables",
    needs=Scope.CATALOGUE_READ,
    parameters=PAGES,
    answers={
        200: {
            "description": "A page of them, by name.",
            "content": json_of("PriceTablePage"),
            "headers": LINK,
        }
    },
    refusals=(422,),
)
def index() -> Response:
    """Give one page."""
    find = stores().price_tables.page
    return names_page("price_tables", find, lambda named: present_named(named, ADDRESS))


@operation(
    blueprint,
    "GET /<uuid:table_id>",
    "getPriceTable",
    "Read a price table, without its rows",
    needs=Scope.CATALOGUE_READ,
    parameters=[VERSION],
    answers={
        200: {
            **_TABLE,
            "description": "The table with a version; the ETag of the newest is the one a change "
            "needs.",
        }
    },
    refusals=(404, 422),
)
def read(table_id: UUID) -> Response:
    """Give the table with its newest version, or the one asked for."""
    wish = read_query(QUERY, "version")
    kept, held = stores().price_tables, stores().price_tables.table(str(table_id))
    if "version" not in wish:
        return tagged(present_price_table(kept.version(held.id, held.latest), ADDRESS), held)
    found = kept.version(held.id, numbered(int(wish["version"])))
    return answer(present_price_table(found, ADDRESS))


@operation(
    blueprint,
    "POST /<uuid:table_id>/versions",
    "addPriceTableVersion",
    "Keep a further version of a price table",
    needs=Scope.CATALOGUE_WRITE,
    description="What the newest version holds already makes no new one, and is answered 200. A "
    "table with costs is changed by keys that also have costs:read.",
    takes=_FURTHER,
    shown={key: value for key, value in _SHOWN.items() if key != "name"},
    parameters=[NEEDED_IF_MATCH],
    answers={201: MADE, 200: {**MADE, "description": "The newest version holds the same."}},
    refusals=(404, 409, 412, 428),
)
def add_version(table_id: UUID) -> Response:
    """Keep a version."""
    named = stores().price_tables.table(str(table_id))
    refuse_unseen(named.name, str(named.revision))
    return keep_version(named, draft_of(_FURTHER.load(body()[1])))


@operation(
    blueprint,
    "POST /<uuid:table_id>/versions/<int:version>/activate",
    "activatePriceTableVersion",
    "Put a version in force from a day on",
    needs=Scope.CATALOGUE_WRITE,
    description="Doing it again with the same day changes nothing that is quoted.",
    takes=_ACTIVATION,
    shown={"from": "2026-12-01"},
    parameters=[IF_MATCH],
    answers={200: {**_TABLE, "description": "The table with this version."}},
    refusals=(404, 409, 412),
)
def activate(table_id: UUID, version: int) -> Response:
    """Put it in force."""
    kept = stores().price_tables
    named = kept.table(str(table_id))
    kept.version(named.id, numbered(version))
    refuse_unseen(named.name, str(named.revision), needed=False)
    wish = _ACTIVATION.load(body()[1])
    kept.activate(named.id, version, wish["begin"], named.revision, context().now())
    found = kept.version(named.id, version)
    return tagged(present_price_table(found, ADDRESS), found.named)


def draft_of(wish: Mapping[str, Any]) -> PriceDraft:
    """Give what is kept of a loaded body."""
    rows = [PriceRow(**row) for row in wish["rows"]]
    return PriceDraft(wish["currency"], rows, wish["note"])


def keep_version(named: Named, draft: PriceDraft) -> Response:
    """Keep a version by a caller who has seen the newest state.

    Raises:
        Forbidden: Costs are written, or would be lost, by a caller who does not see them.
    """
    kept = stores().price_tables
    _refuse_costs(draft.rows)
    if not may(Scope.COSTS_READ):
        _refuse_costs(kept.rows(named.id, named.latest))
    new = kept.add_version(named.id, draft, named.revision, context().now())
    return made(named.id, 201 if new else 200)


def made(table_id: str, status: int = 201) -> Response:
    """Answer with a table whose newest version was just kept."""
    kept = stores().price_tables
    named = kept.table(table_id)
    held = kept.version(table_id, named.latest)
    response = tagged(present_price_table(held, ADDRESS), named, status)
    response.headers["Location"] = f"{ADDRESS}/{table_id}?version={held.version.number}"
    return response


def shown_to_caller(rows: Sequence[PriceRow]) -> Sequence[PriceRow]:
    """Leave costs out for a caller who may not see them."""
    return rows if may(Scope.COSTS_READ) else [replace(row, cost=None) for row in rows]


def _refuse_costs(rows: Sequence[PriceRow]) -> None:
    if any(row.cost is not None for row in rows):
        demand(Scope.COSTS_READ)
