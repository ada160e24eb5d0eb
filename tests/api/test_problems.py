"""Every refusal is a problem, with its status from one table.

Source: RFC 9457, sections 3 and 4.2.1 (about:blank).
"""

import logging

import orjson
import pytest
from marshmallow import ValidationError

from service.api.problems import KINDS, field_errors, pointer
from service.app import create_app
from service.domain import errors
from service.settings import Settings


def kinds_below(kind):
    yield from kind.__subclasses__()
    for below in kind.__subclasses__():
        yield from kinds_below(below)


def test_every_refusal_of_the_domain_has_an_entry():
    assert set(KINDS) == set(kinds_below(errors.QuotingError))


def test_problem_types_are_distinct():
    assert len({kind for _, kind, _ in KINDS.values()}) == len(KINDS)


@pytest.mark.parametrize(
    ("where", "expected"),
    [
        pytest.param((), "#", id="the whole body"),
        pytest.param(("deck", "levels", 0), "#/deck/levels/0", id="names and numbers"),
        # RFC 6901, section 6, gives these URI fragments.
        pytest.param(("a/b",), "#/a~1b", id="slash"),
        pytest.param(("m~n",), "#/m~0n", id="tilde"),
        pytest.param(("c%d",), "#/c%25d", id="per cent"),
        pytest.param(("e^f",), "#/e%5Ef", id="caret"),
        pytest.param((" ",), "#/%20", id="space"),
        pytest.param(("",), "#/", id="empty name"),
    ],
)
def test_pointers_are_uri_fragments(where, expected):
    assert pointer(where) == expected


def test_trees_of_messages_become_a_list():
    error = ValidationError({"deck": {"levels": {1: {"name": ["Too long."], "_schema": ["No."]}}}})
    assert list(field_errors(error.messages)) == [
        {"pointer": "#/deck/levels/1/name", "detail": "Too long."},
        {"pointer": "#/deck/levels/1", "detail": "No."},
    ]


@pytest.fixture
def app_that_raises(tmp_path):
    """An application of its own, with a route that raises what it is given."""
    app = create_app(Settings(f"sqlite:///{tmp_path / 'unused.sqlite3'}"))
    raised = []

    @app.get("/raise")
    def fail():
        raise raised[0]

    return app.test_client(), raised


@pytest.mark.parametrize("kind", sorted(KINDS, key=lambda kind: kind.__name__))
def test_a_refusal_is_answered_by_its_entry(app_that_raises, kind):
    client, raised = app_that_raises
    extra = {"skus": ("LK-1",)} if kind is errors.NoPriceInForce else {}
    raised.append(kind("Why.", where=("deck", 0), advice="Do this.", **extra))
    response = client.get("/raise")
    status, name, title = KINDS[kind]
    body = response.json
    assert response.status_code == body["status"] == status
    assert response.content_type == "application/problem+json"
    assert (body["type"], body["title"], body["detail"]) == (f"/problems/{name}", title, "Why.")
    if status == 422:
        assert body["errors"] == [{"pointer": "#/deck/0", "detail": "Why.", "advice": "Do this."}]
    if extra:
        assert body["skus"] == ["LK-1"]


def test_a_failure_shows_an_incident_and_logs_the_rest(app_that_raises, caplog):
    client, raised = app_that_raises
    raised.append(RuntimeError("the pump is dry"))
    with caplog.at_level(logging.ERROR, "service"):
        response = client.get("/raise")
    assert response.status_code == 500
    assert response.content_type == "application/problem+json"
    assert response.json["type"] == "about:blank"
    assert b"pump" not in response.data
    record = next(r for r in caplog.records if response.json["incident"] in r.getMessage())
    assert record.incident == response.json["incident"], "a field of the log line too"
    assert "the pump is dry" in str(record.exc_info[1])


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("GET", "/nowhere", 404),
        ("GET", "/v1/quotes/not-an-id", 404),
        ("GET", "/v1/quotes/00000000-0000-4000-8000-00000000abcd", 404),
        ("GET", "/v1/quotes/00000000-0000-4000-8000-00000000abcd/drawing.svg", 404),
        ("PUT", "/v1/quotes", 405),
        ("DELETE", "/v1/layouts", 405),
        ("GET", "/docs/assets/../../settings.py", 404),
        ("GET", "/docs/assets/nothing.js", 404),
    ],
)
def test_what_http_refuses_is_a_problem_too(client, method, path, status):
    response = client.open(path, method=method)
    assert response.status_code == response.json["status"] == status
    assert response.content_type == "application/problem+json"
    assert (status == 405) == ("Allow" in response.headers)


def test_a_wrong_request_names_every_place(post, order):
    order["deck"]["levels"][0]["edges"][0]["kind"] = "hedge"
    order["system"]["guard_height"] = "36"
    order["extra"] = 1
    response = post("/v1/quotes", orjson.dumps(order))
    assert response.status_code == 422
    assert response.json["type"] == "/problems/invalid-request"
    found = {error["pointer"] for error in response.json["errors"]}
    assert {"#/deck/levels/0/edges/0/kind", "#/system/guard_height", "#/extra"} <= found
    assert all(error["detail"] for error in response.json["errors"])


def test_a_part_without_a_price_is_named(post, order):
    dropped = order["price_table"]["rows"].pop(0)["sku"]
    response = post("/v1/quotes", orjson.dumps(order))
    assert response.status_code == 422
    assert response.json["type"] == "/problems/no-price-in-force"
    assert response.json["skus"] == [dropped]


def test_a_piece_longer_than_its_stock_points_to_the_part(post, order):
    rail = next(i for i, part in enumerate(order["system"]["parts"]) if part.get("stock"))
    order["system"]["parts"][rail]["stock"][0]["length"] = "1 ft"
    del order["system"]["parts"][rail]["stock"][1:]
    response = post("/v1/quotes", orjson.dumps(order))
    assert response.json["type"] == "/problems/piece-too-long"
    assert response.json["errors"][0]["pointer"] == f"#/system/parts/{rail}"


@pytest.mark.parametrize(
    ("member", "value", "detail"),
    [
        pytest.param("guard_height", None, "Null is no value", id="null"),
        pytest.param("limits", {}, "This is needed", id="left out"),
        pytest.param("parts", [], "Send from 1 to 500 entries", id="too few"),
        pytest.param("parts", [None], "Null is no value", id="null in a list"),
    ],
)
def test_a_wrong_member_is_told_what_to_send(post, order, member, value, detail):
    order["system"][member] = value
    response = post("/v1/quotes", orjson.dumps(order))
    assert response.status_code == 422
    errors = response.json["errors"]
    assert errors[0]["pointer"].startswith(f"#/system/{member}")
    assert all(error["detail"].startswith(detail) for error in errors)


@pytest.mark.parametrize(
    ("method", "path", "told"),
    [
        ("GET", "/nowhere", "Nothing is kept at /nowhere; /docs lists every address."),
        ("DELETE", "/v1/layouts", "/v1/layouts takes OPTIONS, POST, not DELETE."),
        ("BREW", "/v1/takeoffs", "/v1/takeoffs takes OPTIONS, POST, not BREW."),
    ],
)
def test_what_http_refuses_says_what_would_do(client, method, path, told):
    assert client.open(path, method=method).json["detail"] == told


def test_an_unknown_code_says_which_are_held(post, order):
    order["code"] = {"code": "IRC", "edition": "1066"}
    response = post("/v1/quotes", orjson.dumps(order))
    assert response.status_code == 422
    assert response.json["type"] == "/problems/unknown-code"
    assert "IRC 2021" in response.json["errors"][0]["advice"]
