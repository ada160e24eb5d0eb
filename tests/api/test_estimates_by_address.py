"""Estimates for spreadsheets that can only fetch an address."""

import csv
import io
import logging
from decimal import Decimal
from urllib.parse import urlencode

import pytest

from service.api.estimates_by_address import MOST_FETCHED
from service.api.schemas.form import TOTALS
from tests.integration.databases import served
from tests.serving import client_of, key_for
from tests.shop import stock

SITE = "https://larkmere.example"
SIDES = {"sides": "12' 0\";16' 0\";12' 0\"", "falls": "3' 6\""}
STAIR = {"stair_side": "2", "stair_risers": "6", "stair_width": "4 ft", "stair_run": "10 in"}
# The same deck as a body; what an address leaves out stands here in full.
EDGES = [{"kind": "open", "fall_height": "3' 6\""} for _ in range(3)]
DECK = {
    "levels": [
        {
            "name": "deck",
            "outline": {
                "sides": [
                    {"length": "12' 0\"", "turn": 90},
                    {"length": "16' 0\"", "turn": 90},
                    {"length": "12' 0\"", "turn": 0},
                ],
                "closing_side": True,
            },
            "edges": [*EDGES, {"kind": "wall"}],
        }
    ]
}


@pytest.fixture(scope="module")
def app(tmp_path_factory):
    with served(tmp_path_factory.mktemp("address"), rate_per_minute=0) as app:
        stock(app.extensions["evenbay"].engine)
        yield app


@pytest.fixture(scope="module")
def key(app):
    return key_for(app, scopes=("estimates", "sheets"), publishable=True)


@pytest.fixture
def fetch(app, key):
    """Fetch as a cell does: an address, and no header of its own."""

    def fetch(headers=None, **query):
        asked = {name: value for name, value in {"key": key, **query}.items() if value is not None}
        return app.test_client().get("/v1/estimates", query_string=asked, headers=headers or {})

    return fetch


@pytest.fixture
def posted(app):
    def posted(deck):
        answer = client_of(app).post("/v1/estimates", json={"deck": deck})
        assert answer.status_code == 200, answer.json
        return answer.json

    return posted


@pytest.mark.parametrize("total", TOTALS)
def test_the_number_is_the_total_of_the_same_deck_posted(fetch, posted, total):
    answer = fetch(**SIDES, total=total)
    assert (answer.status_code, answer.mimetype) == (200, "text/plain")
    assert answer.text == posted(DECK)["totals"][total]["amount"]
    assert Decimal(answer.text) > 0


def test_the_number_is_the_gross_unless_another_total_is_asked_for(fetch):
    assert fetch(**SIDES).text == fetch(**SIDES, total="gross").text


def test_a_stair_leaves_the_side_it_is_said_of_and_falls_as_the_side_does(fetch, posted):
    stair = {"name": "s", "total_rise": "3' 6\"", "risers": 6, "unit_run": "10 in"}
    stair |= {"width": "4 ft", "nosing": "1 in", "open_sides": ["left"], "bottom": "slab"}
    level = DECK["levels"][0]
    opening = {"kind": "stair", "stair": "s", "offset": "2 ft"}
    edges = [EDGES[0], EDGES[1] | {"openings": [opening]}, EDGES[2], {"kind": "wall"}]
    wanted = posted({"levels": [level | {"edges": edges}], "stairs": [stair]})
    more = {"stair_nosing": "1 in", "stair_guards": "left", "stair_bottom": "slab"}
    more |= {"stair_offset": "2 ft", "stair_rise": "3' 6\""}
    assert fetch(**SIDES, **STAIR, **more).text == wanted["totals"]["gross"]["amount"]
    assert wanted["totals"] != posted(DECK)["totals"]


def test_turns_edges_and_falls_are_told_for_each_side(fetch, posted):
    level = DECK["levels"][0]
    sides = [
        {"length": "10 ft", "turn": 90},
        {"length": "8 ft", "turn": -90},
        {"length": "6 ft", "turn": 90},
        {"length": "5 ft", "turn": 0},
    ]
    edges = [
        {"kind": "open", "fall_height": "3 ft"},
        {"kind": "open", "fall_height": "4 ft", "guard": False},
        {"kind": "existing", "fall_height": "5 ft"},
        {"kind": "open", "fall_height": "6 ft"},
        {"kind": "open", "fall_height": "7 ft"},
    ]
    deck = {"levels": [level | {"outline": {"sides": sides, "closing_side": True}, "edges": edges}]}
    answer = fetch(
        sides="10 ft; 8 ft;6 ft;5 ft",
        turns="90;-90;90",
        edges="open;none;existing;open;open",
        falls="3 ft;4 ft;5 ft;6 ft;7 ft",
    )
    assert answer.text == posted(deck)["totals"]["gross"]["amount"]


