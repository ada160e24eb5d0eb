"""Many quotes in one request: a line of JSON in, a line of JSON out, each as soon as it is made.

Each line is done as POST /v1/quotes would do it alone: let in, counted, read, kept in a transaction
of its own. What is wrong with one line is no matter of the others.
"""

import hashlib
import logging
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack
from functools import partial
from typing import Any

import orjson
from flask import Response, request, stream_with_context
from flask_smorest import Blueprint
from werkzeug.exceptions import HTTPException, RequestEntityTooLarge, ServiceUnavailable

from service.api.auth import admit, stores
from service.api.body import parsed
from service.api.bulk_forms import ANSWERS, DESCRIPTION, KEY, MOST_LINES, REQUESTS
from service.api.context import context, load_sent
from service.api.lines import LINES, SentLine, be_patient, lines_in, pieces_of
from service.api.manners.compression import WORTH_BYTES, prefers_gzip, shrink_pieces
from service.api.manners.idempotency import key_sent, once_under
from service.api.manners.negotiation import best_offer
from service.api.manners.preferences import PARAMETER, prefers_minimal, tell_minimal
from service.api.manners.rates import spend_in_turn
from service.api.operations import operation
from service.api.problems import answer_to
from service.api.quotes import make_quote
from service.api.schemas.requests import QUOTE_REQUEST
from service.usecases.callers import Scope
from service.usecases.ports import Replay, StoredQuote

BUSY_SECONDS = 5
blueprint = Blueprint(
    "Bulk quotes", __name__, url_prefix="/v1/quotes/bulk", description="Many quotes at once."
)
_log = logging.getLogger("service")


@operation(
    blueprint,
    "POST ",
    "createQuotes",
    "Quote many decks, one to a line",
    needs=Scope.QUOTES_WRITE,
    description=DESCRIPTION,
    requestBody=REQUESTS,
    parameters=[KEY, PARAMETER],
    answers={200: ANSWERS},
    refusals=(400, 413, 415),
    replays=False,  # each line does
)
def quote_lines() -> Response:
    """Answer line by line, while lines still come."""
    key, minimal = key_sent(), prefers_minimal(request)
    lines = lines_in(pieces_of(request), context().settings.max_body_bytes)
    ending = _begin_stream()
    answers: Iterator[bytes] = _answers(lines, key, minimal, ending)
    small = prefers_gzip(request, WORTH_BYTES)
    if small:
        answers = shrink_pieces(answers)
    kind = best_offer(request.accept_mimetypes, LINES)
    response = Response(stream_with_context(answers), content_type=kind)
    response.call_on_close(ending.close)
    response.vary.update(("Accept", "Accept-Encoding", "Prefer"))
    if small:
        response.headers["Content-Encoding"] = "gzip"
    if minimal:
        tell_minimal(response)
    return response


def _begin_stream() -> ExitStack:
    """Take one of the places for streams, which is given back at the end, however it comes.

    Raises:
        ServiceUnavailable: None is free.
    """
    places = context().streams
    if not places.acquire(blocking=False):
        raise ServiceUnavailable(
            "As many streams are at work as there is room for.", retry_after=BUSY_SECONDS
        )
    ending = ExitStack()
    ending.callback(places.release)
    ending.callback(be_patient(request.environ))
    return ending


def _answers(
    lines: Iterator[SentLine], key: str | None, minimal: bool, ending: ExitStack
) -> Iterator[bytes]:
    """Answer every line; one that cannot be done and has none after it is the last."""
    number, told = 1, Counter[int]()
    with ending:
        try:
            for line in lines:
                number = line.number
                if line.content == b"":
                    continue
                _refuse_to_go_on(line)
                answer = _answer(line, key, minimal)
                told[answer["status"]] += 1
                yield _written(answer)
                if answer["status"] == 401:  # it will not become better
                    break
                number += 1
        except HTTPException as error:
            yield _written(_refused(number, error))
        finally:
            _log.info("a stream of quotes ends; lines by status: %s", dict(told))


def _refuse_to_go_on(line: SentLine) -> None:
    if line.number > MOST_LINES:
        raise RequestEntityTooLarge(f"Send at most {MOST_LINES} lines in one body.")
    if context().leaving():
        raise ServiceUnavailable(
            "The service ends here; send this line and those after it again.",
            retry_after=BUSY_SECONDS,
        )


def _answer(line: SentLine, key: str | None, minimal: bool) -> dict[str, Any]:
    try:
        admit(Scope.QUOTES_WRITE)
        spend_in_turn()
        content = _quote(line, key)
    except Exception as error:
        return _refused(line.number, error)
    shown = {"kept": _least(content)} if minimal else {"quote": orjson.Fragment(content)}
    return {"line": line.number, "status": 201, **shown}


def _quote(line: SentLine, key: str | None) -> bytes:
    """Give the answer to a line, quoted now or under the same key before."""
    if line.content is None:
        most = context().settings.max_body_bytes
        raise RequestEntityTooLarge(f"The line is larger than {most} bytes.")
    work = partial(_make, line.content)
    if key is None:
        return work().answer
    # No key that is sent holds an end of line, so that this one is nobody else's.
    done = once_under(f"{key}\n{line.number}", _fingerprint(line.content), work, _noted)
    if isinstance(done, Replay):
        return stores().quotes.answer(done.headers["Location"].rpartition("/")[2])
    return done.answer


def _make(content: bytes) -> StoredQuote:
    settings = context().settings
    with context().watch.stage("read"):
        said = parsed(content, settings.max_nesting, "line")
        raw, order = load_sent(QUOTE_REQUEST, content, said)
    return make_quote(raw, order)


def _fingerprint(content: bytes) -> str:
    return hashlib.sha256(b"a line to quote\0" + content).hexdigest()


def _noted(stored: StoredQuote) -> Replay:
    """Note which quote a line became; the quote itself is kept already."""
    return Replay(201, {"Location": f"/v1/quotes/{stored.id}"}, b"")


def _least(content: bytes) -> dict[str, Any]:
    quote = orjson.loads(content)
    names = ("id", "reference", "outside_reference", "links")
    return {name: quote[name] for name in names} | {"gross": quote["totals"]["gross"]}


def _refused(number: int, error: Exception) -> dict[str, Any]:
    answer = answer_to(error)
    told = {"line": number, "status": answer.status_code, "problem": orjson.loads(answer.data)}
    if "Retry-After" in answer.headers:
        told["retry_after"] = int(answer.headers["Retry-After"])
    return told


def _written(answer: dict[str, Any]) -> bytes:
    return orjson.dumps(answer) + b"\n"
