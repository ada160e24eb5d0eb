"""Manners that hold for every operation, against the standards that ask for them."""

import gzip
from datetime import date
from uuid import UUID

import orjson
import pytest
from flask_smorest import Blueprint

from service.api.manners.traits import Traits
from service.api.operations import answer, operation
from service.settings import from_environment
from tests.api.replay import request_bytes
from tests.integration.databases import served
from tests.serving import client_of

SHOP = "https://shop.example"


@pytest.fixture(scope="module")
def shared(tmp_path_factory):
    """An application that pages of one origin may call."""
    with served(tmp_path_factory.mktemp("shared"), cors_origins=(SHOP,)) as app:
        yield client_of(app)


# Request ids: common practice.


def test_a_request_keeps_the_name_it_brought(client):
    answered = client.get("/health/live", headers={"X-Request-Id": "crm-17:a.b~c_d"})
    assert answered.headers["X-Request-Id"] == "crm-17:a.b~c_d"


@pytest.mark.parametrize(
    "strange",
    [
        pytest.param(None, id="none sent"),
        pytest.param("", id="empty"),
        pytest.param("a b", id="a space"),
        pytest.param("a" * 65, id="too long"),
        pytest.param('x","level":"ERROR', id="would break out of a log line"),
        pytest.param("é", id="not ASCII"),
    ],
)
def test_a_request_without_a_sane_name_is_given_one(client, strange):
    sent = {} if strange is None else {"X-Request-Id": strange}
    names = {client.get("/nowhere", headers=sent).headers["X-Request-Id"] for _ in range(2)}
    assert len(names) == 2
    assert all(len(name) == 32 and name.isalnum() for name in names)


# Accept: RFC 9110, 12.5.1.


@pytest.mark.parametrize(
    ("accept", "status"),
    [
        pytest.param(None, 200, id="no wish"),
        pytest.param("*/*", 200, id="anything"),
        pytest.param("application/*", 200, id="any application type"),
        pytest.param("application/json", 200, id="the very type"),
        pytest.param("application/json; charset=utf-8", 200, id="with the charset JSON has"),
        pytest.param("application/json; version=2", 406, id="with what no JSON has here"),
        pytest.param("text/html, */*;q=0.1", 200, id="rather not, but it may be"),
        pytest.param("text/html", 406, id="only another type"),
        pytest.param("application/json;q=0", 406, id="expressly not"),
        pytest.param("application/json;q=0, */*", 406, id="the more specific range decides"),
        pytest.param("*/*;q=0", 406, id="nothing at all"),
    ],
)
@pytest.mark.parametrize("method", ["GET", "HEAD"])
def test_what_a_caller_accepts_decides(client, method, accept, status):
    sent = {} if accept is None else {"Accept": accept}
    answered = client.open("/v1/codes", method=method, headers=sent)
    assert answered.status_code == status
    if status == 406:
        assert answered.content_type == "application/problem+json"
        assert method == "HEAD" or "application/json" in answered.json["detail"]


def test_nothing_is_kept_of_a_request_whose_answer_nobody_takes(client):
    before = client.get("/v1/offcuts?sku=ACC-1").json
    offcut = orjson.loads(request_bytes("offcut")) | {"sku": "ACC-1"}
    refused = client.post("/v1/offcuts", json=offcut, headers={"Accept": "image/png"})
    assert refused.status_code == 406
    assert client.get("/v1/offcuts?sku=ACC-1").json == before
    assert client.post("/v1/offcuts", json=offcut).status_code == 201
    assert client.get("/v1/offcuts?sku=ACC-1").json != before


def test_a_drawing_is_negotiated_by_its_own_type(client):
    made = client.post("/v1/quotes", data=request_bytes("quote"), content_type="application/json")
    drawing = made.json["links"]["drawing"]
    assert client.get(drawing, headers={"Accept": "image/*"}).status_code == 200
    assert client.get(drawing, headers={"Accept": "application/json"}).status_code == 406


@pytest.mark.parametrize("method", ["GET", "HEAD"])
@pytest.mark.parametrize("accept", ["application/json", "text/html"])
def test_an_answer_that_hangs_on_what_is_accepted_says_so(client, method, accept):
    """RFC 9110, 12.5.5: also the refusal, or a cache gives it to those who take JSON."""
    answered = client.open("/v1/codes", method=method, headers={"Accept": accept})
    assert answered.status_code == (200 if "json" in accept else 406)
    assert "Accept" in answered.vary


