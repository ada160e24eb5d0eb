"""What is answered of re-pricing runs, from the first request to the last result, as committed.

The story is told by the service itself, on a clock that stands still, and kept in
``openapi/examples/repricing``; the package ships the same to show in the OpenAPI document.
"""

import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from itertools import count
from pathlib import Path
from uuid import UUID

import orjson

from service.adapters.storage.run_work import SqlRunWork
from service.adapters.workers.nights import Nights
from service.api.schemas.repricing import read_nightly
from tests.api.replay import EXAMPLES, READABLE, request_bytes
from tests.serving import client_of

STORY = EXAMPLES / "repricing"
PACKAGED = Path(__file__).parents[2] / "service" / "data" / "demo" / "repricing"
RUNS, NIGHTLY = "/v1/repricing-runs", "/v1/repricing-schedule"
MORNING = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)
_UUID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_RISE = Decimal("1.04")
_DEARER = ("LK-P40", "LK-P48", "LK-TR-16", "LK-BR-16")  # aluminium
_GONE = "FW-CABLE"  # has no price in the second version


def requests():
    """Give the requests of the story by name."""
    return {
        path.name.removesuffix("-request.json"): orjson.loads(path.read_bytes())
        for path in sorted(STORY.glob("*-request.json"))
    }


def told(app):
    """Let an empty service tell the story; give its answers by name.

    Args:
        app: Without quotes; its clock and its ids are put in place of.
    """
    here, ids = app.extensions["evenbay"], count(1)
    clock = Clock()
    app.extensions["evenbay"] = replace(
        here, now=clock.now, new_id=lambda: str(UUID(int=4 << 76 | 2 << 62 | next(ids)))
    )
    try:
        found = dict(_story(client_of(app), here.engine, clock))
    finally:
        app.extensions["evenbay"] = here
    return _settled(found)


class Clock:
    """Stands still until it is moved."""

    def __init__(self):
        self.at = MORNING

    def now(self):
        return self.at

    def later(self, **by):
        self.at += timedelta(**by)


def _story(client, engine, clock):
    asked = requests()
    table = _stock(client, asked["begin"]["price_table"]["stored"])
    for example in ("quote", "ruled-quote", "cable-quote"):
        order = {**orjson.loads(request_bytes(example)), "price_table": table}
        made = client.post("/v1/quotes", json=order)
        assert made.status_code == 201, made.json
        clock.later(minutes=10)
    begun = client.post(RUNS, json=asked["begin"])
    assert begun.status_code == 202, begun.json
    home = begun.json["links"]["self"]
    yield "begun", begun.json
    for step, name in (("pause", "paused"), ("resume", "resumed")):
        clock.later(seconds=20)
        yield name, client.post(f"{home}/{step}").json
    clock.later(seconds=5)
    SqlRunWork(engine, now=clock.now).work(lambda: False)
    yield "finished", client.get(home).json
    yield "results", client.get(f"{home}/results").json
    yield "list", client.get(RUNS).json
    clock.later(minutes=5)
    dropped = client.post(RUNS, json=asked["begin"]).json["links"]["self"]
    clock.later(seconds=20)
    yield "cancelled", client.post(f"{dropped}/cancel").json
    put = client.put(NIGHTLY, json=asked["schedule"], headers={"If-Match": "*"})
    assert put.status_code == 200, put.json
    yield "schedule", put.json
    clock.at = datetime.fromisoformat(put.json["next_at"])
    assert Nights(engine, read_nightly, now=clock.now).begin_due() == 1
    clock.later(hours=6)
    yield "schedule-read", client.get(NIGHTLY).json


def _stock(client, name):
    """Keep a table whose second version is dearer and lacks a part; give what names the first."""
    rows = [
        row
        for example in ("quote", "cable-quote")
        for row in orjson.loads(request_bytes(example))["price_table"]["rows"]
    ]
    made = client.post("/v1/price-tables", json={"name": name, "currency": "USD", "rows": rows})
    home = made.json["links"]["self"]
    dearer = [
        {**row, "unit_price": str(Decimal(row["unit_price"]) * _RISE)}
        if row["sku"] in _DEARER
        else row
        for row in rows
        if row["sku"] != _GONE
    ]
    _put_in_force(client, home, 1, MORNING.date() - timedelta(days=30))
    seen = {"If-Match": client.get(home).headers["ETag"]}
    second = client.post(f"{home}/versions", json={"currency": "USD", "rows": dearer}, headers=seen)
    assert second.status_code == 201, second.json
    _put_in_force(client, home, 2, date(2026, 11, 25))
    return {"stored": name, "version": 1}


def _put_in_force(client, home, number, day):
    seen = {"If-Match": client.get(home).headers["ETag"]}
    begun = client.post(
        f"{home}/versions/{number}/activate", json={"from": day.isoformat()}, headers=seen
    )
    assert begun.status_code == 200, begun.json


def _settled(answers):
    """Give the answers with ids that are the same every time, one for each."""
    text, known = orjson.dumps(answers).decode(), {}

    def shown(found):
        return known.setdefault(found[0], str(UUID(int=4 << 76 | 2 << 62 | len(known) + 1)))

    return orjson.loads(_UUID.sub(shown, text))


def write(app):
    """Write every answer, and what the package ships."""
    for name, content in told(app).items():
        (STORY / f"{name}-response.json").write_bytes(orjson.dumps(content, option=READABLE))
    PACKAGED.mkdir(exist_ok=True)
    for path in STORY.glob("*.json"):
        (PACKAGED / path.name).write_bytes(path.read_bytes())
