"""What a quote costs: ratios within one run, printed.

    python -m tests.benchmarks.bench_quote

1. In process: a whole quote of the demo deck (read, lay out, check, take off, cut, price, write,
   keep in SQLite) against the marshmallow load of the same request. Goal: at most 4. The saw keeps
   the plans of its last demands, so both are told: a quote whose demands are new to it, and one
   whose demands it has cut before, as in a revision.
2. Over HTTP: the service under gunicorn against an empty echo that takes the same request and
   gives the same answer bytes, same workers and threads.

Times are the best of several rounds; only their ratios mean anything.
"""

import http.client
import math
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from time import perf_counter

import orjson

from service.adapters.solver.saw import Saw
from service.adapters.storage import migrate
from service.adapters.storage.engine import connect
from service.api.schemas.requests import QUOTE_REQUEST
from service.app import create_app
from service.domain.compliance.assess import assess
from service.domain.takeoff.take_off import take_off
from service.settings import from_environment
from service.usecases.check_code import clauses_for
from service.usecases.take_off_railing import lay_out_to_order, order_parts, unit_prices
from tests.serving import client_of

REQUEST = Path(__file__).parents[2] / "openapi" / "examples" / "quote-request.json"
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
    """Give the shortest time of each job, all in turn, so that a busy machine slows all. [s]"""
    times = dict.fromkeys(jobs, math.inf)
    for _ in range(rounds):
        for name, job in jobs.items():
            times[name] = min(times[name], best(job, rounds=1, repeat=1))
    return times


def in_process(folder: Path) -> tuple[float, float]:
    """Print what each part of a quote costs beside its load; give the ratios of the whole."""
    settings = from_environment({"EVENBAY_DATABASE_URL": f"sqlite:///{folder / 'bench.db'}"})
    migrate.upgrade(connect(settings.database_url))
    app = create_app(settings)
    body = REQUEST.read_bytes()
    content = orjson.loads(body)
    client = client_of(app)
    here = app.extensions["evenbay"]

    def post() -> None:
        answer = client.post("/v1/quotes", data=body, content_type="application/json")
        assert answer.status_code == 201, answer.get_data()

    post()
    order = QUOTE_REQUEST.load(content)
    prices = unit_prices(order, order.on)
    layout = lay_out_to_order(order, order.on)
    clauses = clauses_for(order.code, order.on, here.codes)
    takeoff = take_off(layout, order.parts, prices)

    def post_cut_anew() -> None:
        here.saw.forget()
        post()

    parts = {
        "lay out": lambda: lay_out_to_order(order, order.on),
        "check": lambda: assess(clauses, layout),
        "take off": lambda: take_off(layout, order.parts, prices),
    }
    for demand in takeoff.demands:
        parts[f"cut {len(demand.pieces)} of {demand.material}"] = partial(Saw(10, kept=0), demand)
    parts["take off and cut, anew"] = lambda: order_parts(
        layout, order.parts, prices, Saw(10, kept=0)
    )
    parts["take off and cut, plans kept"] = lambda: order_parts(
        layout, order.parts, prices, here.saw
    )
    parts["whole quote, cut anew"] = post_cut_anew
    parts["whole quote, plans kept"] = post
    times = best_in_turn({"load": lambda: QUOTE_REQUEST.load(content), **parts})
    ratios = {name: seconds / times["load"] for name, seconds in times.items()}
    for name, ratio in ratios.items():
        print(f"{name:64} {ratio:6.2f} x the marshmallow load")
    return ratios["whole quote, cut anew"], ratios["whole quote, plans kept"]


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
        anew, kept = in_process(folder)
        print(f"whole quote / marshmallow load: {anew:.2f} cut anew, {kept:.2f} with plans kept")
        print(f"(goal: at most {GOAL:g})")
        print(f"under gunicorn / empty echo:    {under_gunicorn(folder):.2f}")


if __name__ == "__main__":
    main()