def test_so_do_answers_that_are_made_what_is_not_found_and_what_is_held_already(client):
    made = client.post("/v1/quotes", data=request_bytes("quote"), content_type="application/json")
    address = f"/v1/quotes/{made.json['id']}"
    for form in (made, client.get(address), client.get(f"{address}.csv")):
        assert "Accept" in form.vary
    held = client.get(address, headers={"If-None-Match": client.get(address).headers["ETag"]})
    assert (held.status_code, "Accept" in held.vary) == (304, True)
    missing = client.get(f"/v1/quotes/{UUID(int=0)}")
    assert (missing.status_code, "Accept" in missing.vary) == (404, True)


def test_the_document_tells_of_it(client):
    responses = client.get("/v1/openapi.json").json["components"]["responses"]
    assert "Accept" in responses["NotAcceptable"]["headers"]["Vary"]["description"]


# Bodies: RFC 9110, 15.5.14 to 15.5.16.


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        pytest.param({"Content-Type": "text/plain"}, 415, id="another type"),
        pytest.param({}, 415, id="no type"),
        pytest.param(
            {"Content-Type": "application/json", "Content-Encoding": "gzip"}, 415, id="compressed"
        ),
        pytest.param(
            {"Content-Type": "application/json", "Content-Encoding": "identity"}, 422, id="plain"
        ),
    ],
)
def test_bodies_that_are_not_read(client, headers, status):
    answered = client.post("/v1/layouts", data=b"{}", headers=headers)
    assert answered.status_code == status
    assert ("Accept-Encoding" in answered.headers) == ("gzip" in headers.values())


# OPTIONS and HEAD: RFC 9110, 9.3.2 and 9.3.7.


def test_options_tells_what_an_address_takes(client):
    answered = client.options("/v1/codes")
    assert (answered.status_code, answered.data) == (204, b"")
    assert set(answered.headers["Allow"].split(", ")) == {"GET", "HEAD", "OPTIONS"}
    assert client.options("/nowhere").status_code == 404


@pytest.mark.parametrize("coding", ["identity", "gzip"])
def test_head_has_the_headers_of_get_and_no_body(client, coding):
    sent = {"Accept-Encoding": coding}
    got, head = (client.open("/v1/codes", method=m, headers=sent) for m in ("GET", "HEAD"))
    assert head.data == b""
    same = ("Content-Type", "Content-Length", "ETag", "Vary", "Content-Encoding", "Cache-Control")
    assert [head.headers.get(n) for n in same] == [got.headers.get(n) for n in same]


# CORS: Fetch Standard, 3.2.


def test_a_page_of_a_listed_origin_may_ask_beforehand_without_a_key(shared):
    asks = {
        "Origin": SHOP,
        "Access-Control-Request-Method": "POST",
        "Access-Control-Request-Headers": "authorization, content-type",
    }
    answered = shared.application.test_client().options("/v1/quotes", headers=asks)
    assert answered.status_code == 204
    assert answered.headers["Access-Control-Allow-Origin"] == SHOP
    assert "POST" in answered.headers["Access-Control-Allow-Methods"]
    allowed = answered.headers["Access-Control-Allow-Headers"].lower()
    assert {"authorization", "content-type", "idempotency-key"} <= set(allowed.split(", "))
    assert int(answered.headers["Access-Control-Max-Age"]) > 0


@pytest.mark.parametrize("path", ["/v1/codes", "/nowhere", "/v1/quotes"])
def test_a_page_of_a_listed_origin_reads_answers_and_refusals(shared, path):
    answered = shared.get(path, headers={"Origin": SHOP})
    assert answered.headers["Access-Control-Allow-Origin"] == SHOP
    assert "X-Request-Id" in answered.headers["Access-Control-Expose-Headers"]
    assert "Origin" in answered.vary


@pytest.mark.parametrize(
    "origin",
    [
        "https://shop.example.evil.example",
        "http://shop.example",
        "https://shop.example:8443",
        "null",
        "",
    ],
)
def test_pages_of_other_origins_get_no_leave(shared, origin):
    for method in ("GET", "OPTIONS"):
        sent = {"Origin": origin, "Access-Control-Request-Method": "GET"}
        answered = shared.open("/v1/codes", method=method, headers=sent)
        assert not [name for name, _ in answered.headers if name.startswith("Access-Control")]
        assert "Origin" in answered.vary


def test_no_cookies_are_shared(shared):
    answered = shared.get("/v1/codes", headers={"Origin": SHOP})
    assert "Access-Control-Allow-Credentials" not in answered.headers


@pytest.mark.parametrize("wrong", ["shop.example", "https://shop.example/", "https://*.example"])
def test_a_list_with_anything_but_origins_is_refused(wrong):
    with pytest.raises(ValueError, match="EVENBAY_CORS_ORIGINS"):
        from_environment({"EVENBAY_CORS_ORIGINS": f"{SHOP}, {wrong}"})


