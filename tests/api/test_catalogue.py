"""What a dealer keeps to quote by, over HTTP: kept, listed, changed under a condition, compared."""

import pytest

from service.usecases.callers import Scope
from tests.integration.databases import served
from tests.serving import client_of, key_for

ROW = {"sku": "POST", "unit_price": "12.40", "unit_of_measure": "C62"}
COSTLY = ROW | {"cost": "7.15"}
CATALOGUE = (Scope.CATALOGUE_READ, Scope.CATALOGUE_WRITE)


@pytest.fixture
def shop(tmp_path):
    with served(tmp_path) as app:
        yield app


@pytest.fixture
def office(shop):
    """May see costs."""
    return client_of(shop, key_for(shop))


@pytest.fixture
def clerk(shop):
    """May keep prices, and not see costs."""
    return client_of(shop, key_for(shop, scopes=CATALOGUE))


def table_of(client, *rows, name="Retail"):
    body = {"name": name, "currency": "USD", "rows": list(rows)}
    made = client.post("/v1/price-tables", json=body)
    assert made.status_code == 201, made.json
    return made


def further(client, made, *rows, **more):
    here = made.json["links"]["self"]
    seen = {"If-Match": client.get(here).headers["ETag"], **more.pop("headers", {})}
    return client.post(
        f"{here}/versions", json={"currency": "USD", "rows": list(rows)} | more, headers=seen
    )


def documents(order):
    heights = {"clause": "guard.height.level", "source": "Notice 3"}
    tall = heights | {"limit": {"value": "42", "unit": "in"}}
    taller = heights | {"limit": {"value": "48", "unit": "in"}}
    code = {"code": "IRC", "edition": "2021"}
    return {
        "/v1/systems": (
            {"system": order["system"]},
            {"system": order["system"] | {"name": "Another"}},
        ),
        "/v1/pricing-rules": ({"pricing": order["pricing"]}, {"pricing": {}}),
        "/v1/amendments": (code | {"amendments": [tall]}, code | {"amendments": [taller]}),
    }


@pytest.mark.parametrize("address", ["/v1/systems", "/v1/pricing-rules", "/v1/amendments"])
def test_documents_are_kept_in_versions(office, order, address):
    one, other = documents(order)[address]
    made = office.post(address, json={"name": "Ours", **one, "note": "first"})
    assert made.status_code == 201, made.json
    here = made.json["links"]["self"]
    assert made.headers["Location"] == f"{here}?version=1"
    read = office.get(here)
    assert (read.json, read.headers["ETag"]) == (made.json, made.headers["ETag"])
    assert {key: read.json[key] for key in one} == one
    seen = {"If-Match": read.headers["ETag"]}
    same = office.post(f"{here}/versions", json=one, headers=seen)
    assert (same.status_code, same.json["latest"]) == (200, 1)
    second = office.post(f"{here}/versions", json=other, headers=seen)
    assert (second.status_code, second.json["version"]["version"]) == (201, 2)
    stale = office.post(f"{here}/versions", json=one, headers=seen)
    assert (stale.status_code, stale.json["type"]) == (412, "/problems/stale-state")
    unseen = office.post(f"{here}/versions", json=one)
    assert (unseen.status_code, unseen.json["type"]) == (428, "/problems/condition-missing")
    assert "ETag" in unseen.json["advice"]
    listed = office.get(f"{here}/versions?limit=1")
    assert [one["version"] for one in listed.json["versions"]] == [2]
    following = listed.headers["Link"].partition(";")[0].strip("<>")
    (last,) = office.get(following).json["versions"]
    assert (last["version"], last["note"]) == (1, "first")
    assert {key: office.get(f"{here}?version=1").json[key] for key in one} == one
    assert office.get(f"{here}?version=3").status_code == 404
    assert office.get(f"{here}?version=0").status_code == 422
    taken = office.post(address, json={"name": "Ours", **one})
    assert (taken.status_code, taken.json["type"]) == (409, "/problems/name-taken")


def test_lists_go_on_by_name(office):
    for name in ("C", "A", "B"):
        table_of(office, name=name)
    page = office.get("/v1/price-tables?limit=2")
    assert [one["name"] for one in page.json["price_tables"]] == ["A", "B"]
    rest = office.get(f"/v1/price-tables?limit=2&cursor={page.json['next']}")
    assert [one["name"] for one in rest.json["price_tables"]] == ["C"]
    assert rest.json["next"] is None
    assert office.get("/v1/price-tables?cursor=WzFd").status_code == 422
    assert office.get("/v1/price-tables?since=1").status_code == 422


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"amendments": [{"clause": "x", "delete": True, "source": "y"}]}, "#/amendments/0/clause"),
        ({"edition": "1066"}, "#/edition"),
        ({"place": "Wexholm"}, "#/place"),
        ({"default": True}, "#/default"),
    ],
)
def test_amendments_are_held_against_the_code_before_they_are_kept(office, order, change, pointer):
    whole = documents(order)["/v1/amendments"][0] | change
    answer = office.post("/v1/amendments", json={"name": "Ours", **whole})
    assert answer.status_code == 422
    assert answer.json["errors"][0]["pointer"] == pointer
    assert office.get("/v1/amendments").json["amendment_sets"] == []


def test_a_system_that_no_request_could_use_is_not_kept(office, order):
    wrong = order["system"] | {"guard_height": "tall"}
    answer = office.post("/v1/systems", json={"name": "Ours", "system": wrong})
    assert answer.status_code == 422
    assert answer.json["errors"][0]["pointer"] == "#/system/guard_height"


