"""Revisions over HTTP: made, compared, found and computed again."""

from urllib.parse import urlsplit

import orjson
import pytest

from tests.api.replay import request_bytes

PATCH = "application/merge-patch+json"


@pytest.fixture
def first(client, post):
    made = post("/v1/quotes", request_bytes("quote"))
    assert made.status_code == 201
    return made.json


def revise(client, quote, patch, headers=None):
    return client.post(
        f"/v1/quotes/{quote['id']}/revisions",
        data=orjson.dumps(patch),
        content_type=PATCH,
        headers=headers,
    )


def state(client, quote):
    return client.get(quote["links"]["state"]).json


def test_a_patch_makes_a_revision_that_takes_the_place_of_the_first(client, first):
    made = revise(client, first, {"pricing": {"labour_rate": "70.00"}, "reference": "Second"})
    assert made.status_code == 201
    second = made.json
    assert (second["series"], second["revision"], second["revises"]) == (
        first["series"],
        2,
        first["id"],
    )
    assert (first["revision"], first["revises"], first["series"]) == (1, None, first["id"])
    assert second["lines"][0] == first["lines"][0]
    assert state(client, first)["state"] == "replaced"
    assert state(client, first)["replaced_by"] == second["id"]
    assert client.get(first["links"]["self"]).json == first
    again = revise(client, first, {"reference": "Third"})
    assert (again.status_code, again.json["type"]) == (409, "/problems/quote-closed")
    assert second["id"] in again.json["detail"]


def test_a_whole_order_makes_a_revision_too(client, post, first, order):
    order["outside_reference"] = "CRM-77"
    order["customer"] = {"name": "Ann Larch", "address": ["14 Osprey Lane", "Wexholm"]}
    made = post(f"/v1/quotes/{first['id']}/revisions", orjson.dumps(order))
    assert made.status_code == 201
    assert made.json["customer"] == {
        "name": "Ann Larch",
        "company": "",
        "email": "",
        "phone": "",
        "address": ["14 Osprey Lane", "Wexholm"],
    }
    listed = client.get("/v1/quotes?outside_reference=CRM-77").json["quotes"]
    assert [one["id"] for one in listed] == [made.json["id"]]


def test_a_patch_that_spoils_the_order_is_refused_where_it_does(client, first):
    made = revise(client, first, {"price_table": None})
    assert made.status_code == 422
    assert made.json["errors"][0]["pointer"] == "#/price_table"
    made = revise(client, first, {"system": {"post": {"width": "3"}}})
    assert made.json["errors"][0]["pointer"] == "#/system/post/width"
    assert state(client, first)["state"] == "issued"


def test_changes_are_told_in_words_and_numbers(client, first):
    row = {"pricing": {"labour_rate": "70.00"}}
    second = revise(client, first, row).json
    told = client.get(f"/v1/quotes/{second['id']}/changes").json
    assert (told["before"], told["after"]) == (first["id"], second["id"])
    assert {change["sku"] for change in told["lines"]} == {""}
    gross = next(one for one in told["totals"] if one["name"] == "gross")
    assert gross["before"] == first["totals"]["gross"]
    assert gross["after"] == second["totals"]["gross"]
    assert told["words"][-1].startswith(f"total: {gross['before']['amount']} → ")
    back = client.get(f"/v1/quotes/{first['id']}/changes?since={second['id']}").json
    assert back["totals"][-1]["after"] == gross["before"]
    none = client.get(f"/v1/quotes/{first['id']}/changes")
    assert (none.status_code, none.json["errors"][0]["pointer"]) == (422, "#/since")


@pytest.mark.parametrize("name", ["quote", "metric-quote", "cable-quote"])
def test_a_quote_computed_again_comes_out_the_same(client, post, name):
    made = post("/v1/quotes", request_bytes(name)).json
    again = client.post(f"/v1/quotes/{made['id']}/recompute")
    assert again.status_code == 200
    assert again.json["same"] is True
    assert again.json["changes"]["words"] == []
    assert again.json["gross"] == {"kept": made["totals"]["gross"], "now": made["totals"]["gross"]}


