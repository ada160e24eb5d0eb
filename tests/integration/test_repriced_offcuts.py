"""Offcuts of re-priced quotes: they are cut as the quote that was made whole, and claim alike."""

import orjson
import pytest

from tests.integration.databases import BOTH, url_of
from tests.repriced import reprice, stocked
from tests.serving import client_of, migrated_app


@pytest.fixture(params=BOTH)
def app(request, tmp_path):
    with url_of(request.param, tmp_path) as url:
        app = migrated_app(url=url)
        yield app
        app.extensions["evenbay"].engine.dispose()


@pytest.fixture
def engine(app):
    return app.extensions["evenbay"].engine


@pytest.fixture
def client(app):
    return client_of(app)


@pytest.fixture
def offcut(client):
    body = {"sku": "LK-BR", "length": "150 in", "first_picket": "2 in"}
    return client.post("/v1/offcuts", json=body).json["id"]


@pytest.fixture
def first(client, engine, offcut):
    """A quote whose cut plan uses the offcut, and leaves remnants that are worth keeping."""
    order = stocked(engine, use_offcuts=True)
    order["system"]["shop"]["least_remnant"] = "24 in"
    body = orjson.dumps(order)
    made = client.post("/v1/quotes", data=body, content_type="application/json").json
    assert [one["name"] for one in made["offcuts"]] == [offcut]
    return made


def step(client, quote_id, name, **body):
    return client.post(f"/v1/quotes/{quote_id}/{name}", json=body or None)


def held(client, offcut):
    shown = client.get(f"/v1/offcuts/{offcut}").json
    return shown["state"], shown["held_by"]


def test_accepting_it_claims_the_offcuts_of_the_plan_it_keeps(client, engine, first, offcut):
    light = reprice(engine, first["id"], issued=True)
    assert held(client, offcut) == ("available", None)
    assert step(client, light, "accept").status_code == 200
    assert held(client, offcut) == ("reserved", light)
    assert step(client, light, "decline").status_code == 200
    assert held(client, offcut) == ("available", None)


def test_it_is_refused_an_offcut_that_another_quote_holds(client, engine, first, offcut):
    body = orjson.dumps(stocked(engine, use_offcuts=True))
    other = client.post("/v1/quotes", data=body, content_type="application/json").json["id"]
    light = reprice(engine, first["id"], issued=True)
    assert step(client, other, "accept").status_code == 200
    refused = step(client, light, "accept")
    assert (refused.status_code, refused.json["type"]) == (409, "/problems/offcut-taken")
    assert held(client, offcut) == ("reserved", other)


def test_it_takes_them_over_from_the_quote_that_it_replaces(client, engine, first, offcut):
    light = reprice(engine, first["id"])
    assert step(client, first["id"], "accept").status_code == 200
    assert step(client, light, "issue").status_code == 200
    assert held(client, offcut) == ("reserved", first["id"]), "an order stands until it is replaced"
    assert step(client, light, "accept").status_code == 200
    assert held(client, offcut) == ("reserved", light)


def test_cutting_it_uses_them_up_and_leaves_the_remnants_of_the_plan(client, engine, first, offcut):
    left = [bar["reusable"]["length"]["mm"] for plan in first["cut_plans"]
            for bar in plan["bars"] if bar["reusable"]]  # fmt: skip
    assert left
    second = reprice(engine, first["id"], issued=True)
    light = reprice(engine, second, version=1, issued=True)
    assert step(client, light, "accept").status_code == 200
    assert step(client, light, "cut", store_remnants=True).status_code == 200
    assert held(client, offcut) == ("used", light)
    found = client.get("/v1/offcuts?limit=100").json["offcuts"]
    assert {one["from_quote"] for one in found} == {light}
    assert sorted(one["length"]["mm"] for one in found) == sorted(left)
