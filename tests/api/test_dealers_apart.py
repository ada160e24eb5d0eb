"""Dealers do not see each other: every route is tried with the key of another one."""

import ast
import re
from pathlib import Path

import orjson
import pytest

from service.adapters.storage.tables import metadata
from service.api.lines import NDJSON
from service.usecases.callers import Scope
from tests.api.replay import request_bytes
from tests.integration.databases import served
from tests.serving import client_of, key_for

STORAGE = Path(__file__).parents[2] / "service" / "adapters" / "storage"
BEGINS = {"select", "insert", "update", "delete", "text", "exists", "union", "union_all"}
# Books is where statements begin; the others read across dealers, because a key tells which one
# calls, a browser that asks for a page shows no key, and a deliverer asks whose turn it is.
# ``readiness.py`` asks whether the database serves, and reads no row.
MAY_BEGIN = {"books.py", "keys.py", "page_origins.py", "readiness.py", "rounds.py"}
# What a caller may hold of what another dealer keeps: ids and names.
STEPS = {"accept": {}, "decline": {}, "cut": {"store_remnants": True}}


KEPT_TO_QUOTE_BY = {
    "system_id": "/v1/systems",
    "rules_id": "/v1/pricing-rules",
    "set_id": "/v1/amendments",
    "table_id": "/v1/price-tables",
}


@pytest.fixture(scope="module")
def apart(tmp_path_factory):
    with served(tmp_path_factory.mktemp("apart")) as app:
        yield app


@pytest.fixture(scope="module")
def two(apart):
    """A client of each of two dealers, and what the first keeps."""
    app = apart
    mine = client_of(app, key_for(app, "Larkmere Deck & Rail"))
    theirs = client_of(app, key_for(app, "Osprey Railing"))
    kept = {}
    for kind in ("quote", "offcut"):
        answer = mine.post(f"/v1/{kind}s", data=request_bytes(kind), content_type=JSON)
        assert answer.status_code == 201, answer.data
        kept[f"{kind}_id"] = answer.json["id"]
    key = mine.post("/v1/keys", json={"label": "CRM", "scopes": ["quotes:read"]})
    kept["key_id"] = key.json["id"]
    for name, path in KEPT_TO_QUOTE_BY.items():
        shown = body_of(described_at(app, "post", path))
        answer = mine.post(path, json=shown)
        assert answer.status_code == 201, answer.data
        kept[name] = answer.json["id"]
    hook = mine.post("/v1/webhooks", json={"url": "https://crm.example/hooks"})
    kept["webhook_id"] = hook.json["id"]
    prices = {"stored": kept["table_id"], "version": 1}
    run = mine.post("/v1/repricing-runs", json={"price_table": prices})
    kept["run_id"] = run.json["id"]
    kept["event_id"] = mine.get("/v1/events").json["events"][0]["id"]
    return app, mine, theirs, kept


JSON = "application/json"


def operations(app):
    """Every operation of the document: method, path, its description."""
    document = app.test_client().get("/v1/openapi.json").json
    return [
        (method, path, described)
        for path, methods in document["paths"].items()
        for method, described in methods.items()
        if method != "parameters"
    ]


def described_at(app, method, path):
    return app.test_client().get("/v1/openapi.json").json["paths"][path][method]


def nowhere(path):
    """Put an id that nothing has in the place of each that an address takes."""
    path = path.replace("{version}", "1")
    return re.sub(r"\{\w+_id\}", "00000000-0000-4000-8000-000000000000", path)


def body_of(described):
    content = described.get("requestBody", {}).get("content", {}).get(JSON)
    if content is None:
        return None
    return next(iter(content["examples"].values()))["value"]


def test_every_address_of_what_one_dealer_keeps_is_unknown_to_the_other(two):
    app, _, theirs, kept = two
    tried = []
    for method, path, described in operations(app):
        if "{" not in path or not described["security"]:
            continue
        for name, value in kept.items():
            path = path.replace(f"{{{name}}}", value)
        path = path.replace("{version}", "1")
        assert "{" not in path, f"keep something for {path}, so that this test can try it"
        answer = theirs.open(path, method=method.upper(), json=body_of(described))
        assert (answer.status_code, path) == (404, path)
        tried.append((method, path))
    assert len(tried) >= 8


def test_what_is_listed_and_counted_is_the_dealers_own(two):
    app, mine, theirs, kept = two
    listed = 0
    for method, path, described in operations(app):
        asks = any(parameter.get("required") for parameter in described.get("parameters", ()))
        if method != "get" or "{" in path or not described["security"] or asks:
            continue  # what asks for more keeps nothing; tests/api/test_estimates_by_address.py
        of_mine, of_theirs = mine.get(path), theirs.get(path)
        assert (of_mine.status_code, of_theirs.status_code) == (200, 200), path
        for value in kept.values():
            assert value.encode() not in of_theirs.data, path
            listed += value.encode() in of_mine.data
    assert listed >= 1


