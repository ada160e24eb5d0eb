"""Events that are old go, oldest first, and whoever read no further is told."""

from datetime import timedelta

import pytest
from sqlalchemy import func, select

from service.adapters.storage import old_events
from service.adapters.storage.tables import deliveries, events
from service.usecases.patience import MOST_ATTEMPTS
from tests.event_world import event_world
from tests.integration.databases import BOTH


@pytest.fixture(params=BOTH)
def world(request, tmp_path, monkeypatch):
    monkeypatch.setattr(old_events, "_AT_ONCE", 4)
    with event_world(request.param, tmp_path) as world:
        yield world


def later(world, days):
    world.late += timedelta(days=days)
    return world.deliverer.once()


def polled(world, cursor=""):
    asked = f"&cursor={cursor}" if cursor else ""
    return world.client.get(f"/v1/events?limit=100{asked}")


def kept(world):
    with world.engine.connect() as connection:
        return tuple(
            connection.execute(select(func.count()).select_from(table)).scalar()
            for table in (events, deliveries)
        )


def subjects(page):
    assert page.status_code == 200, page.data
    return [one["subject"] for one in page.json["events"]]


def test_what_was_taken_goes_with_its_deliveries_and_younger_events_stay(world):
    hook = world.listen()
    world.tell(*(f"old {number}" for number in range(11)))
    later(world, 0)
    at_the_end = polled(world).json["next"]
    later(world, 60)
    world.tell("young")
    later(world, 29)
    assert kept(world) == (12, 12), "they are 89 days old"
    later(world, 2)
    assert kept(world) == (1, 1)
    assert subjects(polled(world)) == ["young"]
    assert subjects(polled(world, at_the_end)) == ["young"], "who had read all goes on"
    assert [one["subject"] for one in world.sent(hook)] == ["young"]


def test_a_cursor_that_is_older_than_what_is_kept_is_told_so(world):
    world.listen()
    before_all = polled(world).json["next"]
    world.tell("first", "second")
    amid = world.client.get("/v1/events?limit=1").json["next"]
    later(world, 0)
    later(world, 60)
    world.tell("third", "fourth")
    later(world, 0)
    later(world, 31)
    for cursor in (before_all, amid):
        gone = polled(world, cursor)
        assert (gone.status_code, gone.json["type"]) == (410, "/problems/events-gone")
        assert "Leave the cursor out" in gone.json["advice"]
    again = polled(world)
    assert subjects(again) == ["third", "fourth"]
    assert subjects(polled(world, again.json["next"])) == []


def test_the_newest_event_stays_so_that_places_are_given_once(world):
    world.listen()
    world.tell("first", "second", "third")
    seen = polled(world).json["next"]
    later(world, 1000)
    assert subjects(polled(world)) == ["third"]
    world.tell("fourth")
    assert subjects(polled(world, seen)) == ["fourth"]


def test_what_was_never_taken_stays_longer_and_can_be_replayed(world):
    hook = world.listen()
    world.told.answers = [500] * MOST_ATTEMPTS
    world.tell("dead")
    for _ in range(MOST_ATTEMPTS):
        later(world, 0.6)
    world.tell("taken", "newest")
    later(world, 1)
    later(world, 90)
    assert subjects(polled(world)) == ["newest"]
    (dead,) = world.sent(hook, "?state=dead")
    assert dead["subject"] == "dead"
    assert world.client.post(f"/v1/events/{dead['event']}/replay").json == {"endpoints": 1}
    assert world.deliverer.once() == 1
    later(world, 3 * 90)
    assert kept(world) == (1, 1)
    assert world.client.post(f"/v1/events/{dead['event']}/replay").status_code == 404


def test_what_waits_longer_than_events_are_kept_is_given_up(world):
    hook = world.listen()
    world.told.answers, world.told.retry_after = [503] * 50, "43200"
    world.tell("waits", "newest")
    world.deliverer.once()
    world.late += timedelta(days=91)
    world.deliverer.once()
    (dead,) = world.sent(hook, "?state=dead")
    assert (dead["subject"], "as long as the event was kept" in dead["last_error"]) == (
        "waits",
        True,
    )
