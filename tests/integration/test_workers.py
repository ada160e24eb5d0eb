"""Several gunicorn workers look like one: metrics add up, and every log line is one object."""

import http.client
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from contextlib import suppress
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import orjson
import pytest
from prometheus_client.parser import text_string_to_metric_families

from service.settings import sqlite_url
from tests.serving import key_for, migrated_app

ROOT = Path(__file__).parents[2]
DEMO = (ROOT / "openapi" / "examples" / "quote-request.json").read_bytes()
WRONG = b'{"reference": "Smith, 14 Osprey Lane"}'


def ask(port, method, path, body=None, **headers):
    """Ask over a connection of its own, so that any worker may take it."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    try:
        connection.request(method, path, body, headers)
        response = connection.getresponse()
        return response.status, response.read(), response.headers
    finally:
        connection.close()


class Collector(HTTPServer):
    """Takes spans sent by OTLP over HTTP, and keeps the bodies."""

    def __init__(self):
        self.bodies = bodies = []

        class Take(BaseHTTPRequestHandler):
            def do_POST(self):
                bodies.append((self.path, self.rfile.read(int(self.headers["Content-Length"]))))
                self.send_response(200)
                self.end_headers()

            def log_message(self, *_):
                pass

        super().__init__(("127.0.0.1", 0), Take)
        threading.Thread(target=self.serve_forever, daemon=True).start()


class Served:
    """A service of two workers, its log, and what it left behind."""

    def __init__(self, directory, **environment):
        self.directory = directory
        data = directory / "data"
        app = migrated_app(url=sqlite_url(data))
        self.key = key_for(app)
        app.extensions["evenbay"].engine.dispose()
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.log = directory / "log"
        settings = {
            "EVENBAY_PORT": str(self.port),
            "EVENBAY_DATA_DIR": str(data),
            "EVENBAY_WORKERS": "2",
            "EVENBAY_SERVER_TIMING": "on",
            "EVENBAY_WORK": "off",  # the master's children are web workers, and nothing else
            "PROMETHEUS_MULTIPROC_DIR": str(directory / "metrics"),
        }
        with self.log.open("wb") as log:
            self.master = subprocess.Popen(
                [sys.executable, "-m", "service", "serve"],
                cwd=ROOT, env=os.environ | settings | environment, stdout=log, stderr=log,
            )  # fmt: skip
        self._await()

    def _await(self):
        deadline = time.monotonic() + 30
        while time.monotonic() < deadline:
            assert self.master.poll() is None, self.log.read_text()
            with suppress(OSError):
                if ask(self.port, "GET", "/health/ready")[0] == 200:
                    return
            time.sleep(0.1)
        raise AssertionError(self.log.read_text())

    def post(self, body, path="/v1/quotes", **headers):
        sent = {"Authorization": f"Bearer {self.key}", "Content-Type": "application/json"}
        return ask(self.port, "POST", path, body, **sent, **headers)

    def counted(self):
        """Give all samples, as whichever worker answers tells them."""
        status, content, _ = ask(self.port, "GET", "/metrics")
        assert status == 200
        return {
            (sample.name, *sorted(sample.labels.items())): sample.value
            for family in text_string_to_metric_families(content.decode())
            for sample in family.samples
        }

    def workers(self):
        listed = Path(f"/proc/{self.master.pid}/task/{self.master.pid}/children").read_text()
        return {int(pid) for pid in listed.split()}

    def lines(self):
        return [orjson.loads(line) for line in self.log.read_bytes().splitlines()]

    def stop(self):
        self.master.send_signal(signal.SIGTERM)
        return self.master.wait(timeout=40)


@pytest.fixture
def served(tmp_path):
    service = Served(tmp_path)
    yield service
    if service.master.poll() is None:
        service.stop()


def of(route, status, method="POST"):
    return ("method", method), ("route", route), ("status", str(status))


def test_counts_of_all_workers_add_up_and_outlive_one(served):
    (served.directory / "metrics" / "beside.txt").touch()
    asked = 24
    for number in range(asked):
        assert served.post(DEMO if number % 4 == 0 else WRONG)[0] in (201, 422)
    quotes = of("/v1/quotes", 201)
    for _ in range(6):
        counted = served.counted()
        assert counted["evenbay_requests_total", *quotes] == asked / 4
        assert counted["evenbay_requests_total", *of("/v1/quotes", 422)] == asked * 3 / 4
        assert counted["evenbay_quotes_total",] == asked / 4
    files = {path.name for path in (served.directory / "metrics").glob("counter_*.db")}
    assert len(files) >= 2, "both workers have counted"
    before = served.workers()
    os.kill(max(before), signal.SIGKILL)
    deadline = time.monotonic() + 20
    while len(served.workers() - before) < 1 and time.monotonic() < deadline:
        time.sleep(0.1)
    assert served.post(DEMO)[0] == 201
    for _ in range(6):
        assert served.counted()["evenbay_requests_total", *quotes] == asked / 4 + 1


def test_stages_of_a_quote_are_told_and_counted(served):
    status, _, headers = served.post(DEMO)
    assert status == 201
    told = [part.partition(";dur=") for part in headers["Server-Timing"].split(", ")]
    names = [name for name, _, _ in told]
    assert names == [
        "read", "lay-out", "check", "screen", "advise", "take-off", "cut", "price", "write",
        "store", "total",
    ]  # fmt: skip
    spent = {name: float(taken) for name, _, taken in told}
    total = spent.pop("total")
    assert 0 < sum(spent.values()) <= total + 0.1 * len(spent)
    counted = served.counted()
    for name in spent:
        assert counted["evenbay_quote_stage_seconds_count", ("stage", name)] == 1
    assert sum(v for k, v in counted.items() if k[0] == "evenbay_cut_plans_total") > 0


def test_every_line_is_an_object_and_tells_nothing_of_customers(served):
    identity = "crm-17"
    _, made, _ = served.post(DEMO, **{"X-Request-Id": identity})
    quote = orjson.loads(made)["id"]
    ask(served.port, "GET", f"/v1/quotes/{quote}?who=Smith", Authorization="Bearer evb_wrong_key")
    served.post(WRONG)
    with socket.create_connection(("127.0.0.1", served.port), timeout=10) as raw:
        raw.sendall(b"GET /Smith HTTP/1.1\r\nHost: here\r\nBad Header: Smith\r\n\r\n")
        assert raw.recv(200).startswith(b"HTTP/1.1 400")
    assert served.stop() == 0
    lines = served.lines()
    mine = [line for line in lines if line.get("request_id") == identity]
    assert [(line["method"], line["route"], line["status"]) for line in mine] == [
        ("POST", "/v1/quotes", 201)
    ]
    assert mine[0]["duration_ms"] > 0
    assert mine[0]["tenant"]
    assert served.key not in str(lines)
    assert mine[0]["key"] in served.key
    assert {line["logger"] for line in lines} >= {"gunicorn.error", "service.requests"}
    assert any(line["message"].startswith("A request was refused") for line in lines)
    everything = served.log.read_text()
    for private in ("Smith", "Osprey", "evb_wrong_key", quote, "127.0.0.1 "):
        assert private not in everything


def test_a_request_that_runs_is_finished_before_the_end(served):
    answered = []
    slow = threading.Thread(target=lambda: answered.append(served.post(slowly(DEMO))[0]))
    slow.start()
    time.sleep(0.5)
    assert served.stop() == 0
    slow.join(30)
    assert answered == [201]


def test_a_worker_told_to_end_while_it_starts_ends_at_once(served):
    """Before it has handlers of its own, those of the master would swallow the signal."""
    known = served.workers()
    os.kill(max(known), signal.SIGKILL)
    for _ in range(4):
        while not (young := served.workers() - known):  # the master makes one in its place
            time.sleep(0.001)
        for pid in young:
            os.kill(pid, signal.SIGTERM)
        deadline = time.monotonic() + 10
        while young & served.workers() and time.monotonic() < deadline:
            time.sleep(0.02)
        assert not young & served.workers()
        known |= young


def slowly(body):
    """Send a body in pieces over about a second and a half."""
    for start in range(0, len(body), 1 + len(body) // 5):
        time.sleep(0.3)
        yield body[start : start + 1 + len(body) // 5]


def test_text_and_no_metrics_if_that_is_asked_for(tmp_path):
    service = Served(tmp_path, EVENBAY_LOG_FORMAT="text", EVENBAY_METRICS="off")
    assert ask(service.port, "GET", "/metrics")[0] == 404
    assert not (tmp_path / "metrics").exists()
    assert service.stop() == 0
    log = service.log.read_text()
    assert "INFO service.requests: GET /health/ready 200" in log
    assert "{" not in log


def test_counts_begin_anew_with_each_start(tmp_path):
    for start in range(2):
        service = Served(tmp_path / str(start), PROMETHEUS_MULTIPROC_DIR=str(tmp_path / "shared"))
        assert service.post(DEMO)[0] == 201
        assert service.counted()["evenbay_quotes_total",] == 1
        assert service.stop() == 0


def test_spans_of_workers_are_sent(tmp_path):
    pytest.importorskip("opentelemetry.sdk", reason="the extra otel")
    collector = Collector()
    address = f"http://127.0.0.1:{collector.server_port}"
    service = Served(tmp_path, EVENBAY_OTLP_ENDPOINT=address, OTEL_BSP_SCHEDULE_DELAY="100")
    assert service.post(DEMO)[0] == 201
    deadline = time.monotonic() + 15
    while time.monotonic() < deadline and not any(b"lay-out" in b for _, b in collector.bodies):
        time.sleep(0.1)
    assert service.stop() == 0
    collector.shutdown()
    collector.server_close()
    assert {path for path, _ in collector.bodies} == {"/v1/traces"}
    sent = b"".join(body for _, body in collector.bodies)
    assert b"POST /v1/quotes" in sent
    assert b"lay-out" in sent
    assert b"Osprey" not in sent
