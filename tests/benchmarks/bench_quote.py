"""What a quote costs: ratios within one run, printed.

    python -m tests.benchmarks.bench_quote

1. In process: a whole quote (key, read, lay out, check, take off, cut, price, write, keep in
   SQLite), called as a WSGI server calls it, against the marshmallow load of the same request, for
   three decks. Goal: at most 4. The saw keeps the plans of its last demands, so both are told: a
   quote whose demands are new to it, and one whose demands it has cut before, as in a revision.
   Times are those of the process on the CPU, for other work of the machine is no matter here.
2. Over HTTP: the service under gunicorn against an empty echo that takes the same request and
   gives the same answer bytes, same workers and threads.

Times are the best of several rounds; only their ratios mean anything.
"""

import http.client
import logging
import math
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date
from functools import partial
from io import BytesIO
from pathlib import Path
from time import perf_counter, process_time
from typing import Any

import orjson
from flask import Flask
from werkzeug.test import EnvironBuilder

from service.adapters.solver.saw import Saw
from service.adapters.storage import migrate
from service.adapters.telemetry import logs
from service.api.context import Context
from service.api.schemas.requests import QUOTE_REQUEST
from service.app import create_app
from service.collector import settle
from service.domain.compliance.assess import assess
from service.domain.pricing.dealers_view import dealers_view
from service.domain.pricing.quote import price
from service.domain.takeoff.take_off import take_off
from service.settings import from_environment
from service.usecases.check_code import clauses_for
from service.usecases.quote_railing import Receipt, reckon
from service.usecases.take_off_railing import lay_out_to_order, unit_prices
from tests.serving import key_for

EXAMPLES = Path(__file__).parents[2] / "openapi" / "examples"
REQUEST = EXAMPLES / "quote-request.json"
DECKS = ("quote-request", "metric-quote-request", "cable-quote-request")
JSON = {"Content-Type": "application/json"}
GOAL = 4.0


def best(job: Callable[[], object], rounds: int = 60, repeat: int = 5) -> float:
    """Give the shortest time of one call, over rounds of a few calls each. [s]"""
    times = []
    for _ in range(rounds):
        start = perf_counter()
        for _ in range(repeat):
            job()
        times.append((perf_counter() - start) / repeat)
    return min(times)


def best_in_turn(jobs: dict[str, Callable[[], object]], rounds: int = 150) -> dict[str, float]:
    """Give the shortest time of each job on the CPU, all in turn: a busy machine slows all. [s]"""
    times = dict.fromkeys(jobs, math.inf)
    for _ in range(rounds):
        for name, job in jobs.items():
            start = process_time()
            job()
            times[name] = min(times[name], process_time() - start)
    return times


def in_process(folder: Path) -> dict[str, tuple[float, float]]:
    """Print what each part of a quote costs beside its load; give the ratios of whole quotes."""
    url = f"sqlite:///{folder / 'bench.db'}"
    lines_to_nowhere(folder)
    many = {"EVENBAY_RATE_PER_MINUTE": "1000000"}
    app = create_app(from_environment({"EVENBAY_DATABASE_URL": url, **many}))
    migrate.upgrade(app.extensions["evenbay"].engine)
    key = key_for(app)
    settle()  # as service.wsgi does
    return {name: ratios_of(app, key, name) for name in DECKS}


def lines_to_nowhere(folder: Path) -> None:
    """Write the log as the service does, but where nobody reads it."""
    logs.set_up("json", "INFO")
    for handler in logging.getLogger().handlers:
        if isinstance(handler, logging.StreamHandler):
            handler.setStream((folder / "log").open("w"))


def ratios_of(app: Flask, key: str, name: str) -> tuple[float, float]:
    """Print the parts of one deck's quote; give what it costs cut anew, and with plans kept."""
    body = (EXAMPLES / f"{name}.json").read_bytes()
    content = orjson.loads(body)
    here = app.extensions["evenbay"]
    headers = {"Authorization": f"Bearer {key}"}
    environ = EnvironBuilder(
        "/v1/quotes", method="POST", data=body, content_type="application/json", headers=headers
    ).get_environ()
    answered: list[str] = []

    def post() -> bytes:
        fresh = {**environ, "wsgi.input": BytesIO(body)}
        answer = b"".join(app.wsgi_app(fresh, lambda status, *_: answered.append(status)))
        assert answered[-1] == "201 CREATED", answer
        return answer

    def post_cut_anew() -> bytes:
        here.saw.forget()
        return post()

    post()
    parts = parts_of(content, here)
    parts["whole quote, cut anew"] = post_cut_anew
    parts["whole quote, plans kept"] = post
    times = best_in_turn({"load": lambda: QUOTE_REQUEST.load(content), **parts})
    ratios = {part: seconds / times["load"] for part, seconds in times.items()}
    print(f"{name}: the marshmallow load takes {times['load'] * 1000:.2f} ms")
    for part, ratio in ratios.items():
        print(f"  {part:62} {ratio:6.2f} x the load")
    return ratios["whole quote, cut anew"], ratios["whole quote, plans kept"]