@pytest.mark.parametrize("asked", [{"format": "csv"}, {"headers": {"Accept": "text/csv"}}])
def test_the_table_holds_lines_totals_and_cautions(fetch, posted, asked):
    answer = fetch(**SIDES, **asked)
    assert (answer.status_code, answer.mimetype) == (200, "text/csv")
    assert "Accept" in answer.vary
    rows = list(csv.DictReader(io.StringIO(answer.text)))
    told = posted(DECK)
    kinds = {row["kind"] for row in rows}
    assert kinds == {"goods", "labour", "charge", "net", "tax", "gross", "caution"} & kinds
    lines = [row for row in rows if row["number"]]
    assert [row["amount"] for row in lines] == [one["net"]["amount"] for one in told["lines"]]
    (gross,) = (row for row in rows if row["kind"] == "gross")
    assert (gross["amount"], gross["currency"]) == tuple(told["totals"]["gross"].values())
    cautions = [row["description"] for row in rows if row["kind"] == "caution"]
    assert cautions == told["cautions"]
    assert "unit_price" not in answer.text


def test_lengths_of_the_table_are_in_the_units_asked_for(fetch):
    assert '"4876.8 mm"' in fetch(**SIDES, format="csv", units="metric").text
    assert '"16\' 0"""' in fetch(**SIDES, format="csv").text


def test_what_is_held_is_not_sent_again_and_not_shared(fetch):
    first = fetch(**SIDES)
    assert first.headers["Cache-Control"].startswith("private")
    again = fetch({"If-None-Match": first.headers["ETag"]}, **SIDES)
    assert (again.status_code, again.data) == (304, b"")
    assert fetch(**SIDES, **STAIR).headers["ETag"] != first.headers["ETag"]


@pytest.mark.parametrize(
    ("query", "pointers"),
    [
        ({"sides": "12;16 ft;12 ft"}, ["#/sides/0"]),
        ({"sides": "12 ft"}, ["#/sides"]),
        ({"sides": ";".join(["3 ft"] * 41)}, ["#/sides"]),
        ({"sides": None}, ["#/sides"]),
        ({"sides": "12 ft;;12 ft"}, ["#/sides"]),
        ({"falls": "3 ft;4 ft"}, ["#/falls"]),
        ({"falls": "3"}, ["#/falls"]),
        ({"falls": "3 ft;4 ft;5;6 ft"}, ["#/falls/2"]),
        ({"turns": "90;x"}, ["#/turns/1"]),
        ({"turns": "90"}, ["#/turns"]),
        ({"edges": "open;fence;open"}, ["#/edges/1"]),
        ({"edges": "open;wall;open", **STAIR}, ["#/stair_side"]),
        ({**STAIR, "stair_side": "5"}, ["#/stair_side"]),
        ({**STAIR, "stair_width": "wide"}, ["#/stair_width"]),
        ({**STAIR, "stair_width": "40 ft"}, ["#/sides/1"]),
        ({**STAIR, "stair_offset": "x"}, ["#/stair_offset"]),
        ({**STAIR, "stair_rise": "x"}, ["#/stair_rise"]),
        ({**STAIR, "falls": "x"}, ["#/falls"]),
        ({"stair_width": "4 ft"}, ["#/stair_risers", "#/stair_run"]),
        ({"total": "all"}, ["#/total"]),
        ({"colour": "red"}, ["#/colour"]),
    ],
)
def test_what_is_wrong_is_told_at_its_parameter(fetch, query, pointers):
    refused = fetch(**{**SIDES, **query})
    assert (refused.status_code, refused.mimetype) == (422, "application/problem+json")
    assert [error["pointer"] for error in refused.json["errors"]] == pointers


def test_a_parameter_that_stands_twice_is_refused(app, key):
    address = f"/v1/estimates?{urlencode(SIDES)}&falls=4+ft&key={key}"
    assert app.test_client().get(address).json["errors"][0]["pointer"] == "#/falls"


@pytest.mark.parametrize(
    "asked", [{"format": "number"}, {"format": "csv"}, {"headers": {"Accept": "text/plain"}}]
)
def test_where_text_is_asked_for_a_refusal_is_one_line(fetch, asked):
    refused = fetch(**SIDES | {"sides": "12 ft;16;12 ft"}, **asked)
    assert (refused.status_code, refused.mimetype) == (422, "text/plain")
    assert refused.text.startswith("sides 2: '16' has no unit; a unit is required.")
    assert "\n" not in refused.text
    assert refused.headers["Cache-Control"] == "no-store"


