"""Health: live means the process answers, ready means it can make, keep and read quotes."""

import logging

from flask import Response
from flask_smorest import Blueprint

from service import __version__
from service.api.context import context
from service.api.operations import answer, json_of, operation
from service.api.problems import RETRY_SECONDS, problem
from service.usecases.outages import StoreUnavailable

blueprint = Blueprint("Health", __name__, url_prefix="/health", description="State of the service.")
_PASS = {"status": "pass", "version": __version__}
_log = logging.getLogger("service")


@operation(
    blueprint,
    "GET /live",
    "isLive",
    "Tell whether the process answers",
    needs=None,
    answers={200: {"description": "It does.", "content": json_of("Health")}},
    stable=False,
)
def live() -> Response:
    """Answer without touching anything."""
    return answer(_PASS)


@operation(
    blueprint,
    "GET /ready",
    "isReady",
    "Tell whether quotes can be made, kept and read",
    needs=None,
    answers={200: {"description": "They can.", "content": json_of("Health")}},
    stable=False,
    refusals=(503,),
)
def ready() -> Response:
    """Ask the database."""
    try:
        context().check_database()
    except Exception as error:  # whatever is wrong with the database, this instance is not ready
        _log.exception("the database cannot serve")
        known = isinstance(error, StoreUnavailable)
        told = str(error) if known else "The database does not answer."
        away = problem(503, "", "Service Unavailable", told)
        away.headers["Retry-After"] = str(RETRY_SECONDS)
        return away
    return answer(_PASS)