def test_a_quote_cut_from_stored_offcuts_comes_out_the_same_when_they_are_gone(client, post, order):
    put = orjson.loads(request_bytes("offcut")) | {"sku": "LK-TR-12", "length": "9 ft"}
    put.pop("first_picket", None)
    stored = post("/v1/offcuts", orjson.dumps(put)).json
    made = post("/v1/quotes", orjson.dumps(order | {"use_offcuts": True})).json
    client.delete(f"/v1/offcuts/{stored['id']}")
    again = client.post(f"/v1/quotes/{made['id']}/recompute").json
    assert again["same"] is True


def test_a_price_that_was_kept_otherwise_is_told(client, post, first, app, monkeypatch):
    """The check can fail: a service that prices labour otherwise does not come out the same."""
    from service.usecases import quote_railing

    right = quote_railing.price

    def wrong(items, labour, *rest):
        return right(items, [], *rest)

    monkeypatch.setattr(quote_railing, "price", wrong)
    again = client.post(f"/v1/quotes/{first['id']}/recompute").json
    assert again["same"] is False
    assert again["gross"]["kept"] == first["totals"]["gross"]
    assert again["gross"]["now"] != first["totals"]["gross"]


def test_a_draft_is_issued_before_it_is_accepted(client, post, order):
    made = post("/v1/quotes", orjson.dumps(order | {"draft": True})).json
    assert state(client, made)["state"] == "draft"
    refused = client.post(f"/v1/quotes/{made['id']}/accept")
    assert (refused.status_code, refused.json["type"]) == (409, "/problems/quote-closed")
    assert client.post(f"/v1/quotes/{made['id']}/issue").json["state"] == "issued"
    assert client.post(f"/v1/quotes/{made['id']}/accept").json["state"] == "accepted"


def test_a_revision_may_ask_for_the_state_it_has_seen(client, first):
    seen = client.get(first["links"]["state"]).headers["ETag"]
    client.post(f"/v1/quotes/{first['id']}/accept")
    stale = revise(client, first, {"reference": "Second"}, {"If-Match": seen})
    assert (stale.status_code, stale.json["type"]) == (412, "/problems/stale-state")
    seen = client.get(first["links"]["state"]).headers["ETag"]
    assert revise(client, first, {"reference": "B"}, {"If-Match": seen}).status_code == 201


def test_lists_page_by_link_and_filter_by_state(client, first):
    revise(client, first, {"reference": "Second"})
    seen, address = [], f"/v1/quotes?series={first['series']}&limit=1"
    while address:
        page = client.get(address)
        assert page.status_code == 200
        seen += [(one["state"]["revision"], one["state"]["state"]) for one in page.json["quotes"]]
        link = page.headers.get("Link", "")
        address = link.partition(">")[0].lstrip("<") if link else ""
        assert not address or urlsplit(address).path == "/v1/quotes"
    assert seen == [(2, "issued"), (1, "replaced")]
    only = client.get(f"/v1/quotes?series={first['series']}&state=replaced,declined").json
    assert [one["id"] for one in only["quotes"]] == [first["id"]]


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ("state=sold", "#/state"),
        ("limit=0", "#/limit"),
        ("cursor=AAAA", "#/cursor"),
        ("cursor=WyJub3cnIiwgMV0", "#/cursor"),
        ("made_from=tomorrow", "#/made_from"),
        ("colour=red", "#/colour"),
        ("limit=1&limit=2", "#/limit"),
        ("series=1", "#/series"),
    ],
)
def test_a_wrong_query_is_refused_by_name(client, query, pointer):
    refused = client.get(f"/v1/quotes?{query}")
    assert (refused.status_code, refused.json["errors"][0]["pointer"]) == (422, pointer)
