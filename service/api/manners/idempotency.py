"""The same request sent twice does its work once: the header Idempotency-Key.

Source: draft-ietf-httpapi-idempotency-key-header-07. The value is a string of RFC 8941 (in quotes);
many clients leave the quotes out, so that both are read. What an answer shows once, such as a new
key, is kept nowhere: given again, the answer says so in its place.
"""

import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass
from io import BytesIO
from typing import TypeVar

import orjson
from flask import Response, request
from werkzeug.exceptions import BadRequest

from service.api.auth import stores
from service.api.body import read_bytes
from service.api.context import context
from service.usecases.ports import Replay

HEADER = "Idempotency-Key"
PARAMETER = {
    "name": HEADER,
    "in": "header",
    "description": "Any text of your own, a new one for each new request. Sent again with the same "
    "request it gives the same answer and does nothing again; kept for 24 hours.",
    "schema": {"type": "string", "minLength": 1, "maxLength": 200, "pattern": "^[!#-~]+$"},
}
_KEY = re.compile(r'"([ !#-\[\]-~]{1,200})"|([!#-~]{1,200})')
_KEPT_HEADERS = ("Content-Type", "Location", "ETag", "Link")
# Of any body; what reads it afterwards has its own, smaller bound.
_MOST_BYTES = 50_000_000

Done = TypeVar("Done")


@dataclass(frozen=True, slots=True)
class Secret:
    """What an answer shows only the first time.

    Attributes:
        member: Of the answer; null when it is given again.
        advice: Its member ``advice`` then: how to get another.
    """

    member: str
    advice: str


def once(work: Callable[[], Response], secret: Secret | None = None) -> Response:
    """Do the work of a request once for its idempotency key; without one, do it.

    Args:
        work: What is asked for.
        secret: What is left out of the answer that is kept.

    Raises:
        BadRequest: The header is not as it should be.
        KeyUsedOtherwise: The key came with another request before.
        StillAtWork: The first request is not answered yet.
    """
    key = key_sent()
    if key is None:
        return work()
    done = once_under(key, _fingerprint(), work, lambda made: _replay(made, secret))
    if isinstance(done, Replay):
        return Response(done.body, status=done.status, headers=dict(done.headers))
    return done


def once_under(
    key: str, fingerprint: str, work: Callable[[], Done], replay: Callable[[Done], Replay]
) -> Done | Replay:
    """Do work once under a key; done before, what was kept of it is given.

    Args:
        key: Of the work.
        fingerprint: Tells it from other work under the same key.
        work: What is done, and kept in one transaction with ...
        replay: ... what is to be given the next time.
    """
    kept = stores().replays
    claimed = kept.claim(key, fingerprint, context().now())
    if isinstance(claimed, Replay):
        return claimed
    try:
        with kept.together():
            done = work()
            kept.keep(key, claimed, replay(done))
    except BaseException:
        kept.drop(key, claimed)
        raise
    return done


def key_sent() -> str | None:
    """Give the key of this request, None where it has none.

    Raises:
        BadRequest: The header is not as it should be.
    """
    sent = request.headers.getlist(HEADER)
    if not sent:
        return None
    found = _KEY.fullmatch(sent[0].strip()) if len(sent) == 1 else None
    if found is None:
        raise BadRequest(
            f"{HEADER} takes one text of 1 to 200 visible characters, with or without quotes."
        )
    return found[1] or found[2]


def _fingerprint() -> str:
    """Tell one request from another; its body can still be read afterwards."""
    body = read_bytes(request, _MOST_BYTES)
    request.environ["wsgi.input"] = BytesIO(body)
    request.environ["CONTENT_LENGTH"] = str(len(body))
    request.environ.pop("HTTP_TRANSFER_ENCODING", None)
    request.__dict__.pop("stream", None)  # made anew from what was put in its place
    digest = hashlib.sha256()
    for part in (request.method, request.full_path, request.content_type or ""):
        digest.update(part.encode("utf-8", "surrogateescape") + b"\0")
    digest.update(body)
    return digest.hexdigest()


def _replay(answer: Response, secret: Secret | None) -> Replay:
    body = answer.get_data()
    if secret is not None:
        shown = orjson.loads(body)
        body = orjson.dumps({**shown, secret.member: None, "advice": secret.advice})
    headers = {name: answer.headers[name] for name in _KEPT_HEADERS if name in answer.headers}
    return Replay(answer.status_code, headers, body)
