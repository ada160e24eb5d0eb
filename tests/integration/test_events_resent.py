"""Many events sent to an endpoint again, as after an outage of the receiver."""

from collections import Counter
from datetime import timedelta

import pytest

from service.adapters.storage import resent
from service.usecases.patience import MOST_ATTEMPTS
from tests.event_world import event_world, subjects
from tests.integration.databases import BOTH


@pytest.fixture(params=BOTH)
def world(request, tmp_path):
    with event_world(request.param, tmp_path) as world:
        yield world


def again(world, hook, status=202, **wish):
    answer = world.client.post(f"/v1/webhooks/{hook['id']}/replay", json=wish)
    assert answer.status_code == status, answer.data
    return answer.json


def arrived(world):
    """Give what came in since this was asked last."""
    while world.deliverer.once():
        pass
    came = sorted(subjects(world.told))  # several are sent at once
    world.told.got.clear()
    return came


def test_all_or_what_happened_since_or_after_a_cursor_is_sent_again(world):
    world.tell("before there was an endpoint")
    hook = world.listen(types=["evenbay.quote.issued"])
    other = world.listen()
    world.tell("a", "b")
    amid = world.client.get("/v1/events?limit=2").json["next"]
    world.late += timedelta(hours=1)
    since = world.now().isoformat()
    world.late += timedelta(seconds=1)
    world.tell("c")
    world.tell("d", kind="quote.cut")
    assert Counter(arrived(world)) == Counter("aabbccd")
    world.client.delete(f"/v1/webhooks/{other['id']}")
    assert again(world, hook, since=since) == {"events": 1, "next": None}
    assert arrived(world) == ["c"]
    assert again(world, hook, cursor=amid) == {"events": 2, "next": None}
    assert arrived(world) == ["b", "c"]
    assert again(world, hook) == {"events": 4, "next": None}
    assert again(world, hook) == {"events": 0, "next": None}, "they are on their way"
    assert set(arrived(world)) == {"before there was an endpoint", "a", "b", "c"}


def test_the_dead_are_sent_again_with_their_ids_and_page_by_page(world, monkeypatch):
    monkeypatch.setattr(resent, "AT_ONCE", 2)
    hook = world.listen()
    world.tell("taken")
    arrived(world)
    world.told.answers = [500] * 1000
    world.tell("x", "y", "z")
    for _ in range(MOST_ATTEMPTS * 5):
        world.deliverer.once()
        world.late += timedelta(hours=13)
    ids = set(world.told.ids())
    assert len(world.sent(hook, "?state=dead")) == len(ids) == 3
    world.told.answers = []
    world.told.got.clear()
    page = again(world, hook, state="dead")
    assert page["events"] == 2
    page = again(world, hook, state="dead", cursor=page["next"])
    assert (page["events"], page["next"]) == (1, None)
    world.deliverer.once()
    assert set(world.told.ids()) == ids
    assert arrived(world) == ["x", "y", "z"]
    assert world.sent(hook, "?state=dead") == []


def test_what_is_asked_for_has_to_be_sense(world):
    hook = world.listen()
    for wrong in ({"since": "yesterday"}, {"cursor": "!"}, {"state": "waiting"}, {"until": "now"}):
        answer = again(world, hook, status=422, **wrong)
        assert [one["pointer"] for one in answer["errors"]] == [f"#/{next(iter(wrong))}"]
    world.tell("old", "older")
    old = world.client.get("/v1/events?limit=1").json["next"]
    world.tell("newest")
    arrived(world)
    world.late += timedelta(days=91)
    world.deliverer.once()
    assert again(world, hook, status=410, cursor=old)["type"] == "/problems/events-gone"
