"""How an operation is described in the OpenAPI document, and how it answers."""

from collections.abc import Callable, Mapping
from datetime import date
from functools import partial, wraps
from http import HTTPStatus
from typing import Any, TypeVar, cast

import orjson
from flask import Response
from flask_smorest import Blueprint
from marshmallow import Schema

from service.api.answers.words import Described, ref
from service.api.auth import admit
from service.api.body import JSON, MERGE_PATCH
from service.api.examples import example_request
from service.api.manners import traits
from service.api.manners.idempotency import PARAMETER, Secret, once
from service.api.manners.negotiation import VARY
from service.api.manners.openapi import with_manners
from service.api.manners.rates import spend_one
from service.api.manners.sentences import TEXT
from service.api.manners.traits import Traits
from service.api.problems import MEDIA_TYPE
from service.usecases.callers import Scope

REFUSALS = {
    400: "BadRequest",
    401: "Unauthorized",
    403: "Forbidden",
    404: "NotFound",
    406: "NotAcceptable",
    409: "Conflict",
    410: "Gone",
    412: "PreconditionFailed",
    413: "ContentTooLarge",
    415: "UnsupportedMediaType",
    422: "Unprocessable",
    428: "PreconditionRequired",
    429: "TooManyRequests",
    500: "InternalServerError",
    503: "ServiceUnavailable",
}
_PROBLEM: Described = {MEDIA_TYPE: {"schema": ref("Problem")}}
_SENTENCE: Described = {TEXT: {"schema": {"type": "string"}}}
OF_A_BODY = (400, 413, 415, 422)
OF_A_KEY = (401, 403, 429, 503)  # a key is looked up, and the database may be away
# POSTs that need one of these store something.
STORING = (
    Scope.QUOTES_WRITE,
    Scope.OFFCUTS_WRITE,
    Scope.CATALOGUE_WRITE,
    Scope.RUNS,
    Scope.WEBHOOKS,
    Scope.KEYS,
)
KEY, ADDRESS_KEY = "key", "addressKey"  # the security schemes of the document

View = TypeVar("View", bound=Callable[..., Response])


def refusal(status: int, forms: Mapping[str, Described] = {}) -> Described:
    """Describe what refuses; as a problem, and in further forms by their media types."""
    described = {"description": HTTPStatus(status).phrase, "content": {**_PROBLEM, **forms}}
    return described | {"headers": VARY} if status == HTTPStatus.NOT_ACCEPTABLE else described


# The same, told as a sentence to those who ask for text.
_SAID = {status: refusal(status, _SENTENCE) for status in REFUSALS}


def answer(content: Any, status: int = 200) -> Response:
    """Answer with JSON; the content is plain data already."""
    return Response(orjson.dumps(content), status=status, content_type=JSON)


def located(where: str) -> dict[str, Described]:
    """Describe the header that tells the address of what was made."""
    return {
        "Location": {
            "description": where,
            "schema": {"type": "string", "format": "uri-reference"},
        }
    }


def json_of(component: str, examples: Described | None = None) -> Described:
    """Describe a JSON body, with examples of it by their names."""
    return {JSON: {"schema": ref(component), **({"examples": examples} if examples else {})}}


def operation(
    blueprint: Blueprint,
    route: str,
    operation_id: str,
    summary: str,
    *,
    needs: Scope | None,
    answers: Mapping[int, Described],
    takes: Schema | None = None,
    example: str = "",
    shown: Any = None,
    titled: str = "",
    patch: Any = None,
    refusals: tuple[int, ...] = (),
    stable: bool = True,
    replays: bool | None = None,
    secret: Secret | None = None,
    deprecated: date | None = None,
    sunset: date | None = None,
    by_address: bool = False,
    **more: Any,
) -> Callable[[View], View]:
    """Route a view and describe it; what any body is refused for goes without saying.

    Args:
        blueprint: Group of resources it belongs to.
        route: Method and path within the blueprint, such as "GET /<uuid:quote_id>".
        operation_id: Name for generated clients.
        summary: One line.
        needs: Scope that the caller's key must have; None for what anyone may ask.
        answers: Response object of each status that is not a problem.
        takes: Schema of the request's body.
        example: Name of the request shown ...
        shown: ... or the request itself.
        titled: What the request shown is; if left out, the demo deck or just an example.
        patch: A merge patch to show, where the body may be one instead.
        refusals: Further statuses that are problems.
        replays: Whether it takes an idempotency key; if left out, every POST that stores does.
        secret: What its answer shows once.
        stable: Whether what a GET gives stays right until something is changed.
        deprecated: Day from which it should no longer be used.
        sunset: Day on which it may end.
        by_address: Whether its address may hold the key.
        more: Further members of the operation object.
    """
    schemes = (KEY, ADDRESS_KEY) if by_address else (KEY,)
    refusals_of: Mapping[int, Any] = _SAID if by_address else REFUSALS
    statuses = sorted({*refusals, *(OF_A_BODY if takes else ()), *(OF_A_KEY if needs else ()), 500})
    responses = {str(status): response for status, response in answers.items()}
    described: dict[str, Any] = {
        "operationId": operation_id,
        "summary": summary,
        "responses": responses | {str(status): refusals_of[status] for status in statuses},
        "security": [{scheme: [needs.value]} for scheme in schemes] if needs else [],
        **more,
    }
    if takes:
        value = example_request(example) if example else shown
        summary_of = titled or ("The demo deck" if example else "An example")
        examples = {"demo": {"summary": summary_of, "value": value}}
        content: dict[str, Any] = {JSON: {"schema": takes, "examples": examples}}
        if patch is not None:
            shown_patch = {"patch": {"summary": "What is to change", "value": patch}}
            content[MERGE_PATCH] = {"schema": {"type": "object"}, "examples": shown_patch}
        described["requestBody"] = {"required": True, "content": content}
    method, _, path = route.partition(" ")
    replays = method == "POST" and needs in STORING if replays is None else replays
    if replays:
        described["parameters"] = [*described.get("parameters", ()), PARAMETER]
        described["responses"] |= {str(n): REFUSALS[n] for n in (400, 409, 422)}
    offers = tuple(
        dict.fromkeys(kind for each in answers.values() for kind in each.get("content", ()))
    )
    manners = Traits(offers, stable, deprecated, sunset, by_address)
    described = with_manners(described, method, manners, refusals_of)

    def decorate(view: View) -> View:
        documented = blueprint.doc(**described)(
            _guarded(view, needs, replays, by_address, secret) if needs else view
        )
        traits.describe(documented, manners)
        blueprint.add_url_rule(path, view.__name__, documented, methods=[method])
        return view

    return decorate


def _guarded(
    view: View, needs: Scope, replays: bool, by_address: bool, secret: Secret | None
) -> View:
    """Let nobody in who may not, before anything else is looked at."""

    @wraps(view)
    def guarded(*arguments: Any, **named: Any) -> Response:
        admit(needs, by_address=by_address)
        spend_one()
        work = partial(view, *arguments, **named)
        return once(work, secret) if replays else work()

    return cast(View, guarded)
