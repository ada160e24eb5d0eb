"""Ways to do one job side by side: each as its own quote says, refusals where they belong."""

from decimal import Decimal

import orjson
import pytest

from service.api.body import merged
from service.usecases.callers import Scope
from tests.api.replay import request_bytes
from tests.serving import client_of, key_for

PATH = "/v1/price-comparisons"


@pytest.fixture
def compared(post, order):
    """Compares the demo order with the changes of it that are given by name."""

    def compared(changes, name="First", quote=order):
        ways = [{"name": way, "changes": patch} for way, patch in changes.items()]
        return post(PATH, orjson.dumps({"quote": quote, "name": name, "alternatives": ways}))

    return compared


def pointers(answer):
    assert answer.status_code == 422, answer.text
    return [error["pointer"] for error in answer.json["errors"]]


def amount(money):
    return Decimal(money["amount"])


WAYS = {
    "Closer posts": {"system": {"limits": {"span": "5 ft"}}},
    "Trade": {"pricing": {"quote_discount": {"name": "Trade", "rate": "0.1"}}},
    "Untaxed": {"pricing": {"taxes": []}, "valid_until": None},
    "The same": {},
}


def test_each_way_comes_to_what_its_own_quote_does(compared, post, order):
    answer = compared(WAYS)
    assert answer.status_code == 200, answer.text
    first = post("/v1/quotes", orjson.dumps(order)).json
    assert answer.json["offer"]["totals"] == first["totals"]
    for way, changes in zip(answer.json["alternatives"], WAYS.values(), strict=True):
        quote = post("/v1/quotes", orjson.dumps(merged(order, changes))).json
        offer = way["offer"]
        for part in ("totals", "payments", "conditions", "cautions"):
            assert offer[part] == quote[part], (way["name"], part)
        assert offer["line_count"] == len(quote["lines"])
        assert offer["outcomes"] == quote["compliance"]["outcomes"]
        for sum_ in ("net", "gross"):
            moved = amount(quote["totals"][sum_]) - amount(first["totals"][sum_])
            assert amount(way["difference"][sum_]) == moved
        share = amount(way["difference"]["gross"]) / amount(first["totals"]["gross"]) * 100
        assert abs(Decimal(way["difference"]["percent"]) - share) <= Decimal("0.05")
    assert (
        len({way["offer"]["totals"]["gross"]["amount"] for way in answer.json["alternatives"]}) == 4
    )


def test_lines_that_differ_are_those_between_the_two_quotes(compared, post, order):
    (way,) = compared({"Closer posts": WAYS["Closer posts"]}).json["alternatives"]
    first = post("/v1/quotes", orjson.dumps(order)).json["lines"]
    other = post("/v1/quotes", orjson.dumps(merged(order, WAYS["Closer posts"]))).json["lines"]

    def told(lines):
        return {
            (x["kind"], x["sku"] or x["description"], x["quantity"], x["net"]["amount"])
            for x in lines
        }

    changes = way["changes"]
    assert changes["common_lines"] == len(told(first) & told(other)) > 0
    added = sum(amount(line["net"]) for line in changes["lines"])
    assert added == amount(way["difference"]["net"]) > 0
    assert any("posts: " in words for words in changes["words"])


def test_the_same_job_differs_in_nothing(compared):
    answer = compared({"The same": {}}).json
    (way,) = answer["alternatives"]
    assert way["offer"] == answer["offer"]
    assert way["difference"]["percent"] == "0"
    assert amount(way["difference"]["gross"]) == 0
    assert way["changes"] == {
        "common_lines": answer["offer"]["line_count"],
        "words": [],
        "totals": [],
        "lines": [],
        "facts": [],
    }


def test_clauses_not_met_are_named_with_their_elements(compared, post, order):
    low = {"system": {"guard_height": "30 in"}}
    (way,) = compared({"Low": low}).json["alternatives"]
    findings = post("/v1/quotes", orjson.dumps(merged(order, low))).json["compliance"]["findings"]
    not_met = [(f["clause"], f["element"]) for f in findings if f["outcome"] == "not_met"]
    told = [(c["clause"], element) for c in way["offer"]["not_met"] for element in c["elements"]]
    assert sorted(told) == sorted(not_met)
    assert len(told) > len(way["offer"]["not_met"]) > 0


