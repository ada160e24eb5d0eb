"""Re-pricing runs as callers see them: begun, watched, steered, their results, the nightly one."""

from dataclasses import replace
from datetime import datetime, timedelta
from uuid import uuid4

import orjson
import pytest
from sqlalchemy import select

from service.adapters.storage.run_work import SqlRunWork
from service.adapters.storage.tables import repricing_runs
from service.adapters.workers.nights import Nights
from service.api.schemas.repricing import read_nightly
from service.domain.errors import UnknownReference
from service.usecases.callers import Scope
from tests.integration.databases import served
from tests.repriced import stocked
from tests.serving import client_of, key_for

RUNS = "/v1/repricing-runs"
NOWHERE = "00000000-0000-4000-8000-000000000000"


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    with served(tmp_path_factory.mktemp("runs")) as app:
        yield app


@pytest.fixture(scope="module")
def office(shop):
    return client_of(shop, key_for(shop))


@pytest.fixture(scope="module")
def table(office):
    """The name of a kept table with one version that is in force."""
    rows = [{"sku": "POST", "unit_price": "12.40", "unit_of_measure": "C62"}]
    made = office.post("/v1/price-tables", json={"name": "Yard", "currency": "USD", "rows": rows})
    home = made.json["links"]["self"]
    seen = {"If-Match": office.get(home).headers["ETag"]}
    begun = office.post(f"{home}/versions/1/activate", json={"from": "2026-01-01"}, headers=seen)
    assert begun.status_code == 200, begun.json
    return "Yard"


def begin(client, stored, headers=None, **more):
    body = {"price_table": {"stored": stored}, **more}
    return client.post(RUNS, json=body, headers=headers or {})


def test_a_run_is_taken_in_and_can_be_read_where_it_says(office, table):
    made = begin(office, table, thresholds={"change_rate": "0.02"}, note="Aluminium")
    assert made.status_code == 202, made.json
    run = made.json
    assert made.headers["Location"] == run["links"]["self"] == f"{RUNS}/{run['id']}"
    assert (run["state"], run["mode"], run["revisions"]) == ("planned", "keep-material", "draft")
    assert (run["prices"]["name"], run["prices"]["version"]) == ("Yard", 1)
    assert run["thresholds"]["change_rate"] == "0.02"
    assert run["quotes"]["states"] == ["draft", "issued"]
    assert run["progress"] == {"chunks": None, "done": 0, "failed": 0, "quotes": None}
    again = office.get(run["links"]["self"])
    assert (again.json, again.headers["ETag"]) == (run, made.headers["ETag"])
    assert run["id"] in [one["id"] for one in office.get(RUNS).json["runs"]]


def test_the_same_request_sent_again_begins_one_run(office, table):
    key = {"Idempotency-Key": str(uuid4())}
    first, second = (begin(office, table, key, note="twice") for _ in range(2))
    assert first.json["id"] == second.json["id"]
    listed = [one["note"] for one in office.get(f"{RUNS}?limit=100").json["runs"]]
    assert listed.count("twice") == 1


def test_workers_are_told_of_a_run_once_it_is_kept_and_of_no_other(shop, office, table):
    here, told = shop.extensions["evenbay"], []

    def hint(dealer, run_id):
        with here.engine.connect() as connection:
            kept = connection.execute(
                select(repricing_runs.c.dealer).where(repricing_runs.c.id == run_id)
            )
            told.append((run_id, kept.scalars().all() == [dealer]))

    shop.extensions["evenbay"] = replace(here, hint=hint)
    try:
        key = {"Idempotency-Key": str(uuid4())}
        run = begin(office, table, key).json
        assert begin(office, table, key).json["id"] == run["id"]
        begin(office, "Nowhere")
        home = run["links"]["self"]
        assert told == [(run["id"], True)]
        for step in ("pause", "resume", "cancel", "resume"):
            office.post(f"{home}/{step}")
        assert told == [(run["id"], True)] * 2
    finally:
        shop.extensions["evenbay"] = here


def test_runs_are_listed_newest_first_by_pages(office, table):
    made = [begin(office, table).json["id"] for _ in range(3)]
    seen, address = [], f"{RUNS}?limit=2"
    while address:
        page = office.get(address)
        seen += [one["id"] for one in page.json["runs"]]
        following = page.json["next"]
        assert (following is None) == ("Link" not in page.headers)
        address = following and f"{RUNS}?limit=2&cursor={following}"
    assert seen[:3] == made[::-1]
    assert len(seen) == len(set(seen))