# gzip and ETags: RFC 9110, 8.8.3.3 and 12.5.3.


@pytest.mark.parametrize(
    ("coding", "coded"),
    [
        pytest.param(None, False, id="no wish"),
        pytest.param("gzip", True, id="gzip"),
        pytest.param("br, gzip;q=0.2", True, id="gzip among others"),
        pytest.param("*", True, id="anything"),
        pytest.param("gzip;q=0", False, id="not gzip"),
        pytest.param("br", False, id="another coding only"),
        pytest.param("gzip;q=0.5, identity", False, id="rather plain"),
        pytest.param("*;q=0, gzip", True, id="nothing but gzip"),
        pytest.param("*;q=0", False, id="nothing; plain is then better than a refusal"),
    ],
)
def test_gzip_goes_to_those_who_take_it(client, coding, coded):
    plain = client.get("/v1/codes").data
    answered = client.get(
        "/v1/codes", headers={} if coding is None else {"Accept-Encoding": coding}
    )
    assert (answered.headers.get("Content-Encoding") == "gzip") == coded
    assert (gzip.decompress(answered.data) if coded else answered.data) == plain
    assert int(answered.headers["Content-Length"]) == len(answered.data)
    assert "Accept-Encoding" in answered.vary


def test_small_answers_stay_plain_unless_plain_is_refused(client):
    small = client.get("/health/live", headers={"Accept-Encoding": "gzip"})
    assert "Content-Encoding" not in small.headers
    asked = client.get("/health/live", headers={"Accept-Encoding": "gzip, identity;q=0"})
    assert gzip.decompress(asked.data) == small.data


def test_files_of_the_documentation_are_compressed_whole(client):
    path = "/docs/assets/swagger-ui/swagger-ui-bundle.js"
    with client.get(path) as plain, client.get(path, headers={"Accept-Encoding": "gzip"}) as coded:
        assert coded.headers["Content-Encoding"] == "gzip"
        assert len(coded.data) < len(plain.data) / 2
        assert gzip.decompress(coded.data) == plain.data
        assert coded.headers["ETag"] != plain.headers["ETag"]


@pytest.mark.parametrize("path", ["/v1/codes", "/v1/codes/IRC/2021", "/v1/openapi.json"])
def test_each_form_has_its_own_tag_and_is_not_sent_twice(client, path):
    tags = {}
    for coding in ("identity", "gzip"):
        tags[coding] = client.get(path, headers={"Accept-Encoding": coding}).headers["ETag"]
    assert tags["identity"] != tags["gzip"]
    for taken in tags:
        for held, tag in tags.items():
            sent = {"Accept-Encoding": taken, "If-None-Match": tag}
            answered = client.get(path, headers=sent)
            assert answered.status_code == (304 if held == taken else 200)
            assert answered.headers["ETag"] == tags[taken]
            assert {"Accept-Encoding", "Origin"} <= set(answered.vary)
            assert answered.status_code == 200 or answered.data == b""


def test_a_step_finds_the_state_that_was_read_compressed(client):
    made = client.post("/v1/quotes", data=request_bytes("quote"), content_type="application/json")
    state = f"/v1/quotes/{made.json['id']}/state"
    only_gzip = {"Accept-Encoding": "gzip, identity;q=0"}
    tag = client.get(state, headers=only_gzip).headers["ETag"]
    assert tag.endswith('-gzip"')
    accept = f"/v1/quotes/{made.json['id']}/accept"
    assert client.post(accept, headers={"If-Match": tag}).status_code == 200
    assert client.post(accept, headers={"If-Match": '"other-gzip"'}).status_code == 412


@pytest.mark.parametrize("method", ["GET", "HEAD"])
@pytest.mark.parametrize("coding", ["identity", "gzip"])
@pytest.mark.parametrize(
    ("told", "status"),
    [
        pytest.param("*", 200, id="whatever there is"),
        pytest.param("{tag}", 200, id="what is there"),
        pytest.param('"17", {tag}', 200, id="one of several"),
        pytest.param('"17"', 412, id="something else"),
        pytest.param("W/{tag}", 412, id="weak tags match nothing here"),
    ],
)
def test_what_is_read_is_what_was_asked_for(client, told, status, coding, method):
    """RFC 9110, 13.1.1."""
    codes = {"Accept-Encoding": coding}
    seen = told.format(tag=client.get("/v1/codes", headers=codes).headers["ETag"])
    answered = client.open("/v1/codes", method=method, headers={**codes, "If-Match": seen})
    assert answered.status_code == status
    if status == 412:
        assert answered.content_type == "application/problem+json"
        assert answered.headers["Cache-Control"] == "no-store"
        assert method == "HEAD" or answered.json["type"] == "/problems/stale-state"


