"""Changes of what is stored are made to what the caller has seen, or refused.

Source: RFC 9110, sections 8.8.3.2 (strong comparison) and 13.1.1 (If-Match); RFC 6585, section 3.
"""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import orjson
import pytest

from tests.api.replay import request_bytes
from tests.integration.databases import BOTH, url_of
from tests.serving import ANY, client_of, key_for, migrated_app
from tests.shop import FIXED, stock

HEAD = {"name": "Larkmere & Sons"}
PUT = {"/v1/letterhead": HEAD, "/v1/form-settings": FIXED}
HOOK = {"url": "https://crm.example/hooks"}


@pytest.fixture(params=BOTH)
def app(request, tmp_path):
    with url_of(request.param, tmp_path) as url:
        app = migrated_app(url=url)
        stock(app.extensions["evenbay"].engine, ready=False)
        yield app
        app.extensions["evenbay"].engine.dispose()


@pytest.fixture
def client(app):
    return client_of(app)


def seen(client, address):
    answer = client.get(address)
    assert answer.status_code == 200, answer.json
    return {"If-Match": answer.headers["ETag"]}


@pytest.mark.parametrize("address", PUT)
def test_settings_are_replaced_by_whoever_has_seen_them(client, address):
    blind = client.put(address, json=PUT[address])
    assert (blind.status_code, blind.json["type"]) == (428, "/problems/condition-missing")
    first = seen(client, address)
    changed = client.put(address, json=PUT[address], headers=first)
    assert changed.status_code == 200, changed.json
    assert changed.headers["ETag"] == seen(client, address)["If-Match"] != first["If-Match"]
    stale = client.put(address, json=PUT[address], headers=first)
    assert (stale.status_code, stale.json["type"]) == (412, "/problems/stale-state")
    weak = {"If-Match": f"W/{changed.headers['ETag']}"}
    assert client.put(address, json=PUT[address], headers=weak).status_code == 412
    several = {"If-Match": f'"17", {changed.headers["ETag"]}'}
    assert client.put(address, json=PUT[address], headers=several).status_code == 200
    assert client.put(address, json=PUT[address], headers=ANY).status_code == 200


def test_a_setting_changes_the_tag_of_no_other(client):
    before = seen(client, "/v1/form-settings")
    assert client.put("/v1/letterhead", json=HEAD, headers=ANY).status_code == 200
    assert seen(client, "/v1/form-settings") == before


def test_of_two_that_have_seen_the_same_one_changes_it(app, client):
    here, together = seen(client, "/v1/letterhead"), Barrier(4)
    clients = [client_of(app) for _ in range(4)]

    def change(number):
        together.wait()
        head = {"name": f"Head {number}"}
        return clients[number].put("/v1/letterhead", json=head, headers=here).status_code

    with ThreadPoolExecutor(4) as pool:
        assert sorted(pool.map(change, range(4))) == [200, 412, 412, 412]


def test_settings_of_before_they_were_counted_can_be_replaced(app, client):
    kept = {"letterhead": {**HEAD, "address": [], "contact": [], "registration": "", "footer": "",
                           "logo": ""}}  # fmt: skip
    engine = app.extensions["evenbay"].engine
    with engine.begin() as connection:
        settings = orjson.dumps(kept).decode()
        connection.exec_driver_sql(f"UPDATE dealers SET settings = '{settings}'")
    first = seen(client, "/v1/letterhead")
    assert client.put("/v1/letterhead", json=HEAD, headers=first).status_code == 200
    assert client.put("/v1/letterhead", json=HEAD, headers=first).status_code == 412


def made(client, address, body):
    answer = client.post(address, json=body)
    assert answer.status_code == 201, answer.json
    return f"{address}/{answer.json['id']}"


KINDS = {
    "key": ("/v1/keys", {"label": "CRM", "scopes": ["estimates"]}, "rotate", {"hours": 1}),
    "webhook": ("/v1/webhooks", HOOK, "rotate", {"hours": 1}),
}


@pytest.mark.parametrize("kind", KINDS)
def test_what_changed_since_it_was_read_is_not_removed(client, kind):
    resource, body, step, change = KINDS[kind]
    address = made(client, resource, body)
    before = seen(client, address)
    assert client.post(f"{address}/{step}", json=change).status_code in (200, 201)
    refused = client.delete(address, headers=before)
    assert (refused.status_code, refused.json["type"]) == (412, "/problems/stale-state")
    assert client.delete(address, headers=seen(client, address)).status_code == 204


def test_an_offcut_that_a_quote_took_since_is_not_removed(client):
    put = {"sku": "LK-BR", "length": "150 in", "first_picket": "2 in"}
    address = made(client, "/v1/offcuts", put)
    before = seen(client, address)
    order = orjson.loads(request_bytes("quote")) | {"use_offcuts": True}
    quote = client.post("/v1/quotes", json=order).json
    assert client.post(f"/v1/quotes/{quote['id']}/accept").status_code == 200
    assert client.delete(address, headers=before).status_code == 412
    assert client.delete(address, headers=seen(client, address)).status_code == 409
    assert client.post(f"/v1/quotes/{quote['id']}/decline").status_code == 200
    assert client.delete(address, headers=before).status_code == 204
    assert client.delete(address, headers=ANY).status_code == 404


def test_removing_asks_for_no_condition(client):
    for resource, body, *_ in KINDS.values():
        assert client.delete(made(client, resource, body)).status_code == 204


def test_a_setting_can_be_made_by_a_key_that_reads_none(app):
    keeper = client_of(app, key_for(app, scopes=["keys"]))
    assert keeper.get("/v1/letterhead").status_code == 403
    assert keeper.put("/v1/letterhead", json=HEAD, headers=ANY).status_code == 200


def test_every_change_of_what_is_stored_takes_the_condition(client):
    paths = client.get("/v1/openapi.json").json["paths"]
    without = [
        (method, path)
        for path, methods in paths.items()
        for method in ("put", "patch", "delete")
        if method in methods
        and "If-Match" not in {one["name"] for one in methods[method].get("parameters", ())}
    ]
    assert without == []
