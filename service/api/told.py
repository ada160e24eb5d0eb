"""What the service sends by itself, for the ``webhooks`` member of the OpenAPI document.

Source: OpenAPI 3.1.1, section 4.8.1; Standard Webhooks; CloudEvents HTTP binding 1.0.2.
"""

from typing import Any

from service.api.answers.words import Described, ref
from service.usecases.events import MEANING, MEDIA_TYPE, EventType

_HEADERS: list[Described] = [
    {
        "name": name,
        "in": "header",
        "required": True,
        "description": description,
        "schema": {"type": "string"},
    }
    for name, description in (
        ("webhook-id", "Id of the event, the same in every attempt: take each id once."),
        ("webhook-timestamp", "When this attempt was made, in seconds since 1970 (UTC)."),
        (
            "webhook-signature",
            "One or more of v1,<signature>, with blanks between: HMAC-SHA256 by the endpoint's "
            "secret over id, time and body, as the Standard Webhooks scheme has it.",
        ),
    )
]
_ANSWERS = {
    "2XX": {"description": "Taken. The body is not read."},
    "410": {"description": "The endpoint wants nothing more; it is disabled."},
    "default": {
        "description": "Not taken, a redirect too. It is sent again after 5 seconds, then after "
        "ever longer, twelve times over about two days; then it is dead, until it is replayed. "
        "With 429 or 503, Retry-After (RFC 9110) is heeded, up to six hours, for all that is sent "
        "to the endpoint; one that fails ten times on end rests for up to five minutes."
    },
}


def _described(kind: EventType, meaning: str) -> Described:
    name = "".join(word.capitalize() for word in kind.replace("_", ".").split(".")[1:])
    body = {"required": True, "content": {MEDIA_TYPE: {"schema": ref("CloudEvent")}}}
    return {
        "post": {
            "operationId": f"on{name}",
            "summary": meaning,
            "parameters": _HEADERS,
            "requestBody": body,
            "responses": _ANSWERS,
            "security": [],
        }
    }


WEBHOOKS: dict[str, Any] = {
    kind.value: _described(kind, meaning) for kind, meaning in MEANING.items()
}