def test_a_run_rests_goes_on_and_ends(office, table):
    home = begin(office, table).json["links"]["self"]
    states = [
        office.post(f"{home}/{step}").json["state"]
        for step in ("pause", "pause", "resume", "resume", "cancel", "cancel")
    ]
    assert states == ["paused", "paused", "planned", "planned", "cancelled", "cancelled"]
    refused = office.post(f"{home}/resume")
    assert (refused.status_code, refused.json["type"]) == (409, "/problems/run-closed")


def test_a_step_is_refused_where_the_run_has_changed(office, table):
    made = begin(office, table)
    home, seen = made.json["links"]["self"], made.headers["ETag"]
    assert office.post(f"{home}/pause", headers={"If-Match": seen}).status_code == 200
    refused = office.post(f"{home}/cancel", headers={"If-Match": seen})
    assert (refused.status_code, refused.json["type"]) == (412, "/problems/stale-state")
    assert office.post(f"{home}/cancel", headers={"If-Match": "*"}).status_code == 200


@pytest.mark.parametrize(
    ("wrong", "where"),
    [
        ({"thresholds": {"change_rate": "2"}}, "#/thresholds/change_rate"),
        ({"thresholds": {"change_amount": 5}}, "#/thresholds/change_amount"),
        ({"quotes": {"states": ["accepted"]}}, "#/quotes/states/0"),
        (
            {"quotes": {"made_from": "2026-02-01", "made_to": "2026-01-01"}},
            "#/quotes/made_to",
        ),
        ({"mode": "all"}, "#/mode"),
        ({"table": "Yard"}, "#/table"),
        ({"price_table": {"stored": "Nowhere"}}, "#/price_table/stored"),
        ({"on": "2025-12-31"}, "#/price_table/stored"),
        ({"quotes": {"priced_by": "Nowhere"}}, "#/quotes/priced_by"),
    ],
)
def test_a_wrong_wish_is_told_at_its_place(office, table, wrong, where):
    refused = begin(office, table, **wrong)
    assert refused.status_code == 422
    assert [one["pointer"] for one in refused.json["errors"]] == [where]


def test_results_of_a_run_that_did_nothing_yet_are_empty(office, table):
    links = begin(office, table).json["links"]
    assert office.get(links["results"]).json == {"results": [], "next": None}
    sheet = office.get(links["csv"])
    assert sheet.mimetype == "text/csv"
    assert sheet.text.startswith('"quote","reference"')
    assert sheet.text.count("\r\n") == 1
    wrong = office.get(links["results"] + "?outcome=better")
    assert (wrong.status_code, wrong.json["errors"][0]["pointer"]) == (422, "#/outcome")
    assert office.get(f"{RUNS}/{NOWHERE}/results.csv").status_code == 404


def test_who_may_not_see_costs_learns_nothing_of_margins(shop, office, table):
    clerk = client_of(shop, key_for(shop, scopes=(Scope.RUNS,)))
    refused = begin(clerk, table, thresholds={"margin_under": "0.2"})
    assert refused.status_code == 403
    made = begin(office, table, thresholds={"margin_under": "0.2"}).json
    assert (made["thresholds"]["margin_under"], made["summary"]["under_floor"]) == ("0.2", 0)
    shown = clerk.get(made["links"]["self"]).json
    assert (shown["thresholds"]["margin_under"], shown["summary"]["under_floor"]) == (None, None)
    assert clerk.get(made["links"]["results"] + "?under_floor=true").status_code == 403
    assert "margin" not in clerk.get(made["links"]["csv"]).text
    assert "margin" in office.get(made["links"]["csv"]).text


