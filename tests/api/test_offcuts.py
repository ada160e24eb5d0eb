"""Offcuts over HTTP, the quotes that use them, and shop days."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from threading import Barrier
from urllib.parse import urlsplit

import orjson
import pytest

from service.adapters.storage.tables import metadata
from service.domain.lengths import MILLIMETRE
from tests.api.replay import request_bytes
from tests.integration.databases import BOTH, url_of
from tests.serving import client_of, migrated_app


class Clock:
    """A clock that a test can set."""

    now = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


@pytest.fixture(params=BOTH, scope="module")
def application(request, tmp_path_factory):
    """An application with a clock of its own, on each kind of database."""
    with url_of(request.param, tmp_path_factory.mktemp("data")) as url:
        app = migrated_app(url=url)
        here = app.extensions["evenbay"]
        clock = Clock()
        app.extensions["evenbay"] = replace(here, now=lambda: clock.now)
        yield app, clock
        here.engine.dispose()


@pytest.fixture
def served(application):
    """Begin with an empty database on the first day."""
    app, clock = application
    clock.now = Clock.now
    with app.extensions["evenbay"].engine.begin() as connection:
        for table in reversed(metadata.sorted_tables):
            connection.execute(table.delete())
    return client_of(app), clock


@pytest.fixture
def here(served):
    return served[0]


@pytest.fixture
def clock(served):
    return served[1]


def send(client, path, body):
    return client.post(path, data=orjson.dumps(body), content_type="application/json")


def keep(client, **changes):
    body = {"sku": "LK-BR", "length": "150 in", "first_picket": "2 in", **changes}
    response = send(client, "/v1/offcuts", body)
    assert response.status_code == 201, response.text
    return response.json


def quote(client, order, **changes):
    response = send(client, "/v1/quotes", {**order, **changes})
    assert response.status_code == 201, response.text
    return response.json


def used(answer):
    return {bar["sku"] for plan in answer["cut_plans"] for bar in plan["bars"] if bar["offcut"]}


def state(client, made):
    return client.get(made["links"]["state"]).json["state"]


def test_an_offcut_is_kept_read_listed_and_removed(here):
    made = send(here, "/v1/offcuts", orjson.loads(request_bytes("offcut")))
    assert made.status_code == 201
    read = here.get(made.headers["Location"])
    assert read.json == made.json
    assert made.json["length"]["mm"] == 1374.775  # 54-1/8 in
    assert here.get("/v1/offcuts").json == {"offcuts": [made.json], "next": None}
    assert here.delete(made.headers["Location"]).status_code == 204
    assert here.get(made.headers["Location"]).status_code == 404
    gone = here.delete(made.headers["Location"])
    assert (gone.status_code, gone.json["type"]) == (404, "/problems/offcut-not-found")


def test_pages_are_linked(here):
    for number in range(7):
        keep(here, sku=f"S {number % 2}", length=f"{10 + number} in")
    path, seen = "/v1/offcuts?limit=2&sku=S+0", []
    while path:
        page = here.get(path)
        seen += [one["id"] for one in page.json["offcuts"]]
        link = page.headers.get("Link", "")
        assert bool(link) == bool(page.json["next"])
        assert not link or link.endswith('>; rel="next"')
        path = link.partition(">")[0].lstrip("<")
        assert not path or urlsplit(path).path == "/v1/offcuts"
    assert len(seen) == len(set(seen)) == 4


@pytest.mark.parametrize(
    "query",
    ["limit=0", "limit=101", "limit=x", "cursor=abc", "cursor=W10", "units=yards", "size=3",
     "limit=2&limit=3", "sku="],
)  # fmt: skip
def test_a_wrong_query_is_refused(here, query):
    refused = here.get(f"/v1/offcuts?{query}")
    assert (refused.status_code, refused.json["type"]) == (422, "/problems/invalid-request")
    assert refused.json["errors"][0]["pointer"] == f"#/{query.partition('=')[0]}"


def test_lengths_are_printed_in_the_units_asked_for(here):
    made = keep(here)
    assert here.get(f"/v1/offcuts/{made['id']}?units=metric").json["length"]["text"] == "3810 mm"


def test_a_quote_uses_what_is_on_the_shelf_and_pays_less(here, order):
    plain = quote(here, order)
    offcut = keep(here)
    without = quote(here, order)
    made = quote(here, order, use_offcuts=True)
    assert (used(plain), used(without), used(made)) == (set(), set(), {offcut["id"]})
    assert without["totals"] == plain["totals"]
    assert Decimal(made["totals"]["net"]["amount"]) < Decimal(plain["totals"]["net"]["amount"])
    assert [one["name"] for one in made["offcuts"]] == [offcut["id"]]
    assert all(offcut["id"] != line["sku"] for line in made["lines"])


def test_offcuts_may_be_sent_along_and_are_not_kept(here, order):
    sent = [{"sku": "LK-BR", "length": "150 in", "first_picket": "2 in", "name": "by the door"}]
    made = quote(here, order, offcuts=sent)
    assert used(made) == {"by the door"}
    assert not made["offcuts"][0]["stored"]
    assert here.get("/v1/offcuts").json["offcuts"] == []


def test_a_takeoff_uses_offcuts_and_reserves_nothing(here):
    offcut = keep(here)
    body = {**orjson.loads(request_bytes("takeoff")), "use_offcuts": True}
    answer = send(here, "/v1/takeoffs", body).json
    assert used(answer) == {offcut["id"]}
    assert here.get(f"/v1/offcuts/{offcut['id']}").json["state"] == "available"


def test_an_offcut_of_unknown_phase_is_left_aside_and_named(here, order):
    made = quote(here, order, offcuts=[{"sku": "LK-BR", "length": "150 in"}])
    assert used(made) == set()
    assert any("offcut 1" in note and "first picket" in note for note in made["takeoff"]["notes"])


@pytest.mark.parametrize(
    ("offcut", "pointer"),
    [
        ({"sku": "LK-PK", "length": "50 in"}, "#/offcuts/0/sku"),
        ({"sku": "LK-TR", "length": "50 in", "name": "LK-TR-8"}, "#/offcuts/0/name"),
        ({"sku": "LK-TR", "length": "0 in"}, "#/offcuts/0/length"),
    ],
)
def test_a_wrong_offcut_is_pointed_at(here, order, offcut, pointer):
    refused = send(here, "/v1/quotes", {**order, "offcuts": [offcut]})
    assert refused.status_code == 422
    assert pointer in {error["pointer"] for error in refused.json["errors"]}


def test_acceptance_reserves_decline_releases_and_the_answer_stays(here, order):
    offcut = keep(here)
    first, second = (quote(here, order, use_offcuts=True) for _ in range(2))
    assert used(first) == used(second) == {offcut["id"]}
    before = here.get(first["links"]["self"]).data
    accepted = here.post(first["links"]["self"] + "/accept")
    assert (accepted.status_code, accepted.json["state"]) == (200, "accepted")
    held = here.get(f"/v1/offcuts/{offcut['id']}").json
    assert (held["state"], held["held_by"]) == ("reserved", first["id"])
    assert used(quote(here, order, use_offcuts=True)) == set()
    taken = here.post(second["links"]["self"] + "/accept")
    assert (taken.status_code, taken.json["type"]) == (409, "/problems/offcut-taken")
    assert state(here, second) == "issued"
    assert here.delete(f"/v1/offcuts/{offcut['id']}").status_code == 409
    assert here.post(first["links"]["self"] + "/decline").json["state"] == "declined"
    assert here.post(second["links"]["self"] + "/accept").status_code == 200
    closed = here.post(first["links"]["self"] + "/accept")
    assert (closed.status_code, closed.json["type"]) == (409, "/problems/quote-closed")
    assert here.get(first["links"]["self"]).data == before


def test_a_quote_expires_by_the_clock_and_releases(here, clock, order):
    offcut = keep(here)
    last = (clock.now + timedelta(days=30)).date()
    first = quote(here, order, use_offcuts=True, valid_until=last.isoformat())
    assert first["valid_until"] == last.isoformat()
    here.post(first["links"]["self"] + "/accept")
    second = quote(here, order)
    clock.now += timedelta(days=31)
    assert state(here, first) == "expired"
    assert state(here, second) == "issued"
    assert here.get(f"/v1/offcuts/{offcut['id']}").json["state"] == "available"
    assert here.post(first["links"]["self"] + "/accept").status_code == 409
    third = quote(here, order, use_offcuts=True)
    assert here.post(third["links"]["self"] + "/accept").json["state"] == "accepted"


def test_validity_does_not_end_before_it_begins(here, order):
    refused = send(here, "/v1/quotes", {**order, "valid_until": "2026-11-24"})
    assert refused.status_code == 422
    assert refused.json["errors"][0]["pointer"] == "#/valid_until"


def test_a_step_may_be_bound_to_the_state_that_was_seen(here, order):
    made = quote(here, order)
    path = made["links"]["self"]
    seen = here.get(path + "/state").headers["ETag"]
    accepted = here.post(path + "/accept", headers={"If-Match": seen})
    assert accepted.status_code == 200
    stale = here.post(path + "/decline", headers={"If-Match": seen})
    assert (stale.status_code, stale.json["type"]) == (412, "/problems/stale-state")
    assert state(here, made) == "accepted"
    again = here.post(path + "/accept")
    assert (again.json, again.headers["ETag"]) == (accepted.json, accepted.headers["ETag"])
    fresh = here.post(path + "/decline", headers={"If-Match": accepted.headers["ETag"]})
    assert fresh.json["state"] == "declined"


def test_remnants_of_a_sawn_quote_serve_the_next_one_in_phase(here, order):
    order["system"]["shop"]["least_remnant"] = "24 in"
    first = quote(here, order)
    named = [
        bar["reusable"] for plan in first["cut_plans"] for bar in plan["bars"] if bar["reusable"]
    ]
    assert named
    assert all(one["length"]["mm"] >= 24 * 25.4 for one in named)
    path = first["links"]["self"]
    early = send(here, path + "/cut", {"store_remnants": True})
    assert (early.status_code, early.json["type"]) == (409, "/problems/quote-closed")
    here.post(path + "/accept")
    cut = send(here, path + "/cut", {"store_remnants": True})
    assert (cut.json["sawn"], cut.json["remnants_kept"]) == (True, True)
    shelf = here.get("/v1/offcuts").json["offcuts"]
    assert sorted(o["length"]["mm"] for o in shelf) == sorted(o["length"]["mm"] for o in named)
    assert {o["from_quote"] for o in shelf} == {first["id"]}
    assert here.post(path + "/decline").status_code == 409
    small = {**order, "use_offcuts": True}
    second = quote(here, small)  # its plan was replayed with the remnants' own phases
    assert used(second) <= {o["id"] for o in shelf}


def test_steps_of_an_unknown_quote(here):
    nowhere = "/v1/quotes/00000000-0000-4000-8000-00000000abcd"
    for path in ("/accept", "/decline"):
        assert here.post(nowhere + path).status_code == 404
    assert here.get(nowhere + "/state").status_code == 404


def test_a_shop_day_over_kept_quotes_is_no_dearer_than_each_alone(here, order):
    one = quote(here, order)
    other = quote(here, {**order, "reference": "Elm Court"})
    day = send(here, "/v1/cut-plans", {"quotes": [one["id"], other["id"]]})
    assert day.status_code == 200, day.text
    assert [job["quote"] for job in day.json["jobs"]] == [one["id"], other["id"]]
    assert day.json["currency"] == "USD"
    for material in day.json["materials"]:
        costs = [Decimal(alone["cost"]) for alone in material["alone"]]
        saved = Decimal(material["saved"]["cost"])
        assert saved >= 0
        assert sum(costs) == saved + Decimal(material["cut_plan"]["cost"])
        pieces = {p["piece"] for p in material["pieces"]}
        cuts = [c for bar in material["cut_plan"]["bars"] for c in bar["cuts"]]
        assert {c["piece"] for c in cuts} == pieces
        assert len(cuts) == len(pieces)
    sections = {section["name"] for section in one["layout"]["sections"]}
    assert {p["section"] for m in day.json["materials"] for p in m["pieces"]} <= sections


def test_a_shop_day_may_use_what_its_own_quotes_hold(here, order):
    offcut = keep(here)
    made = quote(here, order, use_offcuts=True)
    here.post(made["links"]["self"] + "/accept")

    def taken(quotes):
        body = {"quotes": quotes, "use_offcuts": True}
        day = send(here, "/v1/cut-plans", body).json
        return {one["name"] for material in day["materials"] for one in material["offcuts"]}

    other = quote(here, order)
    assert taken([made["id"]]) == {offcut["id"]}
    assert taken([other["id"]]) == set()


def test_quotes_at_different_prices_are_not_mixed(here, order):
    one = quote(here, order)
    row = next(row for row in order["price_table"]["rows"] if row["sku"] == "LK-TR-8")
    row["unit_price"] = "999.00"
    other = quote(here, order)
    refused = send(here, "/v1/cut-plans", {"quotes": [one["id"], other["id"]]})
    assert (refused.status_code, refused.json["type"]) == (422, "/problems/demands-disagree")


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"demands": []}, "#/quotes"),
        ({"quotes": ["x"]}, "#/quotes/0"),
        ({"quotes": ["00000000-0000-4000-8000-00000000abcd"] * 2}, "#/quotes/1"),
        ({"offcuts": [{"sku": "LK-FR", "length": "9 in", "name": "LK-FR-8"}]}, "#/offcuts/0/name"),
    ],
)
def test_a_wrong_shop_day_is_pointed_at(here, change, pointer):
    body = orjson.loads(request_bytes("cut-plan")) | change
    refused = send(here, "/v1/cut-plans", body)
    assert refused.status_code == 422
    assert pointer in {error["pointer"] for error in refused.json["errors"]}


def test_a_day_of_too_many_pieces_is_refused(here):
    body = orjson.loads(request_bytes("cut-plan"))
    for piece in body["demands"][0]["pieces"]:
        piece["quantity"] = 1000
    refused = send(here, "/v1/cut-plans", body)
    assert (refused.status_code, refused.json["type"]) == (422, "/problems/too-large")


def test_the_example_s_shared_cuts_start_before_the_piece_before_ends(here):
    day = send(here, "/v1/cut-plans", orjson.loads(request_bytes("cut-plan"))).json
    bars = day["materials"][0]["cut_plan"]["bars"]
    sharing = [bar for bar in bars if bar["shared"]["mm"] > 0]
    assert sharing
    for bar in sharing:
        total = sum(bar[part]["mm"] for part in ("trim", "kerf", "drop", "remnant"))
        total += sum(cut["length"]["mm"] for cut in bar["cuts"]) - bar["shared"]["mm"]
        assert total == pytest.approx(bar["length"]["mm"], abs=1 / MILLIMETRE)


def at_once(app, paths):
    """Post to each address from a thread of its own, all released together."""
    ready = Barrier(len(paths))

    def post(path):
        client = client_of(app)
        ready.wait(30)
        return client.post(path)

    with ThreadPoolExecutor(len(paths)) as pool:
        return list(pool.map(post, paths))


@pytest.mark.parametrize("quotes", [2, 6])
def test_of_quotes_accepted_at_once_one_gets_the_offcut(application, here, order, quotes):
    offcut = keep(here)
    made = [quote(here, order, use_offcuts=True) for _ in range(quotes)]
    assert all(used(one) == {offcut["id"]} for one in made)
    answers = at_once(application[0], [f"{one['links']['self']}/accept" for one in made])
    assert sorted(answer.status_code for answer in answers) == [200] + [409] * (quotes - 1)
    (winner,) = [one for one, a in zip(made, answers, strict=True) if a.status_code == 200]
    for one, answer in zip(made, answers, strict=True):
        assert state(here, one) == ("accepted" if one is winner else "issued")
        assert one is winner or answer.json["type"] == "/problems/offcut-taken"
    held = here.get(f"/v1/offcuts/{offcut['id']}").json
    assert (held["state"], held["held_by"]) == ("reserved", winner["id"])
