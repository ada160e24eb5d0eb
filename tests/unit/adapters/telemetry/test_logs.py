"""Log lines say what happened and where, and never what a customer sent."""

import logging
import sys
from types import SimpleNamespace

import orjson
import pytest
from flask import Flask, g

from service.adapters.telemetry.logs import OfRequest, formatter
from service.adapters.telemetry.workers import _leave_out

SECRET = "vault:larkmere/stripe-key"


def record_of(message="done", error=None, **extra):
    made = logging.LogRecord("service", logging.ERROR, "", 0, message, (), error)
    made.__dict__.update(extra)
    return made


@pytest.fixture
def failure():
    """What is known of a failure whose messages quote what was sent, its cause included."""
    try:
        try:
            raise KeyError(SECRET)
        except KeyError as cause:
            raise RuntimeError(f"could not look up {SECRET}") from cause
    except RuntimeError:
        return sys.exc_info()


def test_a_line_is_one_object():
    line = formatter("json", "INFO").format(record_of("two\nlines", status=200, duration_ms=1.5))
    assert "\n" not in line
    said = orjson.loads(line)
    assert (said["message"], said["level"], said["logger"]) == ("two\nlines", "ERROR", "service")
    assert (said["status"], said["duration_ms"]) == (200, 1.5)
    assert "time" in said


def test_a_line_names_its_request_by_template(failure):
    app = Flask("test")
    said = []

    @app.get("/v1/quotes/<uuid:quote_id>")
    def view(quote_id):
        g.request_id = "crm-17"
        g.caller = SimpleNamespace(dealer="d-1", who="key evb_4k2hq7")
        record = record_of()
        OfRequest().filter(record)
        said.append(orjson.loads(formatter("json", "INFO").format(record)))
        return ""

    path = "/v1/quotes/00000000-0000-4000-8000-000000000001?customer=Smith"
    app.test_client().get(path)
    fields = {name: said[0][name] for name in ("request_id", "method", "route", "tenant", "key")}
    assert fields == {
        "request_id": "crm-17",
        "method": "GET",
        "route": "/v1/quotes/{quote_id}",
        "tenant": "d-1",
        "key": "evb_4k2hq7",
    }
    assert "Smith" not in str(said)
    assert "00000000" not in str(said)


def test_a_person_who_signed_in_is_not_named():
    app = Flask("test")
    with app.test_request_context("/"):
        g.caller = SimpleNamespace(dealer="d-1", who="ann@larkmere.example")
        record = record_of()
        OfRequest().filter(record)
        assert b"larkmere" not in orjson.dumps(record.__dict__, default=str)


@pytest.mark.parametrize("form", ["json", "text"])
def test_a_failure_is_told_by_kinds_and_places(failure, form):
    line = formatter(form, "INFO").format(record_of(error=failure))
    assert SECRET not in line
    assert "builtins.RuntimeError" in line
    assert "builtins.KeyError" in line
    assert "test_logs.py" in line


@pytest.mark.parametrize("form", ["json", "text"])
def test_debugging_shows_the_words_too(failure, form):
    assert SECRET in formatter(form, "DEBUG").format(record_of(error=failure))


def test_a_message_that_is_an_exception_is_told_by_its_kind():
    line = formatter("json", "INFO").format(record_of(ValueError(SECRET)))
    assert SECRET not in line
    assert "ValueError" in line


@pytest.mark.parametrize(
    "said",
    [
        f"Invalid request from ip=192.0.2.7: Invalid HTTP header: '{SECRET}'",
        f"Error handling request GET /v1/quotes?customer={SECRET}",
    ],
)
def test_what_the_web_server_says_of_a_stranger_is_cut(said):
    record = record_of(said)
    assert _leave_out(record)
    line = formatter("json", "INFO").format(record)
    assert SECRET not in line
    assert "192.0.2.7" not in line
    assert "request" in line
