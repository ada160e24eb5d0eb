"""The service alone, on its embedded database: a run that is posted is done without any server."""

import os
import re
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import orjson
import pytest
import urllib3

from service.api.examples import example_request
from tests.live import live, settings

PATIENCE_SECONDS = 60


def children(pid):
    """Give the command line of each child of a process, by process id."""
    with suppress(OSError):
        listed = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
        return {int(one): command_of(one) for one in listed}
    return {}


def command_of(pid):
    with suppress(OSError):
        return Path(f"/proc/{pid}/cmdline").read_text().replace("\0", " ").strip()
    return ""


def runs_still(pid):
    """Tell whether a process is there, and not only its entry that nobody has read."""
    with suppress(OSError):
        return re.search(r"^State:\s+[^Z]", Path(f"/proc/{pid}/status").read_text(), re.M)
    return None


def until(found, what):
    """Wait until something is found, and give it."""
    deadline = time.monotonic() + PATIENCE_SECONDS
    while not (there := found()):
        assert time.monotonic() < deadline, f"no {what}"
        time.sleep(0.05)
    return there


def keepers(server):
    """Give the processes that keep a worker at work beside a web server, as they are now."""
    beside = children(server.process.pid).items()
    return [pid for pid, said in beside if "service.work_command" in said]


def keeper(server):
    return until(lambda: keepers(server), "process beside the web server")[0]


def worker(keeping):
    return until(
        lambda: [pid for pid, said in children(keeping).items() if "service work" in said],
        "worker",
    )[0]


@pytest.fixture
def environ(tmp_path):
    return settings(
        f"sqlite:///{tmp_path / 'evenbay.sqlite3'}", workers=1, work="on", run_lease_seconds=2
    )


class Office:
    """A caller with quotes by a kept table that has a second version, a tenth dearer."""

    def __init__(self, server):
        self._pool = urllib3.PoolManager(headers={"Authorization": f"Bearer {server.key()}"})
        self._url = server.url
        request = example_request("quote")
        prices = request.pop("price_table")
        made = self.ask("POST", "/v1/price-tables", prices)
        home = made["links"]["self"]
        self.ask("POST", f"{home}/versions/1/activate", {"from": "2026-01-01"})
        self.quotes = [
            self.ask("POST", "/v1/quotes", {**request, "price_table": {"stored": prices["name"]}})
            for _ in range(2)
        ]
        dearer = [
            {**row, "unit_price": str(round(float(row["unit_price"]) * 1.1, 2))}
            for row in prices["rows"]
        ]
        self.ask("POST", f"{home}/versions", {"rows": dearer, "currency": prices["currency"]})
        self.table = {"stored": prices["name"], "version": 2}

    def ask(self, method, path, body=None):
        sent = {"Content-Type": "application/json", "If-Match": "*"} if method == "POST" else {}
        answer = self._pool.request(
            method,
            self._url + path,
            body=orjson.dumps(body) if body is not None else None,
            headers={**self._pool.headers, **sent},
        )
        assert answer.status < 300, answer.data
        return orjson.loads(answer.data)

    def run(self, **more):
        """Begin a run, and give it once it is finished."""
        run = self.ask("POST", "/v1/repricing-runs", {"price_table": self.table, **more})
        home = run["links"]["self"]

        def finished():
            held = self.ask("GET", home)
            return held if held["state"] == "finished" else None

        return until(finished, "end of the run")


def came(run):
    counted = {one["outcome"]: one["quotes"] for one in run["summary"]["outcomes"]}
    return {outcome: quotes for outcome, quotes in counted.items() if quotes}


def test_a_run_is_finished_though_its_worker_is_killed(environ):
    with live(environ) as server:
        office = Office(server)
        keeping = keeper(server)
        first = office.run()
        assert came(first) == {"changed": len(office.quotes)}
        results = office.ask("GET", first["links"]["results"])["results"]
        assert {one["quote"] for one in results} == {one["id"] for one in office.quotes}

        killed = worker(keeping)
        os.kill(killed, signal.SIGKILL)
        another = until(
            lambda: [pid for pid in children(keeping) if pid != killed and runs_still(pid)],
            "worker in place of the one that was killed",
        )[0]
        again = office.run()
        assert came(again) == {"unchanged": len(office.quotes)}
        assert runs_still(another)


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGKILL])
def test_the_end_of_the_web_server_ends_its_worker(environ, how):
    with live(environ) as server:
        keeping = keeper(server)
        working = worker(keeping)
        server.process.send_signal(how)
        server.process.wait(30)
        until(lambda: not (runs_still(keeping) or runs_still(working)), "end of the worker")


def test_no_worker_stands_beside_where_that_is_asked_for(environ):
    with live(environ | {"EVENBAY_WORK": "off"}) as server:
        office = Office(server)
        run = office.ask("POST", "/v1/repricing-runs", {"price_table": office.table})
        assert not keepers(server)
        command = [sys.executable, "-m", "service", "work", "--once"]
        done = subprocess.run(command, env=server.environ, capture_output=True, text=True)
        assert (done.returncode, done.stderr) == (0, "")
        assert re.fullmatch(r"\d+ pieces of work done\.\n", done.stdout)
        assert office.ask("GET", run["links"]["self"])["state"] == "finished"


def test_several_processes_are_kept_at_work_until_told_to_end(environ):
    command = [sys.executable, "-m", "service", "work", "--processes", "2"]
    with subprocess.Popen(command, env=environ) as keeping:
        try:
            first = until(lambda: len(children(keeping.pid)) == 2 and children(keeping.pid), "pair")
            os.kill(min(first), signal.SIGKILL)
            until(lambda: len(set(children(keeping.pid)) - set(first)) == 1, "third")
            working = set(children(keeping.pid))
            keeping.terminate()
            assert keeping.wait(30) == 0
            assert not [pid for pid in working if runs_still(pid)]
        finally:
            keeping.kill()
