"""Log lines: one JSON object each, or text; never a secret, never what a customer sent.

Messages of exceptions are left out above DEBUG, because databases and parsers quote data in them;
their kinds and the places in the code are kept.
"""

import logging
import sys
import traceback
from copy import copy
from types import TracebackType
from typing import Any

from flask import g, has_request_context, request
from pythonjsonlogger.orjson import OrjsonFormatter

from service.adapters.telemetry.routes import route_asked

FIELDS = ("request_id", "method", "route", "tenant", "key")
_SHOWN = ["levelname", "name", "message", *FIELDS, "exc_info"]
_RENAMED = {"levelname": "level", "name": "logger", "exc_info": "failure"}
_OWN_KEY = "key "

Trouble = tuple[type[BaseException], BaseException, TracebackType | None] | tuple[None, None, None]


class OfRequest(logging.Filter):
    """Puts beside a line which request it belongs to."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Add the fields; every line passes."""
        for name, value in _fields().items():
            if not hasattr(record, name):
                setattr(record, name, value)
        return True


def _fields() -> dict[str, str]:
    if not has_request_context():
        return {}
    fields = {"method": request.method, "route": route_asked()}
    if "request_id" in g:
        fields["request_id"] = g.request_id
    caller = g.get("caller")
    if caller is not None:
        fields["tenant"] = str(caller.dealer)
        if caller.who.startswith(_OWN_KEY):  # anything else may name a person
            fields["key"] = caller.who.removeprefix(_OWN_KEY)
    return fields


class Discreet(logging.Formatter):
    """Writes a failure down as its kinds and places, for either format."""

    words = False

    def format(self, record: logging.LogRecord) -> str:
        """Format a line; an exception in place of a message is told by its kind."""
        if isinstance(record.msg, BaseException) and not self.words:
            record = copy(record)
            record.msg, record.args = f"{type(record.msg).__name__}", ()
        return super().format(record)

    def formatException(self, ei: Trouble) -> str:  # noqa: N802, D102 (a name of logging)
        error = ei[1]
        return "" if error is None else "\n".join(_told(error, words=self.words))


class JsonLines(Discreet, OrjsonFormatter):
    """One object to a line."""

    def __init__(self, *, words: bool) -> None:
        self.words = words
        super().__init__(_SHOWN, rename_fields=_RENAMED, timestamp="time")

    def process_log_record(self, log_data: dict[str, Any]) -> dict[str, Any]:
        """Leave out what a line does not have."""
        return {name: value for name, value in log_data.items() if value is not None}


class TextLines(Discreet):
    """For a person at a console."""

    def __init__(self, *, words: bool) -> None:
        self.words = words
        super().__init__("%(asctime)s %(levelname)s %(name)s: %(message)s")


def _told(error: BaseException, *, words: bool) -> list[str]:
    """Tell of an exception and those it came from, the first cause last."""
    lines: list[str] = []
    seen: BaseException | None = error
    while seen is not None and len(lines) < 200:
        kind = type(seen)
        lines.append(f"{kind.__module__}.{kind.__qualname__}" + (f": {seen}" if words else ""))
        for frame in traceback.extract_tb(seen.__traceback__):
            lines.append(f"  {frame.filename}:{frame.lineno} in {frame.name}")
        seen = seen.__cause__ or (None if seen.__suppress_context__ else seen.__context__)
    return lines


def formatter(form: str, level: str) -> logging.Formatter:
    """Give the formatter of a format; only at DEBUG does it print messages of exceptions."""
    words = level == "DEBUG"
    return TextLines(words=words) if form == "text" else JsonLines(words=words)


def set_up(form: str, level: str) -> None:
    """Send every log line of this process to standard error, in one form."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(formatter(form, level))
    handler.addFilter(OfRequest())
    logging.basicConfig(handlers=[handler], level=logging.WARNING, force=True)
    logging.getLogger("service").setLevel(level)