def test_what_is_held_is_not_sent_again_although_it_is_asked_for_by_its_tag(client):
    """RFC 9110, 13.2.2: If-Match first; where it holds, If-None-Match."""
    tag = client.get("/v1/codes").headers["ETag"]
    both = client.get("/v1/codes", headers={"If-Match": tag, "If-None-Match": tag})
    assert (both.status_code, both.data) == (304, b"")
    neither = client.get("/v1/codes", headers={"If-Match": '"17"', "If-None-Match": tag})
    assert neither.status_code == 412


def test_what_is_not_there_is_not_found_whatever_is_asked_of_it(client):
    """RFC 9110, 13.2.1: a condition is looked at where there would be an answer without it."""
    for seen in ("*", '"17"'):
        answered = client.get(f"/v1/quotes/{UUID(int=0)}", headers={"If-Match": seen})
        assert answered.status_code == 404


def test_what_has_no_tag_is_there_all_the_same(client):
    assert client.get("/health/live", headers={"If-Match": "*"}).status_code == 200
    assert client.get("/health/live", headers={"If-Match": '"17"'}).status_code == 412


def test_what_is_stable_is_asked_for_again_with_its_tag(client):
    offcut = client.post("/v1/offcuts", json=orjson.loads(request_bytes("offcut"))).json
    for path in (f"/v1/offcuts/{offcut['id']}", "/v1/offcuts", "/v1/codes/IRC/2021", "/docs"):
        with client.get(path) as first:
            assert first.status_code == 200, path
            sent = {"If-None-Match": first.headers["ETag"]}
        with client.get(path, headers=sent) as again:
            assert (again.status_code, again.data) == (304, b""), path
    client.delete(f"/v1/offcuts/{offcut['id']}")
    assert client.get("/v1/offcuts", headers=sent).status_code == 200


def test_what_changes_by_itself_and_refusals_are_not_stored(client):
    for path in ("/health/live", "/health/ready", "/nowhere", "/v1/codes/IRC/1066", "/metrics"):
        answered = client.get(path)
        assert answered.headers["Cache-Control"] == "no-store", path
        assert "ETag" not in answered.headers, path
    assert client.get("/v1/codes").headers["Cache-Control"] == "private, no-cache"


# Deprecation: RFC 9745 and RFC 8594.


@pytest.fixture(scope="module")
def going(tmp_path_factory):
    """An application with an operation that is to go."""
    with served(tmp_path_factory.mktemp("going")) as app:
        _add_what_is_to_go(app)
        yield app


def _add_what_is_to_go(app):
    blueprint = Blueprint("Old", __name__, url_prefix="/v1/old")
    for path, sunset in (("GET /soon", date(2027, 6, 30)), ("GET /some-day", None)):
        operation(
            blueprint, path, path[5:], "Old", needs=None, deprecated=date(2026, 1, 1),
            sunset=sunset, answers={200: {"description": "Old."}},
        )(named(path[5:]))  # fmt: skip
    app.extensions["openapi"].register_blueprint(blueprint)


def named(name):
    def view():
        return answer({"old": True})

    view.__name__ = name.replace("-", "_")
    return view


def test_an_operation_that_is_to_go_says_since_when_and_until_when(going):
    answered = going.test_client().get("/v1/old/soon")
    # date -u -d 2026-01-01 +%s gives 1767225600.
    assert answered.headers["Deprecation"] == "@1767225600"
    assert answered.headers["Sunset"] == "Wed, 30 Jun 2027 00:00:00 GMT"
    assert 'rel="deprecation"' in answered.headers["Link"]
    assert "Sunset" not in going.test_client().get("/v1/old/some-day").headers


def test_its_description_says_so_too(going, client):
    described = going.test_client().get("/v1/openapi.json").json["paths"]["/v1/old/soon"]["get"]
    assert described["deprecated"] is True
    assert "2026-01-01" in described["description"]
    assert "2027-06-30" in described["description"]
    assert {"Deprecation", "Sunset"} <= set(described["responses"]["200"]["headers"])
    others = client.get("/v1/openapi.json").json["paths"]
    assert not [path for path in others.values() for one in path.values() if "deprecated" in one]


def test_other_operations_say_nothing_of_it(going):
    assert "Deprecation" not in going.test_client().get("/health/live").headers


def test_an_end_before_the_warning_is_a_mistake():
    with pytest.raises(ValueError, match="ends after"):
        Traits(deprecated=date(2026, 2, 1), sunset=date(2026, 1, 1))
