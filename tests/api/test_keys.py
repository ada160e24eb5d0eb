"""Keys over HTTP: made, listed, replaced, revoked; and the trail of who changed what."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import orjson
import pytest

from service.usecases.callers import Scope
from tests.api.replay import request_bytes
from tests.integration.databases import served
from tests.serving import client_of, key_for

WISH = {"label": "CRM", "scopes": ["quotes:read"]}


@pytest.fixture(scope="module")
def app(tmp_path_factory):
    with served(tmp_path_factory.mktemp("keys"), rate_per_minute=0) as app:
        yield app


@pytest.fixture
def client(app):
    return client_of(app)


def make(client, **wish):
    return client.post("/v1/keys", json={**WISH, **wish})


def test_a_key_is_shown_once_and_works(app, client):
    made = make(client)
    assert made.status_code == 201
    assert made.headers["Cache-Control"] == "no-store"
    key = made.json["key"]
    assert key.startswith(made.json["prefix"] + "_")
    again = client.get(made.headers["Location"])
    assert "key" not in again.json
    assert again.json["scopes"] == ["quotes:read"]
    theirs = client_of(app, key)
    assert theirs.get("/v1/quotes").status_code == 200
    assert theirs.post("/v1/keys", json=WISH).status_code == 403


def test_no_secret_is_kept(app, client):
    secret = make(client).json["key"]
    with app.extensions["evenbay"].engine.connect() as connection:
        rows = [str(tuple(row)) for row in connection.exec_driver_sql("SELECT * FROM keys")]
        rows += [str(tuple(row)) for row in connection.exec_driver_sql("SELECT * FROM audit")]
    assert rows
    assert not any(secret in row or secret.rpartition("_")[2] in row for row in rows)


def test_a_revoked_key_opens_nothing_more(app, client):
    made = make(client).json
    theirs = client_of(app, made["key"])
    assert client.delete(f"/v1/keys/{made['id']}").status_code == 204
    refused = theirs.get("/v1/quotes")
    assert (refused.status_code, refused.json["detail"]) == (401, "This key is revoked.")
    assert client.delete(f"/v1/keys/{made['id']}").status_code == 204
    assert client.post(f"/v1/keys/{made['id']}/rotate", json={}).status_code == 404


def test_both_keys_are_good_while_callers_change_over(app, client, monkeypatch):
    old = make(client, per_minute=7).json
    new = client.post(f"/v1/keys/{old['id']}/rotate", json={"hours": 2}).json
    assert (new["replaces"], new["per_minute"], new["scopes"]) == (old["id"], 7, ["quotes:read"])
    clients = [client_of(app, one["key"]) for one in (old, new)]
    assert [one.get("/v1/quotes").status_code for one in clients] == [200, 200]
    here = app.extensions["evenbay"]
    later = replace(here, now=lambda: datetime.now(UTC) + timedelta(hours=2, seconds=1))
    monkeypatch.setitem(app.extensions, "evenbay", later)
    refused = clients[0].get("/v1/quotes")
    assert (refused.status_code, refused.json["detail"]) == (401, "This key has expired.")
    assert clients[1].get("/v1/quotes").status_code == 200


def test_a_key_that_ends_is_not_made_endless_by_its_rotation(client):
    old = make(client, expires_on="2099-01-31").json
    new = client.post(f"/v1/keys/{old['id']}/rotate", json={}).json
    assert new["expires_at"] == old["expires_at"] == "2099-01-31T00:00:00+00:00"
    longer = client.post(f"/v1/keys/{new['id']}/rotate", json={"expires_on": "2099-06-30"}).json
    assert longer["expires_at"] == "2099-06-30T00:00:00+00:00"
    endless = make(client).json
    assert client.post(f"/v1/keys/{endless['id']}/rotate", json={}).json["expires_at"] is None
    past = client.post(f"/v1/keys/{longer['id']}/rotate", json={"expires_on": "2020-01-01"})
    assert (past.status_code, past.json["errors"][0]["pointer"]) == (422, "#/expires_on")
    trail = client.get(f"/v1/audit?subject={longer['id']}").json["entries"]
    assert "key.replaced" not in {entry["action"] for entry in trail}


def test_a_key_gives_no_more_than_it_has(app):
    keeper = client_of(app, key_for(app, scopes=[Scope.KEYS]))
    refused = make(keeper)
    assert (refused.status_code, "quotes:read" in refused.json["detail"]) == (403, True)
    assert make(keeper, scopes=["keys"]).status_code == 201
    full = make(client_of(app)).json
    rotated = keeper.post(f"/v1/keys/{full['id']}/rotate", json={})
    assert rotated.status_code == 403


def test_a_publishable_key_estimates_from_its_pages_and_does_nothing_else(app, client):
    made = client.post(
        "/v1/keys",
        json={"label": "form", "publishable": True, "origins": ["https://larkmere.example"]},
    )
    assert made.json["key"].startswith("evbp_")
    assert made.json["scopes"] == ["estimates"]
    page = client_of(app, made.json["key"])
    body = {"data": request_bytes("layout"), "content_type": "application/json"}
    from_page = {"Origin": "https://larkmere.example"}
    assert page.post("/v1/layouts", **body, headers=from_page).status_code == 200
    for headers in ({}, {"Origin": "https://elsewhere.example"}, {"Origin": "null"}):
        refused = page.post("/v1/layouts", **body, headers=headers)
        assert (refused.status_code, refused.json["type"]) == (403, "/problems/forbidden")
    assert page.get("/v1/quotes", headers=from_page).status_code == 403
    order = orjson.loads(request_bytes("takeoff")) | {"use_offcuts": True}
    assert page.post("/v1/takeoffs", json=order, headers=from_page).status_code == 403


def test_a_publishable_key_for_spreadsheets_needs_no_page(app, client):
    wish = {"label": "sheet", "publishable": True, "scopes": ["sheets"], "per_minute": 60}
    made = client.post("/v1/keys", json=wish)
    assert (made.status_code, made.json["origins"]) == (201, [])
    assert made.json["scopes"] == ["estimates", "sheets"]
    keeper = client_of(app, key_for(app, scopes=[Scope.KEYS]))
    assert keeper.post("/v1/keys", json=wish).status_code == 201, "it is anyone's"
    rotated = client.post(f"/v1/keys/{made.json['id']}/rotate", json={})
    assert rotated.json["scopes"] == ["estimates", "sheets"]


@pytest.mark.parametrize(
    ("wish", "pointer"),
    [
        ({"scopes": ["everything"]}, "#/scopes/0"),
        ({"scopes": None}, "#/scopes"),
        ({"publishable": True, "scopes": None}, "#/scopes"),
        ({"publishable": True, "scopes": ["sheets", "keys"]}, "#/scopes"),
        ({"publishable": True, "scopes": ["estimates"]}, "#/origins"),
        ({"origins": ["https://larkmere.example"]}, "#/origins"),
        ({"expires_on": "2020-01-01"}, "#/expires_on"),
        ({"publishable": True, "origins": ["https://larkmere.example/form"]}, "#/origins/0"),
        ({"per_minute": 0}, "#/per_minute"),
        ({"label": ""}, "#/label"),
    ],
)
def test_a_wrong_wish_is_refused_where_it_is_wrong(client, wish, pointer):
    refused = make(client, **wish)
    assert refused.status_code == 422
    assert refused.json["errors"][0]["pointer"] == pointer


def test_the_trail_says_who_changed_what_and_pages(client, app):
    made = make(client).json
    client.delete(f"/v1/keys/{made['id']}")
    mine = client.get(f"/v1/audit?subject={made['id']}").json["entries"]
    assert [one["action"] for one in mine] == ["key.revoked", "key.made"]
    assert all(one["who"].startswith("key evb_") for one in mine)
    first = client.get("/v1/audit?limit=1")
    second = client.get(first.headers["Link"].partition(">")[0].lstrip("<"))
    assert first.json["entries"][0]["id"] != second.json["entries"][0]["id"]


def test_keys_page_newest_first(client):
    ids = [make(client).json["id"] for _ in range(3)]
    seen, address = [], "/v1/keys?limit=2"
    while address:
        page = client.get(address)
        seen += [one["id"] for one in page.json["keys"]]
        link = page.headers.get("Link", "")
        address = link.partition(">")[0].lstrip("<") if link else ""
    assert seen[:3] == ids[::-1]
    assert len(seen) == len(set(seen))


def test_what_is_left_is_told_and_one_too_many_is_refused(serve):
    app = serve(rate_per_minute=5)
    client = client_of(app, key_for(app, per_minute=3))
    told = []
    for _ in range(3):
        answer = client.get("/v1/quotes")
        assert answer.status_code == 200
        assert answer.headers["RateLimit-Policy"] == '"minute";q=3;w=60'
        told.append(answer.headers["RateLimit"].split(";")[1])
    assert told == ["r=2", "r=1", "r=0"]
    refused = client.get("/v1/quotes")
    assert (refused.status_code, refused.json["type"]) == (429, "/problems/too-many-requests")
    assert 1 <= int(refused.headers["Retry-After"]) <= 60
    assert refused.headers["RateLimit"].split(";")[1] == "r=0"
    other = client_of(app, key_for(app, per_minute=100))
    assert other.get("/v1/quotes").headers["RateLimit-Policy"] == '"minute";q=5;w=60'
    assert "RateLimit" not in other.get("/health/live").headers


def test_a_store_of_rates_that_does_not_answer_stops_nobody(serve, caplog):
    app = serve(rate_per_minute=1, rate_store="redis://127.0.0.1:1/0")
    client = client_of(app)
    assert [client.get("/v1/quotes").status_code for _ in range(2)] == [200, 200]
    assert "not counted" in caplog.text


def test_a_browser_may_call_from_the_pages_of_good_publishable_keys(serve, monkeypatch):
    from service.adapters.storage import page_origins

    monkeypatch.setattr(page_origins, "REMEMBERED", 0.0)
    app = serve()
    client, page = client_of(app), {"Origin": "https://larkmere.example"}
    asked = {**page, "Access-Control-Request-Method": "POST"}

    def allowed():
        answer = app.test_client().options("/v1/layouts", headers=asked)
        return answer.headers.get("Access-Control-Allow-Origin")

    assert allowed() is None
    wish = {"label": "form", "publishable": True, "origins": ["https://Larkmere.example:443"]}
    made = client.post("/v1/keys", json=wish).json
    assert allowed() == page["Origin"]
    body = {"data": request_bytes("layout"), "content_type": "application/json"}
    answer = client_of(app, made["key"]).post("/v1/layouts", **body, headers=page)
    assert answer.status_code == 200
    assert answer.headers["Access-Control-Allow-Origin"] == page["Origin"]
    client.delete(f"/v1/keys/{made['id']}")
    assert allowed() is None
