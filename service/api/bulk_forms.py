"""How requests and answers of one JSON text to a line are described.

OpenAPI 3.1 has no words for the lines of a body, so that it is a text whose lines are told of.
"""

from typing import Any

import orjson

from service.api.answers.words import Described, ref
from service.api.examples import example_request
from service.api.lines import JSONL, LINES, MOST_BYTES, NDJSON, STANDSTILL_SECONDS
from service.api.manners.idempotency import PARAMETER

MOST_LINES = 100_000
_ORDER = orjson.dumps(example_request("quote")).decode()
_SHOWN = {
    "demo": {"summary": "The demo deck, and a line that is refused", "value": f"{_ORDER}\n{{}}\n"}
}
REQUESTS: dict[str, Any] = {
    "required": True,
    "description": f"Also taken as {JSONL}, which is the same.",
    "content": {
        NDJSON: {
            "schema": {
                "type": "string",
                "description": "On each line a request as POST /v1/quotes takes it.",
            },
            "examples": _SHOWN,
        }
    },
}
ANSWERS: Described = {
    "description": "A line for each line that was sent and is not empty, in their order, each as "
    "soon as it is made. The quotes are kept.",
    "content": {
        kind: {
            "schema": {
                "type": "string",
                "description": "On each line one of these.",
                "contentMediaType": kind,
                "contentSchema": ref("BulkQuoteLine"),
            }
        }
        for kind in LINES
    },
    "headers": {
        "Preference-Applied": {
            "description": "The wish that was heard (RFC 7240).",
            "schema": {"type": "string"},
        }
    },
}
KEY: Described = {
    **PARAMETER,
    "description": "Any text of your own, a new one for each new body. If the connection broke, or "
    "lines were refused with 409, 429 or 503, send the same body again under the same key: lines "
    "that were quoted are answered as before, and each is quoted once. Kept for 24 hours.",
}
DESCRIPTION = (
    "Each line is quoted as POST /v1/quotes would quote it alone, in a transaction of its own, and "
    "counts as a request; once three quarters of a minute's requests are spent the answers wait "
    "for the next minute. A line that is refused stops no other. Sent in chunks, lines are "
    "answered as they arrive, and have to be read as they are sent; sent with Content-Length, "
    f"they are answered once all {MOST_BYTES} bytes at most have arrived. At most {MOST_LINES} "
    "lines, each of the size of one request. When the service ends, or nothing moves for "
    f"{STANDSTILL_SECONDS} s, the last line says so; it and those after it are to be sent again."
)
