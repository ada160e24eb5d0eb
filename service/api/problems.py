"""Refusals as RFC 9457 problem details; the only place that knows status codes of refusals.

Source: RFC 9457 (problem details for HTTP APIs), RFC 6901 (JSON Pointer, as a URI fragment).
"""

import logging
import uuid
from collections.abc import Iterator, Mapping
from typing import Any
from urllib.parse import quote

import orjson
from flask import Flask, Response, current_app, request
from marshmallow import ValidationError
from marshmallow.exceptions import SCHEMA
from werkzeug.exceptions import (
    HTTPException,
    InternalServerError,
    MethodNotAllowed,
    NotFound,
)

from service.api.units import units_asked
from service.domain import errors
from service.spoken_lengths import in_units
from service.usecases.outages import StoreUnavailable
from service.usecases.price_sheets import UnreadablePrices

MOST_COMPLAINTS = 200  # of one sheet; more would say no more
MEDIA_TYPE = "application/problem+json"
_BEARER = 'Bearer realm="evenbay"'
RETRY_SECONDS = 2  # a database that restarts is back about then
Kind = tuple[int, str, str]

KINDS: Mapping[type[errors.QuotingError], Kind] = {
    errors.InvalidGeometry: (422, "invalid-geometry", "This outline cannot be a deck"),
    errors.UnbuildableLayout: (422, "unbuildable-layout", "This deck cannot be laid out"),
    errors.UnknownReference: (422, "unknown-reference", "A name refers to nothing"),
    errors.PieceTooLong: (422, "piece-too-long", "A piece is longer than its stock"),
    errors.NotEnoughStock: (422, "not-enough-stock", "The stock within its limits is not enough"),
    errors.NoPriceInForce: (422, "no-price-in-force", "A part has no price"),
    errors.InvalidPricing: (422, "invalid-pricing", "The pricing does not fit what is priced"),
    errors.CurrencyMismatch: (422, "currency-mismatch", "Amounts of two currencies meet"),
    errors.InvalidAmendment: (422, "invalid-amendment", "An amendment does not fit its clause"),
    errors.UnknownCode: (422, "unknown-code", "No such code is held"),
    errors.CodeNotFound: (404, "code-not-found", "No such code is held"),
    errors.TooLarge: (422, "too-large", "The work passes a bound of the service"),
    errors.NotReproducible: (409, "not-reproducible", "A kept quote comes out differently now"),
    errors.QuoteNotFound: (404, "quote-not-found", "No such quote"),
    errors.DemandsDisagree: (422, "demands-disagree", "Jobs describe one material differently"),
    errors.QuoteClosed: (409, "quote-closed", "The quote does not stand where this step begins"),
    errors.StaleState: (412, "stale-state", "The state has changed since it was read"),
    errors.OffcutNotFound: (404, "offcut-not-found", "No such offcut"),
    errors.OffcutTaken: (409, "offcut-taken", "The offcut is not free"),
    errors.NotKept: (404, "not-kept", "No such price table, system, rules or amendments"),
    errors.NameTaken: (409, "name-taken", "The name is taken"),
    errors.ConditionMissing: (428, "condition-missing", "Say which version was seen"),
    errors.Unauthenticated: (401, "unauthenticated", "A key is needed"),
    errors.Forbidden: (403, "forbidden", "This key may not do this"),
    errors.TooManyRequests: (429, "too-many-requests", "Too many requests in a minute"),
    errors.KeyNotFound: (404, "key-not-found", "No such key"),
    errors.WebhookNotFound: (404, "webhook-not-found", "No such endpoint"),
    errors.EventNotFound: (404, "event-not-found", "No such event"),
    errors.EventsGone: (410, "events-gone", "What happened then is no longer kept"),
    errors.RunNotFound: (404, "run-not-found", "No such re-pricing run"),
    errors.RunClosed: (409, "run-closed", "The run does not stand where this step begins"),
    errors.KeyUsedOtherwise: (422, "key-used-otherwise", "An idempotency key came back changed"),
    errors.FormNotReady: (409, "form-not-ready", "The quote form is not set up"),
    errors.StillAtWork: (409, "still-at-work", "The first such request is not answered yet"),
}
INVALID: Kind = (422, "invalid-request", "The request does not fit its description")