def test_a_body_that_names_what_another_dealer_keeps_finds_nothing(two):
    _, _, theirs, kept = two
    day = {"jobs": [{"quote": kept["quote_id"]}]}
    named = orjson.loads(request_bytes("cut-plan"))
    day = {**named, "quotes": [kept["quote_id"]]} if "quotes" in named else day
    answer = theirs.post("/v1/cut-plans", json=day)
    assert answer.status_code in (404, 422)
    assert b"Osprey Lane" not in answer.data
    order = orjson.loads(request_bytes("takeoff")) | {"use_offcuts": True}
    answer = theirs.post("/v1/takeoffs", json=order)
    assert (answer.status_code, answer.json["offcuts"]) == (200, [])


def test_a_line_among_many_that_names_what_another_dealer_keeps_finds_nothing(two):
    _, mine, theirs, kept = two
    for name in ("price_table", "system"):
        table = kept[f"{name.removeprefix('price_')}_id"]
        line = orjson.dumps(
            orjson.loads(request_bytes("quote")) | {name: {"stored": table, "version": 1}}
        )
        found, nothing = (
            orjson.loads(who.post("/v1/quotes/bulk", data=line, content_type=NDJSON).data)
            for who in (mine, theirs)
        )
        assert found.get("problem", {}).get("type") != "/problems/unknown-reference"
        assert (nothing["status"], nothing["problem"]["type"]) == (
            422,
            "/problems/unknown-reference",
        )
    first = mine.post("/v1/quotes/bulk", data=request_bytes("quote").replace(b"\n", b""),
                      content_type=NDJSON)  # fmt: skip
    made = orjson.loads(first.data)["quote"]["id"]
    assert mine.get(f"/v1/quotes/{made}").status_code == 200
    assert theirs.get(f"/v1/quotes/{made}").status_code == 404


def test_no_route_of_a_dealer_answers_without_a_key_or_with_a_wrong_one(two):
    app, *_ = two
    nobody = app.test_client()
    right = key_for(app)
    wrong = ["", "Bearer", "Bearer ", f"Basic {right}", f"Bearer {right}x", f"Bearer {right[:-1]}"]
    wrong += ["Bearer evb_aaaaaaaa_" + "A" * 43, "Bearer é", "Bearer " + "x" * 5000]
    for method, path, described in operations(app):
        if not described["security"]:
            continue
        path = nowhere(path)
        for header in wrong:
            headers = {"Authorization": header} if header else {}
            answer = nobody.open(path, method=method.upper(), headers=headers)
            assert (answer.status_code, path) == (401, path)
            # RFC 6750, section 3.1: no error is named to one who showed nothing.
            shown = header.startswith("Bearer ") and bool(header.removeprefix("Bearer ").strip())
            named = ', error="invalid_token"' if shown else ""
            assert answer.headers["WWW-Authenticate"] == f'Bearer realm="evenbay"{named}'
            assert answer.json["type"] == "/problems/unauthenticated"


def test_a_key_does_what_its_scopes_say_and_nothing_else(two):
    app, *_ = two
    for method, path, described in operations(app):
        if not described["security"]:
            continue
        (needed,) = described["security"][0]["key"]
        others = [scope for scope in Scope if scope.value != needed]
        path = nowhere(path)
        without = client_of(app, key_for(app, scopes=others))
        answer = without.open(path, method=method.upper(), json=body_of(described))
        assert (answer.status_code, path) == (403, path)
        assert answer.headers["WWW-Authenticate"] == (
            f'Bearer realm="evenbay", error="insufficient_scope", scope="{needed}"'
        )
        having = client_of(app, key_for(app, scopes=[Scope(needed)]))
        answer = having.open(path, method=method.upper(), json=body_of(described))
        # A key that is asked for more than it has itself refuses that in other words.
        assert answer.status_code != 401, path
        assert b"does not have the scope" not in answer.data, path


def test_every_table_of_a_dealer_begins_its_key_with_the_dealer():
    across = {"dealers", "keys"}
    # A run writes them by the million; ``test_runs.py`` holds their rows to what they belong to.
    of_runs = {"quotes", "quote_lives", "quote_orders", "events", "repricings"}
    for table in metadata.sorted_tables:
        if table.name not in across:
            assert next(iter(table.primary_key.columns)).name == "dealer", table.name
        for key in table.foreign_key_constraints:
            if key.referred_table.name not in across:
                assert key.column_keys[0] == "dealer", table.name
        assert table.name in across | of_runs or leads_to_dealers(table), table.name


def leads_to_dealers(table):
    """Whether a foreign key of the dealer leads to the dealers, be it by another table."""
    return any(
        key.referred_table.name in ("dealers", "quotes", "events")
        or leads_to_dealers(key.referred_table)
        for key in table.foreign_key_constraints
        if key.column_keys[0] == "dealer"
    )


def test_statements_are_begun_in_one_place():
    found = []
    for path in sorted(STORAGE.glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = []
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("sqlalchemy"):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.Attribute) and node.attr in BEGINS:
                owner = node.value
                begun_in_books = ast.unparse(owner) in ("self._books", "self.books", "books")
                names = [] if begun_in_books else [node.attr]
            found += [(path.name, name) for name in names if name in BEGINS]
    assert {name for name, _ in found} <= MAY_BEGIN, found
    assert ("books.py", "select") in found
