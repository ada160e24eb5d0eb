"""What the OpenAPI document says of manners, so that no operation need say it itself."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from service.api.answers.words import Described
from service.api.manners.traits import Traits

_IF_NONE_MATCH = {
    "name": "If-None-Match",
    "in": "header",
    "description": "ETag of an answer already held.",
    "schema": {"type": "string"},
}
_ETAG = {"ETag": {"description": "Of this form of the answer.", "schema": {"type": "string"}}}
_NOT_MODIFIED = {"description": "What is held is still right."}
_DEPRECATION = {
    "Deprecation": {
        "description": "Since when, in seconds since 1970 after an at sign (RFC 9745).",
        "schema": {"type": "string"},
    }
}
_SUNSET = {"Sunset": {"description": "When it may end (RFC 8594).", "schema": {"type": "string"}}}


def with_manners(
    described: Described, method: str, traits: Traits, refusals: Mapping[int, Any]
) -> dict[str, Any]:
    """Add to an operation object what follows from its traits; its own words come first."""
    responses = dict(described["responses"])
    if traits.offers:
        responses.setdefault("406", refusals[406])
    added: dict[str, Any] = {}
    if method == "GET" and traits.stable and traits.offers:
        responses.setdefault("304", _NOT_MODIFIED)
        responses["200"] = _with_headers(responses["200"], _ETAG)
        added["parameters"] = _with_if_none_match(described.get("parameters", []))
    if traits.deprecated:
        added |= {"deprecated": True, "description": _told(described, traits.deprecated, traits)}
        headers = _DEPRECATION | (_SUNSET if traits.sunset else {})
        responses = {
            status: _with_headers(each, headers) if isinstance(each, dict) else each
            for status, each in responses.items()
        }
    return {**described, **added, "responses": dict(sorted(responses.items()))}


def _with_headers(response: Described, headers: Described) -> dict[str, Any]:
    return {**response, "headers": {**headers, **response.get("headers", {})}}


def _with_if_none_match(parameters: list[Any]) -> list[Any]:
    named = {parameter.get("name") for parameter in parameters}
    return parameters if "If-None-Match" in named else [*parameters, _IF_NONE_MATCH]


def _told(described: Described, since: date, traits: Traits) -> str:
    end = f" It may end on {traits.sunset}." if traits.sunset else ""
    return f"Deprecated since {since}.{end} {described.get('description', '')}".rstrip()