OF_NO_BODY = (
    errors.QuoteNotFound,
    errors.NotReproducible,
    errors.QuoteClosed,
    errors.StaleState,
    errors.OffcutNotFound,
    errors.OffcutTaken,
    errors.NotKept,
    errors.NameTaken,
    errors.ConditionMissing,
    errors.Unauthenticated,
    errors.Forbidden,
    errors.StillAtWork,
    errors.TooManyRequests,
    errors.KeyNotFound,
    errors.FormNotReady,
    errors.WebhookNotFound,
    errors.EventNotFound,
    errors.EventsGone,
    errors.RunNotFound,
    errors.RunClosed,
)
_log = logging.getLogger("service")


def problem(status: int, kind: str, title: str, detail: str, **members: Any) -> Response:
    """Give a problem response; an empty kind means the status says it all."""
    return _response(_members(status, kind, title, detail, **members))


def _members(status: int, kind: str, title: str, detail: str, **more: Any) -> dict[str, Any]:
    return {
        "type": f"/problems/{kind}" if kind else "about:blank",
        "title": title,
        "status": status,
        "detail": detail,
        **more,
    }


def _response(members: Mapping[str, Any]) -> Response:
    status: int = members["status"]
    return Response(orjson.dumps(members), status=status, content_type=MEDIA_TYPE)


def pointer(where: errors.Where) -> str:
    """Give a path into the request as the fragment form of a JSON Pointer.

    Example:
        >>> pointer(("deck", "levels", 0, "a/b"))
        '#/deck/levels/0/a~1b'
    """
    steps = (str(step).replace("~", "~0").replace("/", "~1") for step in where)
    return "#" + "".join("/" + quote(step, safe="~!$&'()*+,;=:@") for step in steps)


def field_errors(messages: Any) -> Iterator[dict[str, str]]:
    """Flatten marshmallow's tree of messages, in the order of the request's description."""
    for where, complaint in complaints_in(messages):
        yield {"pointer": pointer(where), **complaint}


def complaints_in(
    messages: Any, where: errors.Where = ()
) -> Iterator[tuple[errors.Where, dict[str, str]]]:
    """Give every complaint of marshmallow's tree of messages with its path."""
    if isinstance(messages, Mapping) and "detail" in messages and _is_message(messages):
        yield where, dict(messages)
    elif isinstance(messages, Mapping):
        for key, branch in messages.items():
            yield from complaints_in(branch, where if key == SCHEMA else (*where, key))
    elif isinstance(messages, list | tuple):
        for message in messages:
            yield from complaints_in(message, where)
    else:
        yield where, {"detail": str(messages)}


def _is_message(messages: Mapping[str, Any]) -> bool:
    return all(isinstance(value, str) for value in messages.values())


def refuse_invalid(error: ValidationError) -> Response:
    """Answer a body that does not fit its schema."""
    found = list(field_errors(error.messages))
    some = "one place" if len(found) == 1 else f"{len(found)} places"
    return problem(*INVALID, f"The request is not right in {some}; see errors.", errors=found)


def refuse(error: errors.QuotingError) -> Response:
    """Answer a refusal of the domain."""
    answer = _response(problem_of(error))
    challenge = _challenge(error)
    if challenge:
        answer.headers["WWW-Authenticate"] = challenge
    if isinstance(error, errors.TooManyRequests):
        answer.headers["Retry-After"] = str(error.seconds)
    if isinstance(error, errors.StillAtWork):
        answer.headers["Retry-After"] = "2"
    return answer


def _challenge(error: errors.QuotingError) -> str:
    """Say what a bearer credential lacks (RFC 6750, section 3); "" where none would help."""
    if isinstance(error, errors.Unauthenticated):
        return _BEARER + (', error="invalid_token"' if error.shown else "")
    if isinstance(error, errors.Forbidden) and error.scope:
        return f'{_BEARER}, error="insufficient_scope", scope="{error.scope}"'
    return ""