def test_a_browser_is_told_what_a_cell_cannot_show(fetch):
    page = {"Accept": "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"}
    assert fetch(page, **SIDES).mimetype == "text/plain"
    assert fetch(page, **SIDES | {"falls": "3"}, format="number").mimetype == "text/plain"


def test_a_secret_key_in_an_address_is_refused_and_its_owner_told_to_revoke_it(app, fetch):
    secret = key_for(app)
    for query in ({"key": secret}, {"key": "eyJh.eyJz.c2ln"}):
        refused = fetch(**SIDES, **query)
        assert (refused.status_code, refused.json["type"]) == (401, "/problems/unauthenticated")
        assert "revoke it" in refused.json["advice"]
        assert query["key"] not in refused.text
    both = client_of(app).get("/v1/estimates", query_string={**SIDES, "key": secret})
    assert both.status_code == 401
    assert client_of(app, secret).get("/v1/quotes").status_code == 200


def test_no_other_operation_takes_a_key_from_an_address(app, key):
    nobody = app.test_client()
    assert nobody.get("/v1/quotes", query_string={"key": key}).status_code == 401
    assert nobody.post("/v1/estimates", query_string={"key": key}, json={}).status_code == 401


def test_a_key_must_be_opened_for_addresses(app, fetch):
    closed = key_for(app, scopes=("estimates",), publishable=True, origins=(SITE,))
    refused = fetch(key=closed, **SIDES)
    assert (refused.status_code, "scope sheets" in refused.json["advice"]) == (403, True)
    assert fetch({"Origin": SITE}, key=closed, **SIDES).status_code == 200


@pytest.mark.parametrize("origin", ["https://elsewhere.example", "null", ""])
def test_pages_must_be_listed_even_where_the_key_is_open(app, fetch, key, origin):
    refused = fetch({"Origin": origin}, **SIDES)
    assert refused.status_code == 403
    body = {"deck": DECK}
    bearer = {"Authorization": f"Bearer {key}"}
    assert app.test_client().post("/v1/estimates", json=body, headers=bearer).status_code == 403


def test_a_page_cannot_load_the_number_as_one_of_its_parts(fetch):
    answer = fetch(**SIDES)
    assert answer.headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Referrer-Policy"] == "no-referrer"


def test_a_key_in_a_header_serves_as_well(app, key):
    for one in (key, key_for(app)):
        answer = client_of(app, one).get("/v1/estimates", query_string=SIDES)
        assert answer.status_code == 200


def test_each_dealer_s_key_prices_by_the_dealer_s_own_settings(app, fetch):
    other = key_for(app, "Osprey Railing", ("estimates", "sheets"), publishable=True)
    refused = fetch(key=other, **SIDES, format="number")
    assert (refused.status_code, refused.mimetype) == (409, "text/plain")
    assert refused.text.startswith("The dealer has not set this form up")


@pytest.fixture
def slow(tmp_path):
    """The service, which counts requests."""
    with served(tmp_path, rate_per_minute=10 * MOST_FETCHED) as app:
        yield app


def test_addresses_have_a_bound_of_their_own(slow):
    app = slow
    key = key_for(app, scopes=("estimates", "sheets"), publishable=True)
    client = app.test_client()
    asked = {"key": key, "format": "number"}
    statuses = [
        client.get("/v1/estimates", query_string=asked).status_code for _ in range(MOST_FETCHED)
    ]
    assert set(statuses) == {422}
    last = client.get("/v1/estimates", query_string=asked)
    assert (last.status_code, last.mimetype) == (429, "text/plain")
    assert last.headers["Retry-After"]


def test_the_key_is_written_down_nowhere(app, fetch, key, caplog, monkeypatch):
    caplog.set_level(logging.DEBUG)
    fetch(**SIDES)
    fetch(**SIDES | {"sides": "x"})
    fetch(**SIDES, key=key + "x")
    before = len(caplog.records)
    monkeypatch.setattr("service.api.estimates_by_address.deck_of", lambda _query: 1 / 0)
    failed = fetch(**SIDES)
    assert (failed.status_code, "incident" in failed.json) == (500, True)
    assert len(caplog.records) > before
    secret = key.rpartition("_")[2]
    told = [*map(str, (one.__dict__ for one in caplog.records)), caplog.text, failed.text]
    told += [app.test_client().get("/metrics").text]
    assert any("/v1/estimates" in text for text in told)
    assert not [text for text in told if secret in text or "falls" in text]
