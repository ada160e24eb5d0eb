"""Offcuts on hand, kept from job to job."""

from uuid import UUID

from flask import Response
from flask_smorest import Blueprint

from service.api.answers.words import one_of
from service.api.auth import stores
from service.api.conditions import IF_MATCH, condition, with_tag
from service.api.context import context, load, today
from service.api.operations import answer, json_of, located, operation
from service.api.paging import (
    LINK,
    cursor_of,
    most_of,
    page_of,
    page_parameters,
    place_of,
    read_query,
)
from service.api.presenters.offcuts import present_offcut
from service.api.schemas.fields import TEXT_PATTERN
from service.api.schemas.offcuts import OFFCUT_QUERY, OFFCUT_REQUEST
from service.api.schemas.openapi_fields import explanations
from service.usecases.callers import Scope
from service.usecases.orders import Units
from service.usecases.ports import StoredOffcut

blueprint = Blueprint(
    "Offcuts",
    __name__,
    url_prefix="/v1/offcuts",
    description="Remnants on hand, used before anything is bought.",
)
_SAME_ID = {"offcut_id": "$response.body#/id"}
_SAID = explanations()["OffcutQuery"]
_UNITS = {
    "name": "units",
    "in": "query",
    "description": _SAID["units"],
    "schema": {**one_of(Units), "default": "imperial"},
}
_QUERY = [
    {
        "name": "sku",
        "in": "query",
        "description": _SAID["sku"],
        "schema": {"type": "string", "minLength": 1, "maxLength": 60, "pattern": TEXT_PATTERN},
    },
    *page_parameters(OFFCUT_QUERY),
    _UNITS,
]


@operation(
    blueprint,
    "POST ",
    "addOffcut",
    "Put an offcut on the shelf",
    needs=Scope.OFFCUTS_WRITE,
    takes=OFFCUT_REQUEST,
    example="offcut",
    answers={
        201: {
            "description": "The offcut.",
            "content": json_of("Offcut"),
            "headers": located("Where it can be read."),
            "links": {
                "GetOffcut": {"operationId": "getOffcut", "parameters": _SAME_ID},
                "RemoveOffcut": {"operationId": "removeOffcut", "parameters": _SAME_ID},
            },
        }
    },
)
def add() -> Response:
    """Keep an offcut."""
    _, wish = load(OFFCUT_REQUEST)
    here = context()
    offcut = StoredOffcut(
        id=here.new_id(),
        sku=wish["sku"],
        length_nm=wish["length"],
        first_picket_nm=wish["first_picket"],
        value=wish["value"],
        note=wish.get("note", ""),
    )
    stores().shelf.add(offcut, here.now())
    response = answer(present_offcut(offcut, Units(wish["units"])), 201)
    response.headers["Location"] = f"/v1/offcuts/{offcut.id}"
    return response


@operation(
    blueprint,
    "GET ",
    "listOffcuts",
    "List the offcuts on hand",
    needs=Scope.OFFCUTS_READ,
    parameters=_QUERY,
    answers={
        200: {
            "description": "A page of offcuts.",
            "content": json_of("OffcutPage"),
            "headers": LINK,
        }
    },
    refusals=(422,),
)
def index() -> Response:
    """Give one page."""
    wish = read_query(OFFCUT_QUERY)
    most, units = most_of(wish), Units(wish.get("units", Units.IMPERIAL))
    after = place_of(wish["cursor"], (str, int, str)) if "cursor" in wish else None
    found = stores().shelf.page(wish.get("sku", ""), after, most + 1, today())
    return page_of("offcuts", found, most, lambda one: present_offcut(one, units), _cursor)


@operation(
    blueprint,
    "GET /<uuid:offcut_id>",
    "getOffcut",
    "Read one offcut",
    needs=Scope.OFFCUTS_READ,
    parameters=[_UNITS],
    answers={200: {"description": "The offcut.", "content": json_of("Offcut")}},
    refusals=(404, 422),
)
def read(offcut_id: UUID) -> Response:
    """Give one offcut."""
    units = Units(read_query(OFFCUT_QUERY, "units").get("units", Units.IMPERIAL))
    offcut = stores().shelf.offcut(str(offcut_id), today())
    return with_tag(answer(present_offcut(offcut, units)), offcut.tag)


@operation(
    blueprint,
    "DELETE /<uuid:offcut_id>",
    "removeOffcut",
    "Take an offcut off the shelf",
    needs=Scope.OFFCUTS_WRITE,
    parameters=[IF_MATCH],
    answers={204: {"description": "It is gone."}},
    refusals=(404, 409, 412),
)
def remove(offcut_id: UUID) -> Response:
    """Remove an offcut that no quote holds."""
    stores().shelf.remove(str(offcut_id), context().now(), condition())
    return Response(status=204)


def _cursor(last: StoredOffcut) -> str:
    return cursor_of(last.sku, last.length_nm, last.id)
