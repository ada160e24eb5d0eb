"""Reading a JSON body: its type, size, nesting and keys are checked before any schema."""

import json
from itertools import chain
from typing import Any

import orjson
from flask import Request
from werkzeug.exceptions import BadRequest, RequestEntityTooLarge, UnsupportedMediaType

JSON = "application/json"
MERGE_PATCH = "application/merge-patch+json"


class CodedBody(UnsupportedMediaType):
    """The body is compressed; the answer says that only plain ones are read (RFC 9110, 15.5.16)."""

    description = "Send the body as it is, without a Content-Encoding."

    def get_headers(self, *known: Any) -> list[tuple[str, str]]:
        """Give the header that says so."""
        return [*super().get_headers(*known), ("Accept-Encoding", "identity")]


def read_json(
    request: Request, *, max_bytes: int, max_nesting: int, media_type: str = JSON
) -> tuple[bytes, Any]:
    """Give the body's bytes and what they say.

    Raises:
        UnsupportedMediaType: The content is not declared as the media type, plain.
        RequestEntityTooLarge: It passes the bound on its size.
        BadRequest: It is not JSON, nests too deeply, or repeats a key.
    """
    if request.mimetype != media_type:
        raise UnsupportedMediaType(f"Send the request as {media_type}.")
    if request.headers.get("Content-Encoding", "identity").lower() != "identity":
        raise CodedBody
    raw = read_bytes(request, max_bytes)
    return raw, parsed(raw, max_nesting)


def parsed(raw: bytes, max_nesting: int, what: str = "body") -> Any:
    """Give what JSON says, strictly.

    Args:
        raw: The JSON.
        max_nesting: Deepest nesting that is read.
        what: What a complaint calls it.

    Raises:
        BadRequest: It is not JSON, nests too deeply, or repeats a key.
    """
    try:
        content = orjson.loads(raw)
    except orjson.JSONDecodeError as error:
        raise BadRequest(f"The {what} is not JSON in UTF-8: {error}.") from None
    _refuse_depth(content, max_nesting)
    # Written anew, content has as many colons as before unless a key stood twice, whose first
    # value is lost; where a colon may be escaped, the slow reader tells.
    if b"\\u003" in raw or raw.count(b":") != orjson.dumps(content).count(b":"):
        json.loads(raw, object_pairs_hook=_refuse_repeats, parse_int=str, parse_float=str)
    return content


def merged(content: Any, patch: Any) -> Any:
    """Apply a JSON merge patch: null takes a member away, objects merge, all else replaces.

    Source: RFC 7396, section 2; its examples are the tests.

    Example:
        >>> merged({"a": {"b": 1, "c": 2}}, {"a": {"b": None}, "d": [3]})
        {'a': {'c': 2}, 'd': [3]}
    """
    if not isinstance(patch, dict):
        return patch
    result = dict(content) if isinstance(content, dict) else {}
    for name, value in patch.items():
        if value is None:
            result.pop(name, None)
        else:
            result[name] = merged(result.get(name), value)
    return result


def read_bytes(request: Request, max_bytes: int) -> bytes:
    """Read a body up to a bound, and one byte past it: a chunked body does not tell its length.

    Raises:
        RequestEntityTooLarge: It passes the bound.
    """
    if (request.content_length or 0) > max_bytes:
        raise RequestEntityTooLarge(f"The body is larger than {max_bytes} bytes.")
    pieces, left = [], max_bytes + 1
    while left and (piece := request.stream.read(left)):
        pieces.append(piece)
        left -= len(piece)
    if not left:
        raise RequestEntityTooLarge(f"The body is larger than {max_bytes} bytes.")
    return b"".join(pieces)


def _refuse_depth(content: Any, most: int) -> None:
    """Look through what is nested, one level after the other."""
    level = [content] if type(content) is dict or type(content) is list else []
    for _ in range(most):
        each = [one.values() if type(one) is dict else one for one in level]
        level = [v for v in chain.from_iterable(each) if type(v) is dict or type(v) is list]
    if level:
        raise BadRequest("The body nests more deeply than any request does.")


def _refuse_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    content = dict(pairs)
    if len(content) != len(pairs):
        names = [name for name, _ in pairs]
        repeated = next(name for name in names if names.count(name) > 1)
        raise BadRequest(f"The key {repeated[:80]!r} stands twice in one object.")
    return content
