"""Requests that name what their dealer keeps: found, pinned, and the same as sending it whole."""

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

import orjson
import pytest
from sqlalchemy import text

from service.adapters.storage.catalogue import SqlCatalogue
from service.adapters.storage.price_tables import SqlPriceTables
from service.api.schemas.pricing import PriceRowSchema
from service.domain.pricing.price_table import PriceRow
from service.usecases.catalogue import Draft, Kind, Named, PriceDraft
from tests.api.replay import request_bytes
from tests.integration.databases import served
from tests.serving import books_of, client_of, key_for

AT = datetime(2026, 1, 5, tzinfo=UTC)
IDS = {n: f"00000000-0000-4000-8000-{n:012d}" for n in range(1, 9)}
BEGIN = date(2026, 1, 1)


@pytest.fixture
def shop(tmp_path):
    """A dealer who keeps all of the demo order; its application, client and order."""
    with served(tmp_path) as app:
        yield app, client_of(app, key_for(app)), *_kept_by(app)


def _kept_by(app):
    order = orjson.loads(request_bytes("quote"))
    books = books_of(app.extensions["evenbay"].engine)
    catalogue, tables = SqlCatalogue(books), SqlPriceTables(books)
    schema = PriceRowSchema(many=True)
    rows = [PriceRow(**row) for row in schema.load(order["price_table"]["rows"])]
    table = order["price_table"]
    tables.add(Named(IDS[1], table["name"], AT, 1, 1), PriceDraft(table["currency"], rows))
    tables.activate(IDS[1], 1, BEGIN, 1, AT)
    catalogue.add(
        Kind.SYSTEM, Named(IDS[2], "Level", AT, 1, 1), Draft(orjson.dumps(order["system"]))
    )
    catalogue.add(
        Kind.PRICING, Named(IDS[3], "Retail", AT, 1, 1), Draft(orjson.dumps(order["pricing"]))
    )
    return order, catalogue, tables


def named(order, **more):
    return order | {
        "system": {"stored": "Level"},
        "price_table": {"stored": IDS[1]},
        "pricing": {"stored": "Retail"},
        **more,
    }


def test_a_named_order_comes_to_the_same_as_a_whole_one(shop):
    _, client, order, *_ = shop
    whole = client.post("/v1/quotes", json=order).json
    answer = client.post("/v1/quotes", json=named(order))
    assert answer.status_code == 201, answer.json
    for part in ("totals", "lines", "layout", "takeoff", "cut_plans", "compliance"):
        assert answer.json[part] == whole[part], part
    assert whole["price_table"]["id"] is None
    assert answer.json["price_table"] == {
        "name": order["price_table"]["name"],
        "currency": order["price_table"]["currency"],
        "id": IDS[1],
        "version": 1,
        "active_from": "2026-01-01",
    }


def test_a_quote_stays_with_the_versions_it_was_made_with(shop):
    _, client, order, catalogue, tables = shop
    made = client.post("/v1/quotes", json=named(order)).json
    dear = [PriceRow("POST", Decimal(999), "C62")]
    tables.add_version(IDS[1], PriceDraft("USD", dear), 2, AT)
    tables.activate(IDS[1], 2, BEGIN, 3, AT)
    other = orjson.dumps(order["system"] | {"guard_height": "42 in"})
    catalogue.add_version(Kind.SYSTEM, IDS[2], Draft(other), 1, AT)
    again = client.post(f"/v1/quotes/{made['id']}/recompute")
    assert again.status_code == 200, again.json
    assert client.get(f"/v1/quotes/{made['id']}/drawing.svg").status_code == 200
    pinned = order | {"system": {"stored": "Level", "version": 1}}
    pinned |= {"price_table": {"stored": IDS[1], "version": 1}}
    assert client.post("/v1/quotes", json=pinned).json["totals"] == made["totals"]
    assert client.post("/v1/quotes", json=named(order)).status_code == 422, "prices are missing"


@pytest.mark.parametrize("member", ["system", "price_table", "pricing"])
@pytest.mark.parametrize("reference", [{"stored": "Nothing"}, {"stored": IDS[1], "version": 9}])
def test_a_name_that_refers_to_nothing_is_told_where_it_stands(shop, member, reference):
    _, client, order, *_ = shop
    answer = client.post("/v1/quotes", json=named(order, **{member: reference}))
    assert (answer.status_code, answer.json["type"]) == (422, "/problems/unknown-reference")
    assert answer.json["errors"][0]["pointer"] == f"#/{member}/stored"


def test_a_table_is_in_force_from_its_day_on(shop):
    _, client, order, *_ = shop
    answer = client.post("/v1/quotes", json=named(order, on="2025-12-31"))
    assert answer.status_code == 422
    assert "in force on 2025-12-31" in answer.json["detail"]


