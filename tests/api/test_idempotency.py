"""A request that is sent again under its idempotency key does its work once."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta

import orjson
import pytest
from sqlalchemy import func, select

from service.adapters.storage.replays import KEPT
from service.adapters.storage.tables import audit, keys, quotes, replays
from service.api import quotes as quotes_module
from tests.api.replay import request_bytes
from tests.integration.databases import BOTH, url_of
from tests.serving import client_of, key_for, migrated_app


@pytest.fixture(params=BOTH, scope="module")
def app(request, tmp_path_factory):
    with url_of(request.param, tmp_path_factory.mktemp("once")) as url:
        app = migrated_app(url=url, lease_seconds=30)
        yield app
        app.extensions["evenbay"].engine.dispose()


@pytest.fixture
def client(app):
    """A client of a dealer of its own, so that keys of other tests do not matter."""
    client.number = getattr(client, "number", 0) + 1
    return client_of(app, key_for(app, f"dealer {client.number}"))


def post(client, body=None, key='"first"', path="/v1/quotes"):
    headers = {"Idempotency-Key": key} if key else {}
    body = request_bytes("quote") if body is None else body
    return client.post(path, data=body, content_type="application/json", headers=headers)


def count(app, table):
    with app.extensions["evenbay"].engine.connect() as connection:
        return connection.execute(select(func.count()).select_from(table)).scalar()


def test_the_same_request_gives_the_same_answer_and_one_quote(app, client):
    before = count(app, quotes)
    first, again, bare = post(client), post(client), post(client, key="first")
    assert first.status_code == again.status_code == bare.status_code == 201
    assert first.data == again.data == bare.data
    assert first.headers["Location"] == again.headers["Location"]
    assert count(app, quotes) == before + 1


def test_without_a_key_each_request_is_new(app, client):
    before = count(app, quotes)
    assert post(client, key="").data != post(client, key="").data
    assert count(app, quotes) == before + 2


def test_another_request_under_the_same_key_is_refused(client):
    post(client)
    other = post(client, orjson.dumps(orjson.loads(request_bytes("quote")) | {"reference": "B"}))
    assert (other.status_code, other.json["type"]) == (422, "/problems/key-used-otherwise")
    elsewhere = post(client, request_bytes("offcut"), path="/v1/offcuts")
    assert elsewhere.status_code == 422


def test_a_key_is_the_dealers_own(app, client):
    theirs = client_of(app, key_for(app, "Osprey Railing"))
    assert post(client).json["id"] != post(theirs).json["id"]


def test_a_refused_request_may_be_put_right_under_its_key(client):
    assert post(client, b"{}").status_code == 422
    assert post(client).status_code == 201


@pytest.mark.parametrize("key", ['""', '"a', "a b", "x" * 201, '"é"', ""])
def test_a_key_that_is_none_is_refused(client, key):
    headers = {"Idempotency-Key": key}
    answer = client.post("/v1/quotes", data=b"{}", content_type="application/json", headers=headers)
    assert answer.status_code == 400
    assert "visible characters" in answer.json["detail"]


def test_the_bound_on_a_body_holds_under_a_key_too(client):
    answer = post(client, request_bytes("quote") + b" " * 1_100_000)
    assert answer.status_code == 413


def test_a_step_of_a_quote_is_taken_once(client):
    made = post(client, key="").json
    path = f"/v1/quotes/{made['id']}/accept"
    first, again = (client.post(path, headers={"Idempotency-Key": "a"}) for _ in range(2))
    assert (first.status_code, first.data) == (200, again.data)
    assert first.headers["ETag"] == again.headers["ETag"]


def test_of_many_at_once_one_does_the_work(app, client):
    before = count(app, quotes)
    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda _: post(client), range(8)))
    made = {answer.data for answer in answers if answer.status_code == 201}
    assert len(made) == 1
    assert {answer.status_code for answer in answers} <= {201, 409}
    assert {a.json["type"] for a in answers if a.status_code == 409} <= {"/problems/still-at-work"}
    assert count(app, quotes) == before + 1


class Killed(BaseException):
    """Stands for the death of the process: nothing that tidies up gets to run."""


def test_work_that_dies_before_its_answer_is_kept_leaves_nothing_and_can_be_done_again(
    app, client, monkeypatch
):
    """The claim stays behind, as after a kill; once it has run out another one takes it over."""
    from service.adapters.storage.replays import SqlReplays

    before, here = count(app, quotes), app.extensions["evenbay"]

    def die(*_arguments):
        raise Killed

    with monkeypatch.context() as dying:
        dying.setattr(SqlReplays, "keep", die)
        dying.setattr(SqlReplays, "drop", lambda *_: None)
        with pytest.raises(Killed):
            post(client)
    assert count(app, quotes) == before
    waiting = post(client)
    assert (waiting.status_code, waiting.json["type"]) == (409, "/problems/still-at-work")
    assert int(waiting.headers["Retry-After"]) >= 1
    later = replace(here, now=lambda: here.now() + timedelta(seconds=31))
    monkeypatch.setitem(app.extensions, "evenbay", later)
    assert post(client).status_code == 201
    assert count(app, quotes) == before + 1


def test_one_that_was_overtaken_keeps_nothing(app, client, monkeypatch):
    """A slow first request ends after its claim was taken over: only the second one counts."""
    before, here = count(app, quotes), app.extensions["evenbay"]
    right, second = quotes_module.quote_railing, []

    def slow(*arguments, **named):
        monkeypatch.setattr(quotes_module, "quote_railing", right)
        later = replace(here, now=lambda: here.now() + timedelta(seconds=31))
        with monkeypatch.context() as after:
            after.setitem(app.extensions, "evenbay", later)
            second.append(post(client))
        return right(*arguments, **named)

    monkeypatch.setattr(quotes_module, "quote_railing", slow)
    first = post(client)
    assert (first.status_code, second[0].status_code) == (409, 201)
    assert post(client).data == second[0].data
    assert count(app, quotes) == before + 1


def test_answers_are_forgotten_after_a_day(app, client, monkeypatch):
    here = app.extensions["evenbay"]
    first = post(client)
    held = count(app, replays)
    later = replace(here, now=lambda: here.now() + KEPT + timedelta(seconds=1))
    monkeypatch.setitem(app.extensions, "evenbay", later)
    assert post(client).data != first.data
    assert count(app, replays) == held


KEY = {"label": "CRM", "scopes": ["quotes:read"]}
HOOK = {"url": "https://crm.example/hooks"}
MADE = {"key": ("/v1/keys", KEY, "key"), "webhook": ("/v1/webhooks", HOOK, "secret")}


def everything_kept(app):
    """Give all that the database holds, as text."""
    with app.extensions["evenbay"].engine.connect() as connection:
        found = [
            str(tuple(bytes(one) if isinstance(one, memoryview) else one for one in row))
            for table in (replays, audit, keys)
            for row in connection.execute(select(table))
        ]
    assert found
    return "\n".join(found)


@pytest.mark.parametrize("kind", MADE)
def test_what_is_made_with_a_secret_is_made_once_and_its_secret_told_once(app, client, kind):
    address, wish, member = MADE[kind]
    first, again = (post(client, orjson.dumps(wish), path=address) for _ in range(2))
    assert first.status_code == again.status_code == 201
    assert first.headers["Location"] == again.headers["Location"]
    assert len(client.get(address).json[f"{kind}s"]) == (2 if kind == "key" else 1)
    secret = first.json[member]
    assert again.json[member] is None
    assert secret.rpartition("_")[2] not in everything_kept(app)
    told = again.json["advice"]
    assert first.json["advice"] is None
    assert "rotate" in told
    rest = (member, "advice")
    assert {**first.json, **dict.fromkeys(rest)} == {**again.json, **dict.fromkeys(rest)}


@pytest.mark.parametrize("kind", MADE)
def test_a_secret_that_was_lost_on_the_way_is_replaced(app, client, kind):
    address, wish, member = MADE[kind]
    post(client, orjson.dumps(wish), path=address)  # and the answer does not arrive
    made = post(client, orjson.dumps(wish), path=address)
    rotate = f"{made.headers['Location']}/rotate"
    first, again = (post(client, b'{"hours": 0}', key="other", path=rotate) for _ in range(2))
    assert first.status_code == again.status_code == (201 if kind == "key" else 200)
    assert first.json[member]
    assert again.json[member] is None
    assert first.json["id"] == again.json["id"]
    if kind == "key":
        assert client_of(app, first.json["key"]).get("/v1/quotes").status_code == 200


KEEPING_NOTHING = {
    "checkCode", "comparePrices", "createEstimate", "createLayout", "planShopDay",
    "priceTakeoffSheet", "recomputeQuote", "takeOff",
}  # fmt: skip


def test_every_post_that_stores_takes_a_key(client):
    paths = client.get("/v1/openapi.json").json["paths"]
    without = {
        methods["post"]["operationId"]
        for methods in paths.values()
        if "post" in methods
        and "Idempotency-Key" not in {one["name"] for one in methods["post"].get("parameters", ())}
    }
    assert without == KEEPING_NOTHING