def parts_of(content: Any, here: Context) -> dict[str, Callable[[], object]]:
    """Give the parts of a quote that can be done by themselves."""
    order = QUOTE_REQUEST.load(content)
    on = order.on or date(2026, 11, 25)
    prices = unit_prices(order, on)
    layout = lay_out_to_order(order, on)
    clauses = clauses_for(order.code, on, here.codes)
    takeoff = take_off(layout, order.parts, prices)
    receipt = Receipt("00000000-0000-4000-8000-000000000000", here.now(), on, "0", b"")
    quote = reckon(order, receipt, codes=here.codes, materials=here.materials, saw=Saw(10, kept=0))
    items, labour = quote.takeoff.items, quote.takeoff.labour
    parts: dict[str, Callable[[], object]] = {
        "lay out": lambda: lay_out_to_order(order, on),
        "check": lambda: assess(clauses, layout),
        "take off": lambda: take_off(layout, order.parts, prices),
    }
    for demand in takeoff.demands:
        parts[f"cut {len(demand.pieces)} of {demand.material}"] = partial(Saw(10, kept=0), demand)
    parts["price"] = lambda: price(items, labour, order.prices, order.pricing, on)
    parts["write the answer"] = lambda: here.press.document(quote)
    parts["write the costs"] = lambda: here.press.costs(
        quote.receipt.id, dealers_view(quote.priced, order.pricing)
    )
    return parts


ECHO = """
import os
ANSWER = open(os.environ["ANSWER"], "rb").read()
def app(environ, start_response):
    environ["wsgi.input"].read(int(environ["CONTENT_LENGTH"]))
    start_response("201 CREATED", [("Content-Type", "application/json"),
                                   ("Content-Length", str(len(ANSWER)))])
    return [ANSWER]
"""


def under_gunicorn(folder: Path) -> float:
    """Give how many times longer the service answers than an empty echo."""
    database = {"EVENBAY_DATABASE_URL": f"sqlite:///{folder / 'http.db'}"}
    environ = {**os.environ, **database}
    subprocess.run([sys.executable, "-m", "service", "migrate"], env=environ, check=True)
    make = [sys.executable, "-m", "service", "keys", "create", "--dealer", "bench"]
    key = subprocess.run(make, env=environ, check=True, capture_output=True, text=True).stdout
    JSON["Authorization"] = f"Bearer {key.strip()}"
    service = timed("service.wsgi:app", environ, 18431)
    (folder / "echo.py").write_text(ECHO)
    (folder / "answer").write_bytes(service[1])
    echo_environ = {**environ, "ANSWER": str(folder / "answer"), "PYTHONPATH": str(folder)}
    echo = timed("echo:app", echo_environ, 18432)
    return service[0] / echo[0]


def timed(app: str, environ: dict[str, str], port: int) -> tuple[float, bytes]:
    """Start an application with one worker and time a post. [s]"""
    command = [sys.executable, "-m", "gunicorn", app, "--bind", f"127.0.0.1:{port}"]
    command += ["--workers", "1", "--threads", "2", "--worker-class", "gthread"]
    server = subprocess.Popen([*command, "--log-level", "error"], env=environ)
    try:
        body = REQUEST.read_bytes()
        connection = connected(port)
        answer = b""

        def post() -> None:
            nonlocal answer
            connection.request("POST", "/v1/quotes", body, JSON)
            answer = connection.getresponse().read()

        post()
        return best(post, rounds=40), answer
    finally:
        server.terminate()
        server.wait(20)


def connected(port: int) -> http.client.HTTPConnection:
    for _ in range(100):
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        try:
            connection.connect()
        except OSError:
            time.sleep(0.1)
        else:
            return connection
    raise RuntimeError("the server did not start")


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for name, (anew, kept) in in_process(folder).items():
            told = f"{anew:.2f} cut anew, {kept:.2f} with plans kept"
            print(f"{name}, whole quote / marshmallow load: {told} (goal: at most {GOAL:g})")
        print(f"under gunicorn / empty echo:    {under_gunicorn(folder):.2f}")


if __name__ == "__main__":
    main()
