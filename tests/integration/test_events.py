"""Events from the change that makes them to the endpoint that takes them, on both databases."""

import os
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import orjson
import pytest
from cloudevents.core.formats.json import JSONFormat
from cloudevents.core.v1.event import CloudEvent
from sqlalchemy import event as hooks
from sqlalchemy import select, update
from standardwebhooks import Webhook, WebhookVerificationError

from service.adapters.storage.deliveries import SqlRound
from service.adapters.storage.events import SqlEvents
from service.adapters.storage.tables import deliveries, events, quote_lives
from service.usecases.patience import MOST_ATTEMPTS
from tests.event_world import NETWORKS, event_world, types
from tests.integration.databases import BOTH
from tests.serving import books_of, client_of


@pytest.fixture(params=BOTH)
def world(request, tmp_path):
    with event_world(request.param, tmp_path) as world:
        yield world


def test_an_event_arrives_signed_and_is_a_cloud_event(world):
    hook = world.listen()
    quote = world.quote()
    assert world.deliverer.once() == 1
    ((path, headers, body),) = world.told.got
    assert path == "/hook"
    assert headers["Content-Type"] == "application/cloudevents+json; charset=utf-8"
    Webhook(hook["secret"]).verify(body, headers)
    with pytest.raises(WebhookVerificationError):
        Webhook(hook["secret"]).verify(body.replace(b"issued", b"cut"), headers)
    read = JSONFormat().read(CloudEvent, body)
    assert (read.get_type(), read.get_subject()) == ("evenbay.quote.issued", quote)
    assert read.get_id() == headers["webhook-id"]
    assert read.get_data()["href"] == f"/v1/quotes/{quote}"
    assert world.fed() == [orjson.loads(body)]
    (sent,) = world.sent(hook)
    assert (sent["state"], sent["attempts"], sent["last_status"]) == ("delivered", 1, 200)
    assert world.deliverer.once() == 0


def test_an_endpoint_is_sent_what_it_asked_for_from_then_on(world):
    before = world.quote()
    world.listen(types=["evenbay.quote.declined"])
    world.step(before, "decline")
    world.deliverer.once()
    assert types(world.told) == ["quote.declined"]


def test_very_many_events_get_their_places_by_and_by_and_each_once(world, monkeypatch):
    monkeypatch.setattr("service.adapters.storage.events._AT_ONCE", 3)
    hook = world.listen(types=["evenbay.quote.issued", "evenbay.quote.declined"])
    made = [world.quote() for _ in range(4)]
    for quote in made:
        world.step(quote, "decline")
    fed = [len(world.fed()) for _ in range(4)]
    assert fed == [3, 6, 8, 8], "who goes on asking gets all"
    entered = [(one["subject"], one["type"].rpartition(".")[2]) for one in world.fed()]
    assert entered == [(q, s) for s in ("issued", "declined") for q in made]
    late = world.quote()
    while SqlEvents(books_of(world.engine)).place():
        pass
    assert world.fed()[-1]["subject"] == late
    with world.engine.connect() as connection:
        positions = connection.execute(select(events.c.position)).scalars().all()
        assert sorted(positions) == list(range(1, 10))
    assert len(world.sent(hook, "?state=waiting")) == 9
    assert world.deliverer.once() == 9


def test_what_fails_is_sent_again_later_with_the_same_id(world):
    hook = world.listen()
    world.quote()
    world.told.answers = [500, 302, 503]
    waits = []
    for _ in range(4):
        assert world.deliverer.once() == 1
        assert world.deliverer.once() == 0
        (sent,) = world.sent(hook)
        if sent["state"] == "waiting":
            waits.append(datetime.fromisoformat(sent["next_at"]) - world.now())
            world.late += waits[-1] + timedelta(seconds=1)
    assert (sent["state"], sent["attempts"]) == ("delivered", 4)
    assert len(set(world.told.ids())) == 1
    assert [round(wait.total_seconds() / 5) for wait in waits] == [1, 4, 16]
    assert {path for path, _, _ in world.told.got} == {"/hook"}, "no redirect is followed"


