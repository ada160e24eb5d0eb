"""The OpenAPI document, and the page that shows it."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import orjson
from flask import Blueprint, Flask, Response, send_from_directory
from flask_smorest import Api

from service import __version__
from service.api.answers.quote import COMPONENTS
from service.api.auth import IN_ADDRESS
from service.api.body import JSON
from service.api.lifting import lift
from service.api.operations import ADDRESS_KEY, KEY, REFUSALS, refusal
from service.api.problems import refuse_http
from service.api.schemas.openapi_fields import StrictPlugin, describe_fields
from service.api.told import WEBHOOKS
from service.usecases.callers import MEANING

STATIC = Path(__file__).parent / "static"
# Nothing from outside, and nothing inline: the page's script is a file of its own.
CONTENT_SECURITY_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
_INFO = {
    "summary": "Railing quotes from taped deck measurements.",
    "description": (
        "One call turns a taped deck, a railing system and a price table into a layout that can "
        "be built, a code check, an order with a cut plan, and a price. Lengths are text with a "
        "unit, such as 12' 6-1/2\" or 3810 mm. Refusals are problem details (RFC 9457). "
        "Every answer tells X-Request-Id; answers to keys tell RateLimit and RateLimit-Policy, and "
        "those to keys of a dealer's own, unless the operator chose otherwise, Server-Timing. "
        "Answers are a screening: the local code official, the system's test report and licensed "
        "practice come first."
    ),
    "license": {"name": "Apache-2.0", "identifier": "Apache-2.0"},
}
_SCHEME = {
    "type": "http",
    "scheme": "bearer",
    "description": "A key of the dealer's, made by `evenbay keys create` or POST /v1/keys. Scopes: "
    + "; ".join(f"{scope.value}: {meaning}" for scope, meaning in MEANING.items())
    + ".",
}
_IN_ADDRESS = {
    "type": "apiKey",
    "in": "query",
    "name": IN_ADDRESS,
    "description": "A publishable key with the scope sheets, for programs that can only fetch an "
    "address. No other key is taken from an address: one that has been in one should be revoked.",
}


class DescribedApi(Api):  # type: ignore[misc]
    """flask-smorest with problem details in place of its own error body."""

    DEFAULT_ERROR_RESPONSE_NAME = None  # every refusal is listed by its status instead

    def handle_http_exception(self, error: Any) -> Response:
        """Answer what HTTP refuses."""
        return refuse_http(error)


def describe(app: Flask) -> Api:
    """Start the document: what all operations share."""
    app.config.update(API_TITLE="Evenbay", API_VERSION=__version__, OPENAPI_VERSION="3.1.1")
    plugin = StrictPlugin(schema_name_resolver=_name)
    api = DescribedApi(
        app,
        spec_kwargs={
            "marshmallow_plugin": plugin,
            "info": _INFO,
            "servers": [{"url": "/", "description": "Where this document was read."}],
            "webhooks": WEBHOOKS,
        },
    )
    api.spec.components.schemas.clear()  # flask-smorest's own error body and page count
    describe_fields(api.spec, plugin)
    api.spec.components.security_scheme(KEY, _SCHEME)
    api.spec.components.security_scheme(ADDRESS_KEY, _IN_ADDRESS)
    for name, component in COMPONENTS.items():
        api.spec.components.schema(name, component)
    for status, name in REFUSALS.items():
        api.spec.components.response(name, refusal(status))
    return api


def _name(schema: Any) -> str:
    """Name a request's schema so that it never meets an answer's."""
    cls = schema if isinstance(schema, type) else type(schema)
    return f"{cls.__name__.removesuffix('Schema').removesuffix('Request')}Request"


def document(api: Api) -> bytes:
    """Give the document, the same bytes every time."""
    return orjson.dumps(
        lift(api.spec.to_dict()), option=orjson.OPT_INDENT_2 | orjson.OPT_APPEND_NEWLINE
    )


def documentation(read: Callable[[], bytes]) -> Blueprint:
    """Give the routes that serve the document and its page."""
    blueprint = Blueprint("documentation", __name__)

    @blueprint.get("/v1/openapi.json")
    def openapi() -> Response:
        return Response(read(), content_type=JSON)

    @blueprint.get("/docs")
    def docs() -> Response:
        page = send_from_directory(STATIC, "docs.html")
        page.headers["Content-Security-Policy"] = CONTENT_SECURITY_POLICY
        return page

    @blueprint.get("/docs/assets/<path:name>")
    def assets(name: str) -> Response:
        return send_from_directory(STATIC, name, max_age=3600)

    return blueprint
