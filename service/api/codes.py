"""Codes held, with their clauses, sources and how unclear texts were read."""

from flask import Response
from flask_smorest import Blueprint

from service.api.context import context
from service.api.operations import answer, json_of, operation
from service.api.presenters.cautions import READING
from service.api.presenters.codes import present_edition, present_library
from service.usecases.orders import Units

blueprint = Blueprint(
    "Codes",
    __name__,
    url_prefix="/v1/codes",
    description="Clauses held as data, each with its citation.",
)
_TEXT = {"type": "string", "minLength": 1, "maxLength": 20}
_PARAMETERS = [
    {"in": "path", "name": "code", "required": True, "schema": {**_TEXT, "examples": ["IRC"]}},
    {"in": "path", "name": "edition", "required": True, "schema": {**_TEXT, "examples": ["2021"]}},
]


@operation(
    blueprint,
    "GET ",
    "listCodes",
    "List codes and places",
    needs=None,
    answers={200: {"description": "What is held.", "content": json_of("Library")}},
)
def index() -> Response:
    """List every edition and every place that adopted one."""
    codes = context().codes
    library = present_library(codes.editions_held(), codes.places_held())
    return answer({**library, "cautions": list(READING)})


@operation(
    blueprint,
    "GET /<string:code>/<string:edition>",
    "getCode",
    "Read the clauses of an edition",
    needs=None,
    answers={200: {"description": "The clauses.", "content": json_of("CodeEdition")}},
    refusals=(404,),
    parameters=_PARAMETERS,
)
def show(code: str, edition: str) -> Response:
    """Give every clause of one edition; limits are converted for reading only."""
    held = context().codes.edition(code, edition)
    return answer({**present_edition(held, Units.METRIC), "cautions": list(READING)})