def test_what_is_never_taken_is_a_dead_letter_and_can_be_replayed(world):
    hook = world.listen()
    quote = world.quote()
    world.told.answers = [500] * MOST_ATTEMPTS
    for _ in range(MOST_ATTEMPTS):
        world.deliverer.once()
        world.late += timedelta(hours=13)
    assert len(world.told.got) == MOST_ATTEMPTS
    assert world.sent(hook, "?state=waiting") == []
    (dead,) = world.sent(hook, "?state=dead")
    assert (dead["subject"], dead["last_error"]) == (quote, "It answered 500.")
    again = world.client.post(f"/v1/events/{dead['event']}/replay")
    assert (again.status_code, again.json) == (202, {"endpoints": 1})
    assert world.deliverer.once() == 1
    assert set(world.told.ids()) == {dead["event"]}
    assert world.sent(hook, "?state=dead") == []


def test_of_one_quote_the_later_event_waits_and_other_quotes_do_not(world):
    hook = world.listen()
    first, second = world.quote(), world.quote()
    world.step(first, "accept")
    world.step(first, "cut")
    # By time alone the three of the first quote would go together.
    world.told.answers = [500, 500]
    world.deliverer.once()
    subjects = Counter(orjson.loads(body)["subject"] for _, _, body in world.told.got)
    assert subjects == {first: 1, second: 1}
    world.late += timedelta(seconds=6)
    while world.deliverer.once():
        pass
    mine = [orjson.loads(body) for _, _, body in world.told.got]
    order = [one["type"].rpartition(".")[2] for one in mine if one["subject"] == first]
    assert order == ["issued", "issued", "accepted", "cut"]
    assert {one["state"] for one in world.sent(hook)} == {"delivered"}


def test_an_endpoint_that_is_gone_is_sent_nothing_more(world):
    hook = world.listen()
    world.quote()
    world.told.answers = [410]
    world.deliverer.once()
    world.quote()
    world.late += timedelta(days=3)
    assert world.deliverer.once() == 0
    read = world.client.get(f"/v1/webhooks/{hook['id']}").json
    assert read["disabled_at"] is not None
    assert [one["state"] for one in world.sent(hook)] == ["dead"]
    assert world.client.post(f"/v1/webhooks/{hook['id']}/enable").json["disabled_at"] is None
    world.quote()
    assert world.deliverer.once() >= 1


def test_both_secrets_sign_while_they_change_over(world):
    hook = world.listen()
    new = world.client.post(f"/v1/webhooks/{hook['id']}/rotate", json={"hours": 1}).json["secret"]
    world.quote()
    world.deliverer.once()
    _, headers, body = world.told.got[-1]
    for secret in (hook["secret"], new):
        Webhook(secret).verify(body, headers)
    world.late += timedelta(hours=1, seconds=1)
    world.quote()
    world.deliverer.once()
    _, headers, body = world.told.got[-1]
    assert len(headers["webhook-signature"].split()) == 1
    # The verifier takes no time to come; the signature is of the body, id and time as sent.
    headers = {**headers}
    signed = Webhook(new).sign(
        msg_id=headers["webhook-id"],
        timestamp=datetime.fromtimestamp(int(headers["webhook-timestamp"]), UTC),
        data=body.decode(),
    )
    assert headers["webhook-signature"] == signed


