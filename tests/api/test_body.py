"""What is refused of a body before any schema sees it."""

import io

import orjson
import pytest

LIMIT = 1_000_000  # bytes, the default of the settings


def refused(response, status):
    assert response.status_code == response.json["status"] == status
    assert response.content_type == "application/problem+json"
    assert response.json["type"] == "about:blank"
    return response.json["detail"]


@pytest.mark.parametrize("media", ["text/plain", "", "application/xml", "multipart/form-data"])
def test_another_media_type_is_415(post, media):
    assert "application/json" in refused(post("/v1/quotes", b"{}", media), 415)


def test_a_charset_beside_the_media_type_does_no_harm(post):
    response = post("/v1/layouts", b"{}", "application/json; charset=utf-8")
    assert response.status_code == 422  # the members are missing, the type is right


@pytest.mark.parametrize(
    "body",
    [
        pytest.param(b"", id="nothing"),
        pytest.param(b"{", id="cut off"),
        pytest.param(b"{'deck': 1}", id="single quotes"),
        pytest.param(b'{"a": NaN}', id="not a number"),
        pytest.param(b'{"a": 1e400}', id="infinite"),
        pytest.param(b'{"a": "\xff"}', id="not UTF-8"),
        pytest.param(b'{"a": "\\ud800"}', id="half a surrogate pair"),
        pytest.param(b"\xef\xbb\xbf{}", id="byte order mark"),
        pytest.param(b"[" * 100_000, id="100 KB of open brackets"),
        pytest.param(b'{"a":' * 20_000, id="100 KB of open objects"),
        pytest.param(b"[" * 33 + b"]" * 33, id="one level too deep"),
        pytest.param(b"[" * 500_000 + b"]" * 499_999, id="a megabyte of brackets"),
    ],
)
def test_a_body_that_is_not_fit_json_is_400(post, body):
    refused(post("/v1/quotes", body), 400)


def test_the_deepest_nesting_allowed_reaches_the_schema(post):
    assert post("/v1/quotes", b"[" * 32 + b"]" * 32).status_code == 422


@pytest.mark.parametrize("body", [b"[]", b"null", b"1", b'"deck"', b"true"])
def test_json_that_is_no_object_is_422(post, body):
    response = post("/v1/quotes", body)
    assert response.status_code == 422
    assert response.json["errors"][0]["pointer"] == "#"


def test_a_repeated_key_is_refused_by_name(post):
    body = b'{"units": "metric", "note": "a:b", "deck": {"levels": [], "levels": []}}'
    assert "'levels'" in refused(post("/v1/layouts", body), 400)


def test_colons_in_text_are_not_mistaken_for_keys(post, order):
    order["reference"] = "Back deck: east :: phase 2"
    assert post("/v1/quotes", orjson.dumps(order)).status_code == 201


def test_a_body_of_the_greatest_size_is_read(post, order):
    body = orjson.dumps(order)
    assert post("/v1/quotes", body + b" " * (LIMIT - len(body))).status_code == 201


def test_a_body_past_the_limit_is_413(post, order):
    body = orjson.dumps(order)
    response = post("/v1/quotes", body + b" " * (LIMIT + 1 - len(body)))
    assert str(LIMIT) in refused(response, 413)
    assert response.headers["Connection"] == "close"


def chunked(client, body):
    """Send a body as a server hands over a chunked one: without a length, to its end."""
    return client.post(
        "/v1/quotes",
        content_type="application/json",
        input_stream=io.BytesIO(body),
        headers={"Transfer-Encoding": "chunked"},
        environ_overrides={"wsgi.input_terminated": True},
    )


def test_a_chunked_body_is_read(client, order):
    assert chunked(client, orjson.dumps(order)).status_code == 201


def test_a_chunked_body_past_the_limit_is_413_and_not_cut_short(client, order):
    body = orjson.dumps(order)
    assert str(LIMIT) in refused(chunked(client, body + b" " * LIMIT), 413)


@pytest.mark.parametrize("length", ["1_0", "-1", "ten"])
def test_a_broken_content_length_does_no_harm(client, length):
    response = client.post(
        "/v1/quotes",
        content_type="application/json",
        environ_overrides={"CONTENT_LENGTH": length, "wsgi.input": io.BytesIO(b"{}")},
    )
    assert 400 <= response.status_code < 500
