"""Tells callers of an operation that is to go since when, and when it may end.

Source: RFC 9745 (Deprecation, a structured date and the relation "deprecation"), RFC 8594
(Sunset, an HTTP date).
"""

from datetime import UTC, date, datetime

from flask import Flask, Response
from werkzeug.http import http_date

from service.api.manners.traits import traits_asked

EXPLAINED = '</docs>; rel="deprecation"; type="text/html"'


def register(app: Flask) -> None:
    """Add the headers to every answer of such an operation, refusals too."""
    app.after_request(_warn)


def _warn(response: Response) -> Response:
    traits = traits_asked()
    if traits.deprecated:
        response.headers["Deprecation"] = f"@{int(_midnight(traits.deprecated).timestamp())}"
        response.headers.add("Link", EXPLAINED)
    if traits.sunset:
        response.headers["Sunset"] = http_date(_midnight(traits.sunset))
    return response


def _midnight(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, tzinfo=UTC)