def test_one_that_cannot_be_had_tells_why_and_the_others_stand(compared, post, order):
    ways = {
        "No price": {"price_table": {"rows": order["price_table"]["rows"][:1]}},
        "No part": {"system": {"parts": [p | {"sku": "X"} for p in order["system"]["parts"][:1]]}},
        "Fine": {},
    }
    no_price, no_part, fine = compared(ways).json["alternatives"]
    whole = post("/v1/quotes", orjson.dumps(merged(order, ways["No price"]))).json
    assert no_price["refused"]["type"] == "/problems/no-price-in-force" == whole["type"]
    assert no_price["refused"]["skus"] == whole["skus"]
    (error,) = no_price["refused"]["errors"]
    assert error["pointer"] == "#/alternatives/0/changes/price_table/rows"
    (error,) = no_part["refused"]["errors"]
    assert error["pointer"] == "#/quote/price_table/rows"  # where it was sent
    for one in (no_price, no_part):
        assert (one["offer"], one["difference"], one["changes"]) == (None, None, None)
    assert fine["refused"] is None
    assert fine["offer"]["totals"]["gross"]


def test_a_first_that_cannot_be_had_refuses_the_call(compared, order):
    order["price_table"]["rows"] = order["price_table"]["rows"][:1]
    answer = compared({"Fine": {}}, quote=order)
    assert pointers(answer) == ["#/quote/price_table/rows"]
    assert answer.json["type"] == "/problems/no-price-in-force"


def test_mistakes_are_pointed_at_where_they_were_sent(compared, order):
    ways = {
        "Colour": {"system": {"colour": "black"}, "units": "feet"},
        "Fine": {},
        "Gone": {"deck": None},
        "Taxes": {"pricing": {"taxes": [{"name": "VAT", "rate": 0.21, "applies_to": ["goods"]}]}},
        "New": {"structure": {"exposure": "any"}},
    }
    found = pointers(compared(ways))
    assert found[:4] == [
        "#/alternatives/0/changes/units",
        "#/alternatives/0/changes/system/colour",
        "#/alternatives/2/changes/deck",
        "#/alternatives/3/changes/pricing/taxes/0/rate",
    ]
    assert all(pointer.startswith("#/alternatives/4/changes/structure") for pointer in found[4:])
    assert found[4:]


def test_a_mistake_of_the_first_is_told_once(compared, order):
    order["units"] = "feet"
    assert pointers(compared({"A": {}, "B": {"draft": True}}, quote=order)) == ["#/quote/units"]


def test_a_change_may_be_at_odds_with_what_it_leaves(compared, order):
    order["pricing"]["labour_rates"] = [{"rate": "50.00"}]
    del order["pricing"]["labour_rate"]
    assert pointers(compared({"A": {"pricing": {"labour_rate": "60.00"}}}, quote=order)) == [
        "#/quote/pricing/labour_rates/0"
    ]


def test_what_is_over_already_is_refused_as_a_quote_would_be(compared):
    assert pointers(compared({"A": {"valid_until": "2020-01-01"}})) == [
        "#/alternatives/0/changes/valid_until"
    ]


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        pytest.param({}, "#/quote", id="nothing"),
        pytest.param({"quote": [], "name": "A"}, "#/quote", id="no object"),
        pytest.param({"alternatives": []}, "#/alternatives", id="nothing to compare"),
        pytest.param(
            {"alternatives": [{"name": "B", "changes": 1}]},
            "#/alternatives/0/changes",
            id="no changes",
        ),
        pytest.param(
            {"alternatives": [{"name": "B", "changes": {}}] * 9}, "#/alternatives", id="too many"
        ),
        pytest.param({"extra": 1}, "#/extra", id="unknown"),
    ],
)
def test_what_is_no_comparison(post, body, pointer):
    assert pointer in pointers(post(PATH, orjson.dumps(body)))


def test_each_way_has_its_own_name(compared, order):
    answer = compared({"First": {}, "Other": {}})
    assert pointers(answer) == ["#/alternatives/0/name"]


def test_amounts_of_two_currencies_are_not_compared(compared):
    (way,) = compared({"In euros": {"price_table": {"currency": "EUR"}}}).json["alternatives"]
    assert way["offer"]["totals"]["gross"]["currency"] == "EUR"
    assert (way["difference"], way["changes"]) == (None, None)


def test_nothing_is_kept(compared, client):
    before = client.get("/v1/quotes").json["quotes"]
    answer = compared({"The same": {}})
    assert answer.status_code == 200
    assert client.get("/v1/quotes").json["quotes"] == before


def test_no_cost_is_told(compared, order):
    for row in order["price_table"]["rows"]:
        row["cost"] = "7.777777"
    text = compared({"Markup": {"pricing": {"markups": [{"markup": "0.313131"}]}}}).text
    assert "7.77" not in text
    assert "0.313131" not in text


def test_a_key_for_estimates_is_not_enough(app, order):
    client = client_of(app, key_for(app, scopes=(Scope.ESTIMATES,)))
    body = orjson.loads(request_bytes("price-comparison"))
    assert client.post(PATH, json=body).status_code == 403
    assert (
        client_of(app, key_for(app, scopes=(Scope.QUOTES_WRITE,))).post(PATH, json=body).status_code
        == 200
    )