def test_who_may_not_see_costs_is_not_shown_what_is_listed_for_its_margin_alone(shop, office):
    engine = shop.extensions["evenbay"].engine
    order = stocked(engine, "ruled-quote")
    made = office.post("/v1/quotes", data=orjson.dumps(order), content_type="application/json")
    assert made.status_code == 201, made.json
    stored, floor = order["price_table"]["stored"], {"margin_under": "0.99"}
    run = begin(office, stored, thresholds=floor, dry_run=True).json
    SqlRunWork(engine).work(lambda: False)
    links, clerk = run["links"], client_of(shop, key_for(shop, scopes=(Scope.RUNS,)))
    shown = office.get(links["results"]).json["results"]
    assert [(one["outcome"], one["under_floor"]) for one in shown] == [("unchanged", True)]
    assert office.get(links["csv"]).text.count("\r\n") == 2
    assert clerk.get(links["results"]).json["results"] == []
    assert clerk.get(links["csv"]).text.count("\r\n") == 1
    for form in ("results", "csv"):
        asked = clerk.get(links[form] + "?outcome=changed,unchanged")
        assert (asked.status_code, asked.json["type"]) == (403, "/problems/forbidden")
        assert clerk.get(links[form] + "?outcome=changed").status_code == 200


NIGHTLY = "/v1/repricing-schedule"


def test_a_nightly_run_is_set_read_and_removed(office, table):
    before = office.get(NIGHTLY)
    assert before.json == dict.fromkeys(("at", "time_zone", "run", "next_at", "last"))
    wish = {"price_table": {"stored": table}}
    body = {"at": "02:00", "time_zone": "America/Denver", "run": wish}
    assert office.put(NIGHTLY, json=body).status_code == 428
    seen = {"If-Match": before.headers["ETag"]}
    made = office.put(NIGHTLY, json=body, headers=seen)
    assert made.status_code == 200, made.json
    assert (made.json["at"], made.json["run"]) == ("02:00", wish)
    assert made.json["next_at"].endswith(("08:00:00+00:00", "09:00:00+00:00"))
    assert made.json["last"] is None
    assert office.put(NIGHTLY, json=body, headers=seen).status_code == 412
    seen = {"If-Match": made.headers["ETag"]}
    assert office.delete(NIGHTLY, headers=seen).status_code == 204
    assert office.get(NIGHTLY).json["at"] is None


def test_the_last_attempt_of_a_nightly_run_is_shown(shop, office, table):
    wish = {"price_table": {"stored": table}}
    body = {"at": "02:00", "time_zone": "America/Denver", "run": wish}
    made = office.put(NIGHTLY, json=body, headers={"If-Match": "*"})
    begins = datetime.fromisoformat(made.json["next_at"])
    engine = shop.extensions["evenbay"].engine
    assert Nights(engine, read_nightly, now=lambda: begins).begin_due() == 1
    shown = office.get(NIGHTLY)
    last = shown.json["last"]
    assert (last["on"], last["problem"]) == (begins.date().isoformat(), "")
    assert datetime.fromisoformat(last["at"]) == begins
    assert office.get(f"{RUNS}/{last['run']}").json["prices"]["name"] == table
    assert shown.headers["ETag"] == made.headers["ETag"]

    def gone(*_asked):
        raise UnknownReference("It is gone.", advice="Keep another.")

    later = begins + timedelta(days=1)
    assert Nights(engine, gone, now=lambda: later).begin_due() == 0
    last = office.get(NIGHTLY).json["last"]
    assert (last["run"], last["problem"]) == (None, "It is gone. Keep another.")
    event = office.get("/v1/events").json["events"][-1]
    assert (event["type"], event["data"]["href"]) == ("evenbay.nightly_run.failed", NIGHTLY)
    assert office.delete(NIGHTLY, headers={"If-Match": "*"}).status_code == 204
    assert office.get(NIGHTLY).json["last"] is None


@pytest.mark.parametrize(
    ("wrong", "where"),
    [
        ({"at": "24:00"}, "#/at"),
        ({"time_zone": "Mars/Olympus"}, "#/time_zone"),
        ({"run": {"price_table": {"stored": "Nowhere"}}}, "#/run/price_table/stored"),
        ({"run": {"price_table": {"stored": "Yard"}, "on": "2026-01-01"}}, "#/run/on"),
    ],
)
def test_a_nightly_run_that_could_not_begin_is_refused(office, table, wrong, where):
    body = {"at": "02:00", "time_zone": "UTC", "run": {"price_table": {"stored": table}}, **wrong}
    refused = office.put(NIGHTLY, json=body, headers={"If-Match": "*"})
    assert refused.status_code == 422, refused.json
    assert [one["pointer"] for one in refused.json["errors"]] == [where]