def test_a_verifier_refuses_what_was_changed_is_old_or_of_another_secret(world):
    # Source of the verifier: the library "standardwebhooks"; it bears five minutes either way.
    hook, other = world.listen(types=["evenbay.quote.issued"]), world.listen()
    url = f"/v1/webhooks/{hook['id']}/rotate"
    new = world.client.post(url, json={"hours": 0}).json["secret"]
    world.client.delete(f"/v1/webhooks/{other['id']}")
    world.quote()
    world.deliverer.once()
    _, headers, body = world.told.got[-1]
    assert Webhook(new).verify(body, headers)["type"] == "evenbay.quote.issued"
    changed = [
        (new, headers | {"webhook-id": other["id"]}, body),
        (new, headers | {"webhook-timestamp": str(int(headers["webhook-timestamp"]) + 1)}, body),
        (new, headers, body + b" "),
        (hook["secret"], headers, body),  # its hours are over
        (other["secret"], headers, body),
    ]
    world.late -= timedelta(minutes=6)
    world.tell("sent long ago")
    world.deliverer.once()
    _, old_headers, old_body = world.told.got[-1]
    assert orjson.loads(old_body)["subject"] == "sent long ago"
    for secret, said, sent in [*changed, (new, old_headers, old_body)]:
        with pytest.raises(WebhookVerificationError):
            Webhook(secret).verify(sent, said)


def test_an_event_is_kept_if_and_only_if_its_change_is(world):
    quote = world.quote()
    had = world.fed()

    def fail(_connection, _cursor, statement, *_):
        if statement.startswith("INSERT INTO events"):
            raise RuntimeError("the power goes")

    hooks.listen(world.engine, "after_cursor_execute", fail)
    refused = world.client.post(f"/v1/quotes/{quote}/accept", json={})
    hooks.remove(world.engine, "after_cursor_execute", fail)
    assert refused.status_code == 500
    assert world.client.get(f"/v1/quotes/{quote}/state").json["state"] == "issued"
    assert world.fed() == had
    world.step(quote, "accept")
    assert len(world.fed()) == len(had) + 1


def test_a_quote_expires_once(world):
    world.listen()
    quotes = [world.quote() for _ in range(3)]
    world.step(quotes[1], "decline")
    with world.engine.begin() as connection:
        connection.execute(update(quote_lives).values(valid_until=date(2020, 1, 1)))
    for _ in range(2):
        world.deliverer.once()
    expired = [one for one in world.fed() if one["type"] == "evenbay.quote.expired"]
    assert {one["subject"] for one in expired} == {quotes[0], quotes[2]}
    assert len(expired) == 2
    assert types(world.told).count("quote.expired") == 2


def test_who_polls_misses_nothing_and_sees_nothing_twice(world):
    def poll():
        seen, address = [], "/v1/events?limit=2"
        while len(seen) < 15 and time.monotonic() < until:
            page = client_of(world.app).get(address).json
            seen += [one["id"] for one in page["events"]]
            address = f"/v1/events?limit=2&cursor={page['next']}"
        return seen

    until = time.monotonic() + 60
    with_threads = [threading.Thread(target=lambda: [world.quote() for _ in range(5)])] * 1
    with_threads += [threading.Thread(target=lambda: [world.quote() for _ in range(5)])]
    with_threads += [threading.Thread(target=lambda: [world.quote() for _ in range(5)])]
    for thread in with_threads:
        thread.start()
    seen = poll()
    for thread in with_threads:
        thread.join()
    with world.engine.connect() as connection:
        kept = set(connection.execute(select(events.c.id)).scalars())
    assert len(seen) == len(set(seen)) == 15
    assert set(seen) == kept


def test_a_change_that_is_kept_late_is_placed_after_those_that_were_seen(world):
    if world.engine.dialect.name == "sqlite":
        pytest.skip("SQLite lets one write at a time")
    books = books_of(world.engine)
    store = SqlEvents(books)
    with books.writing() as slow:
        books.note(slow, world.now(), "quote.issued", "slow")
        with books.writing() as quick:
            books.note(quick, world.now(), "quote.issued", "quick")
        ((position, seen),) = store.page(0, 10)
    ((later, missed),) = store.page(position, 10)
    assert [orjson.loads(body)["subject"] for body in (seen, missed)] == ["quick", "slow"]
    assert later > position


def test_several_deliverers_share_and_send_each_event_once(world):
    hook = world.listen()
    books = books_of(world.engine)
    with books.writing() as connection:
        for number in range(60):
            books.note(connection, world.now(), "quote.issued", f"subject {number}")
    others = [replace(world.deliverer, _running={}) for _ in range(3)]
    threads = [threading.Thread(target=one.once) for one in others]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    world.deliverer.once()
    assert len(world.told.ids()) == len(set(world.told.ids())) == 60
    assert {one["state"] for one in world.sent(hook, "?limit=100")} == {"delivered"}