def test_a_quote_by_reference_stays_as_it_was(office, order):
    order["price_table"]["rows"] = [dict(row) for row in order["price_table"]["rows"]]
    table = table_of(office, *order["price_table"]["rows"])
    system = office.post("/v1/systems", json={"name": "Ours", "system": order["system"]})
    named = order | {"system": {"stored": "Ours"}, "price_table": {"stored": "Retail"}}
    early = office.post("/v1/quotes", json=named)
    assert (early.status_code, early.json["type"]) == (422, "/problems/unknown-reference")
    here = table.json["links"]["self"]
    put = office.post(f"{here}/versions/1/activate", json={"from": "2026-01-01"})
    assert (put.status_code, put.json["version"]["active_from"]) == (200, "2026-01-01")
    made = office.post("/v1/quotes", json=named)
    assert made.status_code == 201, made.json
    dearer = [row | {"unit_price": "999.00"} for row in order["price_table"]["rows"]]
    second = further(office, table, *dearer)
    assert second.status_code == 201
    office.post(f"{here}/versions/2/activate", json={"from": "2026-01-01"})
    again = office.post(f"/v1/quotes/{made.json['id']}/recompute")
    assert again.json["same"] is True
    assert office.post("/v1/quotes", json=named).json["totals"] != made.json["totals"]
    assert system.json["version"]["version"] == 1


def test_changes_are_told_in_words_and_numbers(office):
    table = table_of(office, COSTLY, ROW | {"sku": "CAP"})
    dearer = COSTLY | {"unit_price": "13.02", "cost": "8"}
    further(office, table, dearer, ROW | {"sku": "RAIL"})
    here = table.json["links"]["self"]
    found = office.get(f"{here}/versions/2/changes?since=1").json
    assert found == office.get(f"{here}/versions/2/changes").json
    assert [row["sku"] for row in found["added"] + found["removed"]] == ["RAIL", "CAP"]
    (change,) = found["changed"]
    assert change["members"] == ["unit_price", "cost"]
    assert change["unit_price_percent"] == "5"
    assert found["words"][0] == "RAIL is new."
    assert "unit_price from 12.4 to 13.02 (+5.00 %)" in found["words"][2]
    assert office.get(f"{here}/versions/1/changes").status_code == 422
    assert office.get(f"{here}/versions/2/changes?since=9").status_code == 404


def test_costs_are_for_those_who_may_see_them(office, clerk):
    table = table_of(office, COSTLY)
    further(office, table, COSTLY | {"cost": "9"})
    rows = f"{table.json['links']['self']}/versions/1/rows"
    assert office.get(rows).json["rows"][0]["cost"] == "7.15"
    assert clerk.get(rows).json["rows"][0]["cost"] is None
    found = clerk.get(f"{table.json['links']['self']}/versions/2/changes").json
    assert (found["changed"], found["words"]) == ([], [])


def test_costs_are_not_written_or_lost_by_those_who_do_not_see_them(office, clerk):
    wish = {"name": "Theirs", "currency": "USD", "rows": [COSTLY]}
    assert clerk.post("/v1/price-tables", json=wish).status_code == 403
    table = table_of(office, COSTLY)
    assert further(clerk, table, ROW).status_code == 403, "the costs would be gone"
    plain = table_of(clerk, ROW, name="Plain")
    assert further(clerk, plain, COSTLY).status_code == 403, "a guess at a cost is a look at it"
    assert further(clerk, plain, ROW | {"unit_price": "13"}).status_code == 201


def test_rows_come_in_pages(office):
    table = table_of(office, *(ROW | {"sku": f"P{n}"} for n in range(120)))
    rows, found = f"{table.json['links']['rows']}", []
    address = rows + "?limit=50"
    while address:
        page = office.get(address)
        found += [row["sku"] for row in page.json["rows"]]
        address = page.headers.get("Link", "").partition(";")[0].strip("<>")
    assert found == [f"P{n}" for n in range(120)]
    assert office.get(rows.replace("/1/", "/2/")).status_code == 404
    assert office.get(rows.replace("/1/", f"/{10**30}/")).status_code == 404


def test_a_version_is_put_in_force_by_who_has_seen_the_newest_state_if_that_is_asked(office):
    table = table_of(office, ROW)
    here = table.json["links"]["self"]
    body, stale = {"from": "2026-12-01"}, {"If-Match": table.headers["ETag"]}
    assert office.post(f"{here}/versions/1/activate", json=body, headers=stale).status_code == 200
    assert office.post(f"{here}/versions/1/activate", json=body, headers=stale).status_code == 412
    assert office.post(f"{here}/versions/2/activate", json=body).status_code == 404
    assert office.post(f"{here}/versions/1/activate", json={}).status_code == 422


def test_a_version_sent_again_under_its_key_is_kept_once(office):
    table = table_of(office, ROW)
    headers = {"Idempotency-Key": "spring"}
    seen = table.headers["ETag"]
    address = f"{table.json['links']['self']}/versions"
    body = {"currency": "USD", "rows": [ROW | {"unit_price": "13"}]}
    first, again = (
        office.post(address, json=body, headers={"If-Match": seen, **headers}) for _ in range(2)
    )
    assert (first.status_code, first.data) == (again.status_code, again.data)
    assert first.json["latest"] == 2


def test_markups_are_kept_by_those_who_may_see_costs(office, clerk):
    rules = {"name": "At cost", "pricing": {"price_from": "cost", "markups": [{"markup": "0"}]}}
    assert clerk.post("/v1/pricing-rules", json=rules).status_code == 403
    assert office.post("/v1/pricing-rules", json=rules).status_code == 201
    assert clerk.post("/v1/pricing-rules", json={"name": "Bare", "pricing": {}}).status_code == 201
