"""The dealer's letterhead: what every printed document carries."""

import base64

from flask import Response
from flask_smorest import Blueprint

from service.api.auth import stores
from service.api.conditions import ETAG, NEEDED_IF_MATCH, needed_condition, with_tag
from service.api.context import context, load
from service.api.operations import answer, json_of, operation
from service.api.schemas.letterhead import LETTERHEAD_REQUEST
from service.usecases.callers import Scope
from service.usecases.letterhead import Letterhead

blueprint = Blueprint(
    "Letterhead",
    __name__,
    url_prefix="/v1/letterhead",
    description="What a dealer's printed documents carry at their head.",
)
_SHOWN = {
    "name": "Larkmere Deck & Rail",
    "address": ["3 Quay Street", "Wexholm"],
    "contact": ["Tel. 555 0100", "office@larkmere.example"],
    "registration": "Licence 0000",
    "footer": "Thank you for asking us.",
}
_ANSWER = {
    200: {"description": "The letterhead.", "content": json_of("Letterhead"), "headers": ETAG},
}


@operation(
    blueprint,
    "GET ",
    "getLetterhead",
    "Read the letterhead",
    needs=Scope.QUOTES_READ,
    answers=_ANSWER,
)
def read() -> Response:
    """Give the letterhead in force."""
    return _present(stores().letterheads.letterhead())


@operation(
    blueprint,
    "PUT ",
    "setLetterhead",
    "Set the letterhead",
    needs=Scope.KEYS,
    description="Documents printed from now on carry it, those of quotes made before as well.",
    takes=LETTERHEAD_REQUEST,
    shown=_SHOWN,
    parameters=[NEEDED_IF_MATCH],
    answers=_ANSWER,
    refusals=(412, 428),
)
def change() -> Response:
    """Keep another letterhead."""
    seen = needed_condition()
    _raw, head = load(LETTERHEAD_REQUEST)
    return _present(stores().letterheads.change(head, context().now(), seen))


def _present(head: Letterhead) -> Response:
    content = {
        "name": head.name,
        "address": list(head.address),
        "contact": list(head.contact),
        "registration": head.registration,
        "footer": head.footer,
        "logo": base64.b64encode(head.logo).decode(),
    }
    return with_tag(answer(content), str(head.revision))