def problem_of(error: errors.QuotingError) -> dict[str, Any]:
    """Give the members of the problem that a refusal is, in the units of the job."""
    units = units_asked()
    detail, advice = in_units(error.detail, units), in_units(error.advice, units)
    entry = {"pointer": pointer(error.where), "detail": detail}
    members: dict[str, Any] = {}
    if advice:
        entry["advice"] = advice
    if error.element:
        members["element"] = error.element
    if isinstance(error, errors.NoPriceInForce):
        members["skus"] = list(error.skus)
    if not isinstance(error, OF_NO_BODY):
        members["errors"] = [entry]
    elif advice:
        members["advice"] = advice
    return _members(*KINDS[type(error)], detail, **members)


def refuse_prices(error: UnreadablePrices) -> Response:
    """Answer a sheet of prices of which nothing is kept."""
    said = error.complaints
    rows = len({one.row for one in said})
    first = f"; the first {MOST_COMPLAINTS} are listed" if len(said) > MOST_COMPLAINTS else ""
    places = "one place" if len(said) == 1 else f"{len(said)} places of {rows} rows"
    found = [
        {
            "pointer": pointer((one.row, one.column) if one.column else (one.row,)),
            "row": one.row,
            "column": one.column,
            "detail": one.detail,
            "advice": one.advice,
        }
        for one in said[:MOST_COMPLAINTS]
    ]
    detail = f"The sheet is not right in {places}{first}. Nothing of it is kept."
    return problem(422, "unreadable-prices", "Prices that cannot be read", detail, errors=found)


def refuse_http(error: HTTPException) -> Response:
    """Answer what HTTP itself refuses, with the headers the exception asks for."""
    status = error.code or 500
    answer = problem(status, "", error.name, _advice(error))
    for name, value in error.get_headers():
        if name.lower() not in ("content-type", "content-length"):
            answer.headers.add(name, value)
    if status == 413:
        answer.headers["Connection"] = "close"  # the rest of the body is not read
    return answer


def _advice(error: HTTPException) -> str:
    """Say what would do; werkzeug's own words speak of a person at a browser."""
    if isinstance(error, MethodNotAllowed):
        takes = ", ".join(sorted(error.valid_methods or ()))
        return f"{request.path} takes {takes}, not {request.method}."
    if isinstance(error, NotFound):
        return f"Nothing is kept at {request.path}; /docs lists every address."
    return error.description or error.name


def refuse_unavailable(error: Exception) -> Response:
    """Answer that the store is away; the log holds why."""
    _log.error("what is needed does not answer", exc_info=error)
    what = str(error) if isinstance(error, StoreUnavailable) else "The database does not answer."
    detail = f"{what} Send the same request again a little later."
    answer = problem(503, "service-unavailable", "The service is not available now", detail)
    answer.headers["Retry-After"] = str(RETRY_SECONDS)
    return answer


def fail(error: InternalServerError) -> Response:
    """Answer an unexpected failure without a trace; the log holds it under the id given."""
    incident = str(uuid.uuid4())
    cause = error.original_exception or error
    _log.error("incident %s", incident, exc_info=cause, extra={"incident": incident})
    detail = "The service failed on this request. Quote the incident when you report it."
    return problem(500, "", InternalServerError().name, detail, incident=incident)


def answer_to(error: Exception) -> Response:
    """Give what an exception is answered with, for a part of a request that fails alone.

    To be called where the exception is handled.
    """
    try:
        return current_app.make_response(current_app.handle_user_exception(error))
    except Exception as unexpected:
        return fail(InternalServerError(original_exception=unexpected))


def register(app: Flask) -> None:
    """Make every refusal and failure of the application a problem."""
    app.register_error_handler(errors.QuotingError, refuse)
    app.register_error_handler(ValidationError, refuse_invalid)
    app.register_error_handler(UnreadablePrices, refuse_prices)
    app.register_error_handler(StoreUnavailable, refuse_unavailable)
    app.register_error_handler(HTTPException, refuse_http)
    app.register_error_handler(500, fail)
