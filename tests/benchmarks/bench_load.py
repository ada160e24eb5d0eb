"""What the service bears: quotes per second, waiting times, and the ratio to an empty echo.

    python -m tests.benchmarks.bench_load [--workers 2] [--requests 400] [--seconds 60]

gunicorn is started twice with the configuration of the service: with the service on a fresh SQLite
file (and once more on PostgreSQL where EVENBAY_TEST_POSTGRES_URL is set), and with an application
that reads the same request and gives the same answer bytes. Senders are processes that each keep
one connection and send the demo order again as soon as it is answered. Service and echo take turns
in several rounds, so that both see the same machine; only their ratios mean anything.
"""

import argparse
import http.client
import os
import tempfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor as Pool
from contextlib import contextmanager
from dataclasses import dataclass, field
from multiprocessing import get_context
from pathlib import Path
from statistics import quantiles
from time import perf_counter

from tests.integration.databases import POSTGRES, url_of
from tests.live import HOST, Live, live, migrate, settings

REQUEST = Path(__file__).parents[2] / "openapi" / "examples" / "quote-request.json"
ROUNDS = 4
ECHO = """
import os
ANSWER = open(os.environ["ANSWER"], "rb").read()
def app(environ, start_response):
    environ["wsgi.input"].read(int(environ["CONTENT_LENGTH"]))
    start_response("201 CREATED", [("Content-Type", "application/json"),
                                   ("Content-Length", str(len(ANSWER)))])
    return [ANSWER]
"""
ECHO_CONFIG = """
from service.gunicorn_conf import *
wsgi_app = "echo:app"
def post_fork(server, worker):
    pass
"""


@dataclass
class Load:
    """What was seen of one application.

    Attributes:
        waits: Time of each answer. [s]
        seconds: Time that the senders were at work. [s]
        worked: Processor time that the workers took. [s]
    """

    waits: list[float] = field(default_factory=list)
    seconds: float = 0.0
    worked: float = 0.0

    @property
    def rate(self) -> float:
        """Give the answers per second."""
        return len(self.waits) / self.seconds

    @property
    def processor_ms(self) -> float:
        """Give the processor time of one answer. [ms]"""
        return self.worked / len(self.waits) * 1000

    def percentile(self, percent: int) -> float:
        """Give the time that so many percent of the answers took at most. [s]"""
        return quantiles(self.waits, n=100, method="inclusive")[percent - 1]


def send(port: int, headers: dict[str, str], most: int, seconds: float) -> list[float]:
    """Send the order again and again, up to a number and a time; give each answer's time. [s]"""
    body = REQUEST.read_bytes()
    connection = http.client.HTTPConnection(HOST, port, timeout=60)
    waits: list[float] = []
    end = perf_counter() + seconds
    while len(waits) < most and perf_counter() < end:
        start = perf_counter()
        connection.request("POST", "/v1/quotes", body, headers)
        answer = connection.getresponse()
        content = answer.read()
        waits.append(perf_counter() - start)
        if answer.status != 201:
            raise RuntimeError(f"{answer.status}: {content[:500]!r}")
    return waits


def one_round(
    load: Load, server: Live, headers: dict[str, str], asked: argparse.Namespace, pool: Pool
) -> None:
    """Let all senders send their share of one round."""
    most = max(1, asked.requests // ROUNDS // asked.senders)
    share = (server.port, headers, most, asked.seconds / ROUNDS)
    before, start = processor_time(server), perf_counter()
    for sent in [pool.submit(send, *share) for _ in range(asked.senders)]:
        load.waits += sent.result()
    load.seconds += perf_counter() - start
    load.worked += processor_time(server) - before


def processor_time(server: Live) -> float:
    """Give the time that the workers have had a processor. [s]"""
    threads = (Path(f"/proc/{pid}/task").iterdir() for pid in server.workers())
    times = ((task / "schedstat").read_text().split()[0] for tasks in threads for task in tasks)
    return sum(map(int, times)) / 1e9  # finer than the ticks of proc(5)'s stat


@contextmanager
def echo_of(answer: bytes, folder: Path, workers: int) -> Iterator[Live]:
    """Run an application that gives the same bytes and does nothing for them."""
    (folder / "echo.py").write_text(ECHO)
    (folder / "echo_config.py").write_text(ECHO_CONFIG)
    (folder / "answer").write_bytes(answer)
    environ = settings("sqlite://", workers=workers)
    path = os.pathsep.join([str(folder), str(Path(__file__).parents[2])])
    with live(
        environ | {"ANSWER": str(folder / "answer"), "PYTHONPATH": path}, "python:echo_config"
    ) as server:
        yield server


def first_answer(server: Live, headers: dict[str, str]) -> bytes:
    """Give the bytes of one quote."""
    connection = http.client.HTTPConnection(HOST, server.port, timeout=60)
    connection.request("POST", "/v1/quotes", REQUEST.read_bytes(), headers)
    return connection.getresponse().read()


def compare(store: str, asked: argparse.Namespace, pool: Pool) -> None:
    """Load the service on one store, and the echo; print both and their ratios."""
    with tempfile.TemporaryDirectory() as name, url_of(store, Path(name)) as url:
        environ = settings(url, workers=asked.workers)
        migrate(environ)
        with live(environ) as service:
            headers = {
                "Content-Type": "application/json",
                "Authorization": f"Bearer {service.key()}",
            }
            answer = first_answer(service, headers)
            loads = {"service": Load(), "echo": Load()}
            with echo_of(answer, Path(name), asked.workers) as echo:
                for _ in range(ROUNDS):
                    one_round(loads["service"], service, headers, asked, pool)
                    one_round(loads["echo"], echo, headers, asked, pool)
        report(store, loads["service"], loads["echo"])


def report(store: str, service: Load, echo: Load) -> None:
    """Print both, and the service over the echo."""
    print(f"{store}: {len(service.waits)} quotes, {len(echo.waits)} echoes of {REQUEST.name}")
    for name, load in (("quotes", service), ("echoes", echo)):
        p50, p99 = load.percentile(50) * 1000, load.percentile(99) * 1000
        print(
            f"  {name} {load.rate:7.1f} per second, p50 {p50:.1f} ms, p99 {p99:.1f} ms, "
            f"{load.processor_ms:.2f} ms of processor each"
        )
    print(
        f"  a quote to an echo: {echo.rate / service.rate:.1f} by rate, "
        f"{service.percentile(50) / echo.percentile(50):.1f} by p50, "
        f"{service.percentile(99) / echo.percentile(99):.1f} by p99, "
        f"{service.processor_ms / echo.processor_ms:.1f} by processor time"
    )


def main() -> None:
    """Compare on every store there is."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--senders", type=int, default=4)
    parser.add_argument("--requests", type=int, default=400, help="most to each application")
    parser.add_argument("--seconds", type=float, default=60, help="most for each application")
    asked = parser.parse_args()
    with Pool(asked.senders, mp_context=get_context("spawn")) as pool:
        list(pool.map(abs, range(100)))  # so that no start of a sender is timed
        for store in ("sqlite", "postgresql") if POSTGRES else ("sqlite",):
            compare(store, asked, pool)


if __name__ == "__main__":
    main()
