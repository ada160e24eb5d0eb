"""A name for every request, taken from the caller or given, and always answered.

The header is common practice, no standard.
"""

import re
from uuid import uuid4

from flask import Flask, Response, g, request

HEADER = "X-Request-Id"
# What may stand in a log line and in a header without a second look.
_SANE = re.compile(r"[A-Za-z0-9._:~-]{1,64}", re.ASCII)


def register(app: Flask) -> None:
    """Name every request of the application."""
    app.before_request(_name)
    app.after_request(_tell)


def _name() -> None:
    offered = request.headers.get(HEADER, "")
    g.request_id = offered if _SANE.fullmatch(offered) else uuid4().hex


def _tell(response: Response) -> Response:
    response.headers[HEADER] = g.request_id
    return response