def test_a_claim_that_ran_out_is_taken_by_another_and_its_late_note_is_ignored(world):
    hook = world.listen()
    world.quote()
    books = books_of(world.engine)
    SqlEvents(books).place()
    rounds, lease = SqlRound(books), timedelta(seconds=60)
    (first,) = rounds.claim(hook["id"], world.now(), lease, 5)
    assert rounds.claim(hook["id"], world.now(), lease, 5) == []
    world.late += timedelta(seconds=61)
    (second,) = rounds.claim(hook["id"], world.now(), lease, 5)
    assert (second.event_id, second.attempts) == (first.event_id, 2)
    failed = world.deliverer.postman.post("http://127.0.0.1:1/", {}, b"")
    rounds.note(first, failed, world.now(), None)
    assert [one["state"] for one in world.sent(hook)] == ["waiting"]


def test_a_deliverer_that_is_killed_between_sending_and_noting_sends_again(world):
    hook = world.listen()
    world.quote()
    world.told.hold = 5  # it is killed while the receiver has the event and has not answered
    url = world.engine.url.render_as_string(hide_password=False)
    environ = os.environ | {"EVENBAY_DATABASE_URL": url, "EVENBAY_LOG_LEVEL": "ERROR"}
    environ["EVENBAY_WEBHOOK_NETWORKS"] = ",".join(NETWORKS)
    command = [sys.executable, "-m", "service", "deliver"]
    process = subprocess.Popen(command, env=environ)
    until = time.monotonic() + 30
    while not world.told.got and time.monotonic() < until:
        time.sleep(0.02)
    process.send_signal(signal.SIGKILL)
    process.wait()
    world.told.hold = 0
    assert [one["state"] for one in world.sent(hook)] == ["waiting"]
    assert world.deliverer.once() == 0, "its lease lasts"
    world.late += timedelta(seconds=61)
    assert world.deliverer.once() == 1
    assert len(world.told.got) == 2
    assert len(set(world.told.ids())) == 1
    assert [one["attempts"] for one in world.sent(hook)] == [2]


def test_prices_that_are_put_in_force_are_told(world):
    world.listen()
    rows = {"rows": [{"sku": "POST", "unit_price": "12.40", "unit_of_measure": "C62"}]}
    made = world.client.post("/v1/price-tables", json={"name": "Retail", "currency": "USD", **rows})
    assert made.status_code == 201, made.data
    here = f"/v1/price-tables/{made.json['id']}"
    put = world.client.post(f"{here}/versions/1/activate", json={"from": "2026-01-01"})
    assert put.status_code == 200, put.data
    world.deliverer.once()
    ((_, _, body),) = world.told.got
    told = orjson.loads(body)
    assert told["type"] == "evenbay.price_table.activated"
    assert (told["data"]["version"], told["data"]["active_from"]) == (1, "2026-01-01")
    assert world.client.get(told["data"]["href"]).status_code == 200


def test_an_endpoint_that_is_removed_takes_its_deliveries_along(world):
    hook = world.listen()
    world.quote()
    SqlEvents(books_of(world.engine)).place()
    assert world.client.delete(f"/v1/webhooks/{hook['id']}").status_code == 204
    assert world.deliverer.once() == 0
    with world.engine.connect() as connection:
        assert connection.execute(select(deliveries)).all() == []


def test_a_ping_goes_to_the_endpoint_it_was_asked_for_alone(world):
    asked, other = world.listen(), world.listen()
    event = world.client.post(f"/v1/webhooks/{asked['id']}/ping")
    assert event.status_code == 202
    world.deliverer.once()
    assert world.told.ids() == [event.json["event"]]
    assert [one["type"] for one in world.sent(asked)] == ["evenbay.webhook.ping"]
    assert world.sent(other) == []