@pytest.mark.parametrize(
    "wrong",
    [{"stored": 5}, {"stored": "Level", "version": "1"}, {"stored": "Level", "version": 0},
     {"stored": "Level", "name": "x"}, {"stored": ""}, {"stored": None}],
)  # fmt: skip
def test_a_reference_of_another_shape_is_refused_by_its_schema(shop, wrong):
    _, client, order, *_ = shop
    answer = client.post("/v1/quotes", json=named(order, system=wrong))
    assert (answer.status_code, answer.json["type"]) == (422, "/problems/invalid-request")
    assert answer.json["errors"][0]["pointer"].startswith("#/system")


def test_what_another_dealer_keeps_is_unknown(shop):
    app, _, order, *_ = shop
    theirs = client_of(app, key_for(app, "Osprey Railing"))
    answer = theirs.post("/v1/quotes", json=named(order))
    assert (answer.status_code, answer.json["type"]) == (422, "/problems/unknown-reference")


def test_layouts_take_offs_and_code_checks_name_them_too(shop):
    _, client, order, *_ = shop
    for kind in ("layout", "takeoff", "code-check"):
        body = orjson.loads(request_bytes(kind)) | {"system": {"stored": "Level"}}
        body |= {"deck": order["deck"]}
        answer = client.post(f"/v1/{kind}s", json=body)
        assert answer.status_code == 200, (kind, answer.json)


def test_a_place_takes_the_dealers_amendments_unless_the_request_says_other(shop):
    _, client, order, catalogue, _ = shop
    change = {
        "clause": "guard.height.level",
        "limit": {"value": "60", "unit": "in"},
        "source": "Board",
    }
    body = {"place": "Larkspur Hollow", "default": True, "amendments": [change]}
    draft = Draft(orjson.dumps(body), "", "larkspur hollow")
    asked = named(order, code={"place": "Larkspur Hollow"})
    before = client.post("/v1/quotes", json=asked).json
    catalogue.add(Kind.AMENDMENTS, Named(IDS[4], "Heights", AT, 1, 1), draft)
    told = r"Amended by the set \"Heights\", version 1"
    after = client.post("/v1/quotes", json=asked)
    assert told in after.text
    assert (
        told
        not in client.post(
            "/v1/quotes", json=named(order, code={"place": "Larkspur Hollow", "amendments": []})
        ).text
    )
    by_name = {"place": "Larkspur Hollow", "amendments": {"stored": "Heights"}}
    assert told in client.post("/v1/quotes", json=named(order, code=by_name)).text
    assert client.post(f"/v1/quotes/{before['id']}/recompute").status_code == 200
    catalogue.add_version(
        Kind.AMENDMENTS, IDS[4], Draft(orjson.dumps(body | {"default": False})), 1, AT
    )
    assert client.post(f"/v1/quotes/{after.json['id']}/recompute").status_code == 200


def test_sheets_are_priced_by_what_the_dealer_keeps(shop):
    _, client, order, *_ = shop
    edges = "kind,x,y,fall_height\nopen,0 ft,0 ft,3 ft\nopen,9 ft,0 ft,3 ft\nwall,0 ft,9 ft,\n"
    whole = {key: value for key, value in order.items() if key != "deck"}
    short = named(whole)

    def lines(path, part, sheet, settings):
        body = {part: sheet, "settings": orjson.dumps(settings).decode()}
        return client.post(f"/v1/sheets/{path}", data=body, content_type="multipart/form-data")

    made = lines("quotes", "edges", edges, short)
    assert made.status_code == 201, made.text
    assert made.data == lines("quotes", "edges", edges, whole).data
    assert client.post(f"{made.headers['Location']}/recompute").json["same"] is True
    takeoff = client.get(f"{made.headers['Location']}/takeoff.csv").text
    prices = {key: short[key] for key in ("price_table", "pricing", "on")}
    assert lines("takeoffs", "takeoff", takeoff, prices).data == made.data


PATCH = "application/merge-patch+json"


def revised(client, quote, patch):
    path = f"/v1/quotes/{quote['id']}/revisions"
    return client.post(path, data=orjson.dumps(patch), content_type=PATCH)


@pytest.fixture
def dear(shop):
    """The shop with a second version of its table, and a table of twice those prices."""
    *_, order, _catalogue, tables = shop
    schema = PriceRowSchema(many=True)
    rows = [PriceRow(**row) for row in schema.load(order["price_table"]["rows"])]
    rows[0] = replace(rows[0], unit_price=rows[0].unit_price + 1)
    dearer = [replace(row, unit_price=row.unit_price * 2) for row in rows]
    tables.add_version(IDS[1], PriceDraft("USD", rows), 2, AT)
    tables.activate(IDS[1], 2, BEGIN, 3, AT)
    tables.add(Named(IDS[5], "Dear", AT, 1, 1), PriceDraft("USD", dearer))
    tables.activate(IDS[5], 1, BEGIN, 1, AT)
    return shop


