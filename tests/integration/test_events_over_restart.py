"""PostgreSQL ends amid deliveries: every event that is kept arrives, always with the same id."""

import threading
import time
from contextlib import contextmanager
from dataclasses import replace
from datetime import timedelta

import orjson
from sqlalchemy import func, select

from service.adapters.storage.tables import deliveries, events
from service.adapters.webhooks import deliverer as deliverers
from service.usecases.outages import StoreUnavailable
from tests.event_world import NETWORKS, World
from tests.integration.own_postgres import needs_postgres_programs, own_postgres
from tests.receiver import receiver
from tests.serving import migrated_app

SECONDS = 90


@contextmanager
def beside(*works):
    """Run some works until the end."""
    stop = threading.Event()
    threads = [threading.Thread(target=work, args=[stop]) for work in works]
    for thread in threads:
        thread.start()
    try:
        yield
    finally:
        stop.set()
        for thread in threads:
            thread.join()


def until(true):
    end = time.monotonic() + SECONDS
    while not true() and time.monotonic() < end:
        time.sleep(0.05)
    assert true()


@needs_postgres_programs
def test_events_arrive_over_a_crash_of_the_database(monkeypatch):
    monkeypatch.setattr(deliverers, "_REST_SECONDS", 0.2)
    with own_postgres() as server, receiver() as told:
        app = migrated_app(url=server.url, webhook_networks=NETWORKS, rate_per_minute=0)
        world = World(app, told)
        world.listen()
        told.hold = 0.02
        refused = []

        def change(stop):
            number = 0
            while not stop.is_set():
                number += 1
                try:
                    world.tell(f"quote {number}")
                    world.tell(f"quote {number}", kind="quote.accepted")
                except StoreUnavailable:
                    refused.append(number)
                time.sleep(0.02)

        others = [replace(world.deliverer, _running={}, _lasted={}, _turns={}) for _ in range(2)]
        with beside(*(one.run for one in others)):
            with beside(change):
                until(lambda: len(told.got) > 30)
                server.crash()
                until(lambda: refused)
                server.start()
                seen = len(told.got)
                until(lambda: len(told.got) > seen + 30)
            # What was under way when the database went is sent again after its lease.
            world.late += timedelta(seconds=61)
            until(lambda: waiting(world) == 0)
        with world.engine.connect() as connection:
            kept = dict(connection.execute(select(events.c.id, events.c.body)).all())
        world.engine.dispose()
    assert set(told.ids()) == kept.keys(), "every one, and none that was not kept"
    assert all(bytes(kept[headers["webhook-id"]]) == body for _, headers, body in told.got)
    first_seen = {}
    for _, _, body in told.got:
        said = orjson.loads(body)
        kinds = first_seen.setdefault(said["subject"], [])
        if said["type"] not in kinds:
            kinds.append(said["type"])
    assert all(kinds[0] == "evenbay.quote.issued" for kinds in first_seen.values())


def waiting(world):
    unsent = select(func.count()).select_from(deliveries).where(deliveries.c.state == "waiting")
    unplaced = select(func.count()).select_from(events).where(events.c.position.is_(None))
    with world.engine.connect() as connection:
        return connection.execute(unsent).scalar() + connection.execute(unplaced).scalar()
