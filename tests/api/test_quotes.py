"""Quotes over HTTP: made once, read byte for byte."""

from decimal import Decimal
from xml.etree import ElementTree

import orjson
import pytest
from sqlalchemy import func, select, update

from service.adapters.storage.tables import quotes
from tests.api.replay import request_bytes


@pytest.fixture
def made(post):
    response = post("/v1/quotes", request_bytes("quote"))
    assert response.status_code == 201, response.text
    return response


def count(app):
    with app.extensions["evenbay"].engine.connect() as connection:
        return connection.execute(select(func.count()).select_from(quotes)).scalar()


def test_a_quote_is_read_as_it_was_answered(client, made):
    read = client.get(made.headers["Location"])
    assert (read.status_code, read.content_type) == (200, "application/json")
    assert read.data == made.data


def test_links_and_location_agree(made):
    assert made.json["links"]["self"] == made.headers["Location"]


def test_a_held_quote_is_not_sent_again(client, made):
    first = client.get(made.headers["Location"])
    again = client.get(made.headers["Location"], headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")


def test_the_drawing_is_svg_that_may_run_nothing(client, made):
    drawing = client.get(made.json["links"]["drawing"])
    assert (drawing.status_code, drawing.mimetype) == (200, "image/svg+xml")
    assert ElementTree.fromstring(drawing.data).tag == "{http://www.w3.org/2000/svg}svg"
    assert "script-src" not in drawing.headers["Content-Security-Policy"]
    assert drawing.headers["Content-Security-Policy"].startswith("default-src 'none'")
    assert client.get(made.json["links"]["drawing"]).data == drawing.data


def change(app, quote_id, **values):
    with app.extensions["evenbay"].engine.begin() as connection:
        connection.execute(update(quotes).where(quotes.c.id == quote_id).values(**values))


@pytest.mark.parametrize("rank_by", ["most_even", "least_material"])
def test_a_quote_with_a_wish_is_drawn_as_it_was_laid_out(client, post, rank_by):
    wished = orjson.loads(request_bytes("quote")) | {"wish": {"rank_by": rank_by}}
    made = post("/v1/quotes", orjson.dumps(wished))
    assert made.status_code == 201, made.text
    assert client.get(made.json["links"]["drawing"]).status_code == 200


def test_a_drawing_stays_as_it_was_first_drawn(app, client, made):
    drawn = client.get(made.json["links"]["drawing"]).data
    change(app, made.json["id"], request=b"no longer an order")
    assert client.get(made.json["links"]["drawing"]).data == drawn


def test_a_layout_that_comes_out_differently_is_not_drawn(app, client, made):
    answer = made.json
    answer["layout"]["posts"][0]["height"]["mm"] += 1
    change(app, answer["id"], answer=orjson.dumps(answer))
    refused = client.get(answer["links"]["drawing"])
    assert (refused.status_code, refused.json["type"]) == (409, "/problems/not-reproducible")


def test_an_order_of_an_older_version_is_not_drawn(app, client, made):
    change(app, made.json["id"], request=b'{"deck": "as it was once described"}')
    refused = client.get(made.json["links"]["drawing"])
    assert (refused.status_code, refused.json["type"]) == (409, "/problems/not-reproducible")


def test_lines_add_up_to_the_totals(made):
    lines, totals = made.json["lines"], made.json["totals"]
    net = sum(Decimal(line["net"]["amount"]) for line in lines)
    tax = sum(Decimal(line["tax"]["amount"]) for line in lines)
    assert Decimal(totals["net"]["amount"]) == net
    assert Decimal(totals["tax"]["amount"]) == tax
    assert Decimal(totals["gross"]["amount"]) == net + tax


def test_what_a_quote_was_made_from_is_kept(app, made):
    with app.extensions["evenbay"].engine.connect() as connection:
        row = connection.execute(select(quotes).where(quotes.c.id == made.json["id"])).one()
    assert row.request == request_bytes("quote")
    assert row.codes == "IRC 2021"
    assert row.price_table == made.json["price_table"]["name"]
    assert row.service_version == made.json["service_version"]
    assert Decimal(row.total_minor) / 100 == Decimal(made.json["totals"]["gross"]["amount"])


def test_a_refused_order_leaves_nothing(app, post, order):
    before = count(app)
    del order["price_table"]["rows"][0]
    assert post("/v1/quotes", orjson.dumps(order)).status_code == 422
    assert count(app) == before


def test_stateless_resources_leave_nothing(app, post):
    before = count(app)
    for name, path in (
        ("layout", "/v1/layouts"),
        ("code-check", "/v1/code-checks"),
        ("takeoff", "/v1/takeoffs"),
    ):
        assert post(path, request_bytes(name)).status_code == 200
    assert count(app) == before


def test_the_day_comes_from_the_clock_unless_it_is_given(post, order):
    order.pop("on", None)
    undated = post("/v1/quotes", orjson.dumps(order)).json
    assert undated["on"] == undated["created_on"]
    order["on"] = "2025-03-01"
    assert post("/v1/quotes", orjson.dumps(order)).json["on"] == "2025-03-01"


def test_the_parts_of_a_quote_are_those_of_the_resources_alone(post, order):
    quote = post("/v1/quotes", orjson.dumps(order)).json
    base = {name: order[name] for name in ("units", "deck", "system") if name in order}
    takeoff = post("/v1/takeoffs", orjson.dumps({**base, "price_table": order["price_table"]})).json
    assert takeoff["items"] == quote["takeoff"]["items"]
    assert takeoff["cut_plans"] == quote["cut_plans"]


def test_cautions_stand_on_every_answer(post, made):
    answers = [made.json] + [
        post(f"/v1/{name}s", request_bytes(name)).json
        for name in ("layout", "code-check", "takeoff")
    ]
    for answer in answers:
        said = " ".join(answer["cautions"])
        for words in ("local code official", "test report", "licensed practice", "never structure"):
            assert words in said


def test_the_demo_orders_legs_that_reach(client):
    """Level legs stand under a gap of 3 in, those of the stair 4-15/16 in over their treads."""
    order = orjson.loads(request_bytes("quote"))
    lines = client.post("/v1/quotes", json=order).json["lines"]
    legs = {line["sku"]: line["elements"] for line in lines if "LEG" in line["sku"]}
    assert legs == {
        "LK-LEG": ["S4 support legs", "S7 support legs"],  # 2-1/2 in to 3-1/2 in
        "LK-LEG5": ["S8 support legs", "S9 support legs"],  # 3-1/2 in to 5-1/2 in
    }