def pinned(app, quote):
    quotes = app.extensions["evenbay"].engine
    with quotes.connect() as connection:
        row = text("SELECT request FROM quotes WHERE id = :id")
        return orjson.loads(connection.execute(row, {"id": quote["id"]}).scalar_one())


def test_a_patch_that_names_another_thing_takes_its_own_version(dear):
    app, client, order, *_ = dear
    first = client.post("/v1/quotes", json=named(order)).json
    assert pinned(app, first)["price_table"] == {"stored": IDS[1], "version": 2}
    second = revised(client, first, {"price_table": {"stored": "Dear"}})
    assert second.status_code == 201, second.text
    assert pinned(app, second.json)["price_table"] == {"stored": IDS[5], "version": 1}
    goods = [Decimal(one["totals"]["goods"]["amount"]) for one in (first, second.json)]
    assert goods[1] == 2 * goods[0]
    back = revised(client, second.json, {"price_table": {"stored": IDS[1], "version": 1}})
    assert pinned(app, back.json)["price_table"] == {"stored": IDS[1], "version": 1}
    newest = revised(client, back.json, {"price_table": {"version": None}})
    assert pinned(app, newest.json)["price_table"] == {"stored": IDS[1], "version": 2}


def test_a_patch_that_names_nothing_keeps_the_versions_of_the_first(dear):
    app, client, order, *_ = dear
    first = client.post(
        "/v1/quotes", json=named(order, price_table={"stored": IDS[1], "version": 1})
    )
    second = revised(client, first.json, {"reference": "Second"})
    assert pinned(app, second.json)["price_table"] == {"stored": IDS[1], "version": 1}


def test_a_patch_may_name_what_was_sent_whole(dear):
    app, client, order, *_ = dear
    first = client.post("/v1/quotes", json=order).json
    second = revised(client, first, {"price_table": {"stored": "Dear"}})
    assert second.status_code == 201, second.text
    assert pinned(app, second.json)["price_table"] == {"stored": IDS[5], "version": 1}


def test_a_patch_with_rules_of_its_own_does_not_lose_the_rest_of_named_ones(dear):
    _, client, order, *_ = dear
    first = client.post("/v1/quotes", json=named(order)).json
    refused = revised(client, first, {"pricing": {"labour_rate": "66.00"}})
    assert refused.status_code == 422
    assert refused.json["errors"][0]["pointer"].startswith("#/pricing")


def test_an_alternative_that_names_another_thing_takes_its_own_version(dear):
    _, client, order, *_ = dear
    quote = named(order, price_table={"stored": IDS[1], "version": 2})
    ways = [{"name": "Dear", "changes": {"price_table": {"stored": "Dear"}}}]
    asked = {"quote": quote, "name": "Plain", "alternatives": ways}
    answer = client.post("/v1/price-comparisons", json=asked)
    assert answer.status_code == 200, answer.text
    offers = (answer.json["offer"], answer.json["alternatives"][0]["offer"])
    goods = [Decimal(one["totals"]["goods"]["amount"]) for one in offers]
    assert goods[1] == 2 * goods[0]


def test_amendments_of_a_place_do_not_move_to_another_place(shop):
    app, client, order, catalogue, _ = shop
    limits = {"Larkspur Hollow": "60", "New Jersey": "50"}
    for number, (place, inches) in enumerate(limits.items(), start=6):
        limit = {"value": inches, "unit": "in"}
        change = {"clause": "guard.height.level", "limit": limit, "source": "Board"}
        body = {"place": place, "default": True, "amendments": [change]}
        draft = Draft(orjson.dumps(body), "", place.lower())
        catalogue.add(Kind.AMENDMENTS, Named(IDS[number], place, AT, 1, 1), draft)
    first = client.post("/v1/quotes", json=named(order, code={"place": "Larkspur Hollow"})).json
    assert pinned(app, first)["code"]["amendments"] == {"stored": IDS[6], "version": 1}
    second = revised(client, first, {"code": {"place": "New Jersey"}})
    assert second.status_code == 201, second.text
    assert pinned(app, second.json)["code"] == {
        "place": "New Jersey",
        "amendments": {"stored": IDS[7], "version": 1},
    }
    third = revised(
        client, second.json, {"code": {"place": None, "code": "IRC", "edition": "2021"}}
    )
    assert pinned(app, third.json)["code"] == {"code": "IRC", "edition": "2021"}
