"""Very many events, and endpoints that are slow, down, or ask to be left alone."""

import threading
import time
from datetime import datetime, timedelta

import pytest
from sqlalchemy import event as hooks

from service.adapters.storage.deliveries import SqlRound
from service.adapters.storage.events import SqlEvents
from service.adapters.storage.rounds import dealers_with_news, webhooks_due
from service.adapters.storage.webhooks import SqlWebhooks
from service.adapters.webhooks import deliverer as deliverers
from service.usecases.events import DeliveryState, Receipt
from service.usecases.patience import MOST_FAILURES
from tests.event_world import event_world, subjects
from tests.integration.databases import BOTH
from tests.receiver import receiver
from tests.serving import books_of

LEASE = timedelta(seconds=60)


@pytest.fixture(params=BOTH)
def world(request, tmp_path):
    with event_world(request.param, tmp_path) as world:
        yield world


def test_an_endpoint_that_asks_for_it_is_left_alone_as_a_whole(world):
    hook = world.listen()
    world.tell("first")
    world.told.answers, world.told.retry_after = [429], "120"
    assert world.deliverer.once() == 1
    world.tell("second", "third")
    assert world.deliverer.once() == 0
    with receiver() as other:
        world.listen(url=other.url)
        world.tell("fourth")
        assert world.deliverer.once() == 1, "others go on"
        assert len(other.got) == 1
    read = world.client.get(f"/v1/webhooks/{hook['id']}").json
    left = datetime.fromisoformat(read["paused_until"]) - world.now()
    assert left.total_seconds() == pytest.approx(120, abs=60)
    world.late += timedelta(seconds=121)
    world.deliverer.once()
    assert sorted(subjects(world.told)) == ["first", "first", "fourth", "second", "third"]
    assert world.client.get(f"/v1/webhooks/{hook['id']}").json["paused_until"] is None


def test_an_endpoint_that_fails_on_and_on_rests_and_its_events_keep_their_attempts(world):
    hook = world.listen()
    world.tell(*(f"quote {number}" for number in range(40)))
    world.told.answers = [500] * 1000
    sent = world.deliverer.once()
    assert MOST_FAILURES <= sent <= MOST_FAILURES + deliverers.AT_ONCE_EACH
    untried = [one for one in world.sent(hook, "?limit=100") if one["attempts"] == 0]
    assert len(untried) == 40 - sent
    assert world.deliverer.once() == 0, "it rests"
    world.late += timedelta(minutes=6)
    assert 1 <= world.deliverer.once() <= deliverers.AT_ONCE_EACH, "it is tried again"
    world.told.answers = []
    world.late += timedelta(minutes=6)
    world.deliverer.once()
    assert {one["state"] for one in world.sent(hook, "?limit=100")} == {"delivered"}


def test_who_asks_for_a_ping_or_enables_it_ends_the_rest(world):
    hook = world.listen()
    here = f"/v1/webhooks/{hook['id']}"
    world.tell("first")
    world.told.answers, world.told.retry_after = [503, 503], "3600"
    world.deliverer.once()
    event = world.client.post(f"{here}/ping").json["event"]
    world.deliverer.once()
    assert world.told.ids()[-1] == event
    assert world.client.get(here).json["paused_until"] is not None
    assert world.client.post(f"{here}/enable").json["paused_until"] is None


def test_endpoints_that_hang_do_not_hold_up_one_that_does_not(world):
    world.listen()
    with receiver() as slow:
        slow.hold = 1.8
        for _ in range(19):
            world.listen(url=slow.url)
        world.tell(*(f"quote {number}" for number in range(12)))
        stop = threading.Event()
        thread = threading.Thread(target=world.deliverer.run, args=[stop])
        thread.start()
        until = time.monotonic() + 60
        while len(world.told.got) < 12 and time.monotonic() < until:
            time.sleep(0.02)
        stop.set()
        thread.join()
    assert len(set(world.told.ids())) == 12
    # Of the 228 that the others wait for, few are sent until the last of these is.
    assert len(slow.got) <= 60


def steps_of(engine, work):
    """Count the steps that SQLite's machine takes for some work, in tens."""
    count = 0

    def step():
        nonlocal count
        count += 1

    def watch(connection, *_):
        connection.set_progress_handler(step, 10)

    hooks.listen(engine, "connect", watch)
    engine.dispose()
    try:
        work()
    finally:
        hooks.remove(engine, "connect", watch)
        engine.dispose()
    return count


def works_on(world, hook):
    """Give all that is done with events over and over, by name."""
    books = books_of(world.engine)
    rounds, store, engine = SqlRound(books), SqlWebhooks(books), world.engine

    def send(receipt, wait):
        sent = rounds.claim(hook, world.now(), LEASE, 4)
        assert len(sent) == 4
        for parcel in sent:
            rounds.note(parcel, receipt, world.now(), wait)

    return {
        "news": lambda: dealers_with_news(engine),
        "due": lambda: webhooks_due(engine, world.now()),
        "taken": lambda: send(Receipt(200), None),
        "refused": lambda: send(Receipt(500, "no"), timedelta(hours=1)),
        "given up": lambda: send(Receipt(500, "no"), None),
        "feed": lambda: SqlEvents(books).page(50, 50),
        "dead": lambda: store.deliveries(hook, DeliveryState.DEAD, None, 4),
        "waiting": lambda: store.deliveries(hook, DeliveryState.WAITING, None, 50),
    }


def steps_with(world, hook, waiting):
    """Count what each work takes with so many events waiting, most of them tried in vain."""
    for number in range(0, waiting, 40):
        world.tell(*(f"{waiting} {number + n - n % 2}" for n in range(40)))
    feed, rounds = SqlEvents(books_of(world.engine)), SqlRound(books_of(world.engine))
    steps = {"place": steps_of(world.engine, feed.place)}
    while feed.place():
        pass
    for parcel in rounds.claim(hook, world.now(), LEASE, waiting // 3):
        rounds.note(parcel, Receipt(400, "no"), world.now(), timedelta(hours=1))
    for parcel in rounds.claim(hook, world.now(), LEASE, waiting // 20):
        rounds.note(parcel, Receipt(200), world.now(), None)
    works = works_on(world, hook)
    return steps | {name: steps_of(world.engine, work) for name, work in works.items()}


def test_the_work_for_an_event_does_not_grow_with_those_that_wait(tmp_path, monkeypatch):
    monkeypatch.setattr("service.adapters.storage.events._AT_ONCE", 100)
    monkeypatch.setattr("service.adapters.storage.deliveries.rest_after", lambda *_: None)
    found = {}
    for waiting in (200, 4000):
        (tmp_path / str(waiting)).mkdir()
        with event_world("sqlite", tmp_path / str(waiting)) as world:
            found[waiting] = steps_with(world, world.listen()["id"], waiting)
    grown = {name: found[4000][name] / max(count, 10) for name, count in found[200].items()}
    assert max(grown.values()) < 2, grown
