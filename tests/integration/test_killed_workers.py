"""Workers killed while orders come in: after everyone has tried again, each order is kept once.

The service runs as it does in use: gunicorn, several workers, its own database. Callers send
500 orders at once, each with an Idempotency-Key; meanwhile workers are killed as by a lack of
memory. A caller whose connection broke cannot know whether the order was kept, and sends it again
with the same key.
"""

import http.client
import os
import signal
import threading
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field

import orjson
import pytest
from sqlalchemy import select

from service.adapters.storage.engine import connect
from service.adapters.storage.tables import quotes
from service.api.examples import example_request
from tests.integration.databases import BOTH, url_of
from tests.live import HOST, live, migrate, settings

QUOTES, OFFCUTS = 100, 400
KILLS_AFTER = (40, 120, 240)  # answers
PATIENCE_SECONDS = 120
LEASE_SECONDS = 10  # what a killed worker had claimed is waited for so long


@dataclass(frozen=True)
class Order:
    """What one caller wants: the name tells it from all others."""

    name: str
    path: str
    body: bytes

    @property
    def key(self):
        return f'"key of {self.name}"'


def orders():
    offcut, quote = example_request("offcut"), example_request("quote")
    for number in range(max(QUOTES, OFFCUTS)):
        if number < QUOTES:
            name = f"quote {number}"
            yield Order(name, "/v1/quotes", orjson.dumps(quote | {"reference": name}))
        if number < OFFCUTS:
            name = f"offcut {number}"
            yield Order(name, "/v1/offcuts", orjson.dumps(offcut | {"note": name}))


@dataclass
class Callers:
    """All callers together.

    Attributes:
        broken: How many answers never came.
        refused: Statuses that made a caller wait and try again.
    """

    port: int
    headers: dict
    answered: int = 0
    broken: int = 0
    refused: Counter = field(default_factory=Counter)
    lock: threading.Lock = field(default_factory=threading.Lock)

    def ask(self, method, path, body=None, **headers):
        """Ask once, on a connection of its own."""
        connection = http.client.HTTPConnection(HOST, self.port, timeout=60)
        try:
            connection.request(method, path, body, self.headers | headers)
            answer = connection.getresponse()
            return answer.status, answer.read()
        finally:
            connection.close()

    def insist(self, order):
        """Send an order until it is answered; give the answer."""
        until = time.monotonic() + PATIENCE_SECONDS
        while time.monotonic() < until:
            try:
                status, answer = self.ask(
                    "POST", order.path, order.body, **{"Idempotency-Key": order.key}
                )
            except (OSError, http.client.HTTPException):
                with self.lock:
                    self.broken += 1
            else:
                with self.lock:
                    if status == 201:
                        self.answered += 1
                        return answer
                    self.refused[status] += 1
                # 409: the first sending is still at work, or died; 429, 503: come back later.
                assert status in (409, 429, 503), answer
            time.sleep(0.2)
        raise AssertionError(f"{order.name} is not answered after {PATIENCE_SECONDS} s")


def kill_workers(server, callers):
    """Kill a worker each time that so many answers are given; give those killed."""
    killed = []
    for answers in KILLS_AFTER:
        while callers.answered < answers:
            time.sleep(0.002)
        victim = next(pid for pid in server.workers() if pid not in killed)
        os.kill(victim, signal.SIGKILL)
        killed.append(victim)
    return killed


def kept_offcuts(callers):
    """List every offcut on hand by the API, page after page."""
    notes, cursor = [], ""
    while True:
        status, answer = callers.ask("GET", f"/v1/offcuts?limit=100{cursor}")
        assert status == 200, answer
        page = orjson.loads(answer)
        notes += [offcut["note"] for offcut in page["offcuts"]]
        if not page["next"]:
            return notes
        cursor = f"&cursor={page['next']}"


def kept_quotes(url):
    engine = connect(url)
    with engine.connect() as connection:
        references = list(connection.scalars(select(quotes.c.reference)))
    engine.dispose()
    return references


@pytest.mark.parametrize("kind", BOTH)
def test_each_order_is_kept_once_though_workers_are_killed(kind, tmp_path):
    wanted = list(orders())
    with url_of(kind, tmp_path) as url:
        environ = settings(url, workers=2, lease_seconds=LEASE_SECONDS)
        migrate(environ)
        with live(environ) as server:
            headers = {
                "Content-Type": "application/json",
                "Authorization": f"Bearer {server.key()}",
            }
            callers = Callers(server.port, headers)
            with ThreadPoolExecutor(len(wanted) + 1) as pool:
                killing = pool.submit(kill_workers, server, callers)
                first = dict(zip(wanted, pool.map(callers.insist, wanted), strict=True))
                killed = killing.result()
                again = dict(zip(wanted, pool.map(callers.insist, wanted), strict=True))
            assert len(set(killed)) == len(KILLS_AFTER)
            assert not set(killed) & set(server.workers())
            assert callers.broken > 0, "no caller was at work in a killed worker"
            assert again == first
            assert len({orjson.loads(answer)["id"] for answer in first.values()}) == len(wanted)
            offcuts = kept_offcuts(callers)
        assert Counter(offcuts) == Counter(o.name for o in wanted if o.path == "/v1/offcuts")
        references = kept_quotes(url)
        assert Counter(references) == Counter(o.name for o in wanted if o.path == "/v1/quotes")
