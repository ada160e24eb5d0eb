"""No price that a caller makes tells the costs of a kept price table, unless he may see them."""

from datetime import UTC, date, datetime
from decimal import Decimal
from io import BytesIO

import orjson
import pytest

from service.adapters.storage.catalogue import SqlCatalogue
from service.adapters.storage.price_tables import SqlPriceTables
from service.api.schemas.pricing import PriceRowSchema
from service.domain.pricing.price_table import PriceRow
from service.usecases.callers import Scope
from service.usecases.catalogue import Draft, Kind, Named, PriceDraft
from tests.api.replay import request_bytes
from tests.integration.databases import served
from tests.serving import books_of, client_of, key_for

AT = datetime(2026, 1, 5, tzinfo=UTC)
TABLE, RULES = (f"00000000-0000-4000-8000-00000000000{n}" for n in (1, 2))
COST = "7.77"
AT_COST = {"price_from": "cost", "markups": [{"markup": "0"}]}


@pytest.fixture(scope="module")
def app(tmp_path_factory):
    """A dealer who keeps the prices and costs of the demo order, and rules that make prices."""
    with served(tmp_path_factory.mktemp("costs")) as app:
        _keep_all(app)
        yield app


def _keep_all(app):
    order = orjson.loads(request_bytes("quote"))
    books = books_of(app.extensions["evenbay"].engine)
    catalogue, tables = SqlCatalogue(books), SqlPriceTables(books)
    loaded = PriceRowSchema(many=True).load(order["price_table"]["rows"])
    rows = [PriceRow(**(row | {"cost": Decimal(COST)})) for row in loaded]
    tables.add(Named(TABLE, "Autumn", AT, 1, 1), PriceDraft("USD", rows))
    tables.activate(TABLE, 1, date(2026, 1, 1), 1, AT)
    rules = orjson.dumps({"price_from": "cost", "markups": [{"markup": "0.37"}]})
    catalogue.add(Kind.PRICING, Named(RULES, "Retail", AT, 1, 1), Draft(rules))


@pytest.fixture
def seller(app):
    """One who may do everything but see costs and change what is kept."""
    hidden = (Scope.COSTS_READ, Scope.CATALOGUE_READ, Scope.CATALOGUE_WRITE)
    return client_of(app, key_for(app, scopes=[s for s in Scope if s not in hidden]))


@pytest.fixture
def owner(app):
    return client_of(app, key_for(app))


@pytest.fixture
def named(order):
    return order | {"price_table": {"stored": "Autumn"}}


def is_refused(answer):
    assert COST not in answer.text
    assert (answer.status_code, answer.json["type"]) == (403, "/problems/forbidden"), answer.text
    assert "costs:read" in answer.json["detail"]
    assert "kept price table" in answer.json["advice"]
    return True


def test_rules_of_ones_own_would_tell_the_cost(owner, named):
    lines = owner.post("/v1/quotes", json=named | {"pricing": AT_COST}).json["lines"]
    assert {line["unit_price"]["amount"] for line in lines if line["kind"] == "goods"} == {COST}


@pytest.mark.parametrize(
    "rules",
    [
        pytest.param(AT_COST, id="at cost"),
        pytest.param({"markups": [{"margin": "0.5"}]}, id="rows without a list price"),
        pytest.param({"markups": [{"markup": "1", "sku": "LK-P40"}]}, id="one part"),
    ],
)
def test_a_quote_by_them_is_refused(seller, named, rules):
    assert is_refused(seller.post("/v1/quotes", json=named | {"pricing": rules}))


def test_so_is_a_revision(owner, seller, named):
    made = owner.post("/v1/quotes", json=named)
    headers = {"Content-Type": "application/merge-patch+json"}
    address = f"{made.headers['Location']}/revisions"
    body = orjson.dumps({"pricing": AT_COST})
    assert is_refused(seller.post(address, data=body, headers=headers))
    assert owner.post(address, data=body, headers=headers).status_code == 201


def test_so_is_a_comparison(seller, named):
    way = [{"name": "At cost", "changes": {"pricing": AT_COST}}]
    body = {"name": "First", "quote": named, "alternatives": way}
    answer = seller.post("/v1/price-comparisons", json=body)
    assert answer.json["alternatives"][0]["refused"]["type"] == "/problems/forbidden"
    assert COST not in answer.text
    first = {**body, "quote": named | {"pricing": AT_COST}, "alternatives": way}
    assert is_refused(seller.post("/v1/price-comparisons", json=first))


def test_so_are_sheets(seller, owner):
    settings = orjson.dumps({"price_table": {"stored": "Autumn"}, "pricing": AT_COST})
    made = owner.post("/v1/quotes", json=orjson.loads(request_bytes("quote")))
    sheet = owner.get(f"{made.headers['Location']}/takeoff.csv").data

    def priced(client):
        form = {"takeoff": (BytesIO(sheet), "t.csv"), "settings": (BytesIO(settings), "s.json")}
        return client.post("/v1/sheets/takeoffs", data=form)

    assert is_refused(priced(seller))
    assert COST in priced(owner).text


def test_rules_that_are_kept_are_their_dealers(seller, named):
    answer = seller.post("/v1/quotes", json=named | {"pricing": {"stored": "Retail"}})
    assert answer.status_code == 201, answer.text
    goods = [line for line in answer.json["lines"] if line["kind"] == "goods"]
    assert {line["unit_price"]["amount"] for line in goods} == {"10.64"}  # 7.77 x 1.37 = 10.6449
    assert COST not in answer.text


def test_rules_that_make_no_price_are_anyones(seller, named):
    rules = {"price_from": "cost", "labour_rate": "62.00"}
    answer = seller.post("/v1/quotes", json=named | {"pricing": rules})
    assert answer.status_code == 201
    assert f'"{COST}"' not in answer.text


def test_costs_that_are_sent_are_the_callers_own(seller, order):
    for row in order["price_table"]["rows"]:
        row["cost"] = COST
    assert seller.post("/v1/quotes", json=order | {"pricing": AT_COST}).status_code == 201


def test_papers_of_a_quote_stay_readable(owner, seller, named):
    made = owner.post("/v1/quotes", json=named | {"pricing": AT_COST})
    assert seller.get(f"{made.headers['Location']}/drawing.svg").status_code == 200
    again = seller.post(f"{made.headers['Location']}/recompute")
    assert (again.status_code, again.json["same"]) == (200, True)
