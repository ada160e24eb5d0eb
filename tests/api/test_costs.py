"""What a quote costs its dealer is read with its own scope, and is in no customer's document."""

from decimal import Decimal

import orjson
import pytest

from service.adapters.documents.quote_text import render
from service.usecases.callers import Scope
from tests.serving import client_of, key_for

# Numbers that nothing else of the order comes to.
COST, MARKUP, LABOUR_COST = "7.777777", "0.313131", "41.919191"


@pytest.fixture
def with_costs(order):
    """The demo order: costs beside its list prices, one part priced by its cost alone."""
    for row in order["price_table"]["rows"]:
        row["cost"] = COST
    del order["price_table"]["rows"][0]["unit_price"]
    order["pricing"] |= {
        "markups": [{"markup": MARKUP}],
        "labour_rates": [{"rate": "62.00", "cost": LABOUR_COST}],
        "discounts": [{"name": "Trade", "category": "post", "rate": "0.1"}],
    }
    del order["pricing"]["labour_rate"]
    return order


@pytest.fixture
def made(post, with_costs):
    answer = post("/v1/quotes", orjson.dumps(with_costs))
    assert answer.status_code == 201, answer.text
    return answer


def told(text):
    """Which of the dealer's own numbers and words a text holds."""
    secrets = (COST, "7.78", MARKUP, LABOUR_COST, "41.92", "margin_rate", "markup", "unit_cost")
    return [secret for secret in secrets if secret in text.lower()]


def test_no_document_of_the_customer_holds_a_cost(client, made):
    addresses = [link for name, link in made.json["links"].items() if link and name != "changes"]
    assert len(addresses) > 2
    for address in addresses:
        answer = client.get(address)
        assert answer.status_code == 200, address
        assert told(answer.data.decode("latin-1")) == [], address
    assert told(made.text) == []
    assert told(render(made.json)) == []


def test_the_secrets_would_be_seen(client, made):
    costs = client.get(f"{made.headers['Location']}/costs")
    assert {COST, LABOUR_COST, "margin_rate", "unit_cost"} <= set(told(costs.text))


def test_costs_are_the_margins_of_the_same_lines(client, made):
    costs = client.get(f"{made.headers['Location']}/costs").json
    assert [line["number"] for line in costs["lines"]] == [x["number"] for x in made.json["lines"]]
    for line, sold in zip(costs["lines"], made.json["lines"], strict=True):
        assert line["net"] == sold["net"]
        cost, margin = Decimal(line["cost"]["amount"]), Decimal(line["margin"]["amount"])
        assert cost + margin == Decimal(sold["net"]["amount"])
        unit = COST if sold["kind"] == "goods" else LABOUR_COST
        assert cost == (Decimal(unit) * Decimal(sold["quantity"])).quantize(Decimal("0.01"))
    assert costs["totals"]["net"] == made.json["totals"]["net"]
    assert costs["totals"]["not_known_for"] == []
    moves = [Decimal(driver["moves"]["amount"]) for driver in costs["drivers"]]
    assert moves == sorted(moves, reverse=True)
    assert {d["name"] for d in costs["drivers"] if d["kind"] == "goods"} == {
        line["sku"] for line in made.json["lines"] if line["kind"] == "goods"
    }


def test_a_made_price_is_the_cost_with_its_markup(made, with_costs):
    sku = with_costs["price_table"]["rows"][0]["sku"]
    (line,) = [line for line in made.json["lines"] if line["sku"] == sku]
    assert line["unit_price"]["amount"] == "10.21"  # 7.777777 x 1.313131 = 10.2132


def test_costs_are_kept_as_they_were(client, made):
    address = f"{made.headers['Location']}/costs"
    first = client.get(address)
    assert client.get(address).data == first.data
    again = client.get(address, headers={"If-None-Match": first.headers["ETag"]})
    assert again.status_code == 304


def test_a_key_without_the_scope_sees_no_costs(app, made):
    every = tuple(scope for scope in Scope if scope is not Scope.COSTS_READ)
    answer = client_of(app, key_for(app, scopes=every)).get(f"{made.headers['Location']}/costs")
    assert answer.status_code == 403
    assert told(answer.text) == []


def test_costs_of_an_unknown_quote(client):
    answer = client.get("/v1/quotes/00000000-0000-4000-8000-000000000000/costs")
    assert answer.status_code == 404


def test_the_terminal_shows_discounts_payments_and_what_is_left_out(post, order):
    order["pricing"] |= {
        "quote_discount": {"name": "Spring sale", "amount": "100.00"},
        "payments": [{"due": "on order", "rate": "0.4"}, {"due": "on completion"}],
        "freight": {
            "name": "Delivery",
            "zone": "B",
            "bands": [{"zone": "B", "up_to": "1 lb", "amount": "95.00"}],
        },
        "untaxed": ["charge"],
    }
    quote = post("/v1/quotes", orjson.dumps(order)).json
    shown = render(quote)
    assert "less Spring sale" in shown
    assert "PAYMENTS" in shown
    assert "on completion" in shown
    assert "LEFT OUT OF THE TOTAL" in shown
    assert "Delivery is not in this quote" in shown
    paid = sum(Decimal(payment["amount"]["amount"]) for payment in quote["payments"])
    assert paid == Decimal(quote["totals"]["gross"]["amount"])
    assert Decimal(quote["totals"]["discount"]["amount"]) == 100
