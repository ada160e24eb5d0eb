"""The service as it runs: gunicorn in processes of its own, on a port that was free."""

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

HOST = "127.0.0.1"
STARTING_SECONDS = 30
SERVICE = "python:service.gunicorn_conf"
DEALER = "Larkmere Deck & Rail"


@dataclass(frozen=True, slots=True)
class Live:
    """A server that runs.

    Attributes:
        process: The master, whose children do the work.
        environ: What it was started with.
    """

    process: subprocess.Popen[bytes]
    port: int
    environ: dict[str, str]

    @property
    def url(self) -> str:
        """Give its address."""
        return f"http://{HOST}:{self.port}"

    def workers(self) -> list[int]:
        """Give the process ids of the workers that stand now."""
        pid = self.process.pid
        return [
            int(child) for child in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
        ]

    def key(self, *more: str) -> str:
        """Make a key as an operator would: one that may do everything, unless more is said."""
        command = [sys.executable, "-m", "service", "keys", "create", "--dealer", DEALER, *more]
        made = subprocess.run(command, env=self.environ, check=True, capture_output=True, text=True)
        return made.stdout.strip()


def settings(database: str, **more: object) -> dict[str, str]:
    """Give an environment that says where the database is, and what else is set."""
    chosen = {f"EVENBAY_{name.upper()}": str(value) for name, value in more.items()}
    quiet = {"EVENBAY_LOG_LEVEL": "ERROR", "EVENBAY_DATABASE_URL": database}
    quiet["EVENBAY_RATE_PER_MINUTE"] = "1000000"  # nobody is slowed down in a test
    quiet["EVENBAY_WORK"] = "off"  # the server's children are its workers, and nothing else
    return os.environ | quiet | chosen


def migrate(environ: dict[str, str]) -> None:
    """Bring the database up to date."""
    subprocess.run(
        [sys.executable, "-m", "service", "migrate"], env=environ, check=True, capture_output=True
    )


@contextmanager
def live(environ: dict[str, str], config: str = SERVICE) -> Iterator[Live]:
    """Run the service, or gunicorn as another configuration says, and end it afterwards.

    Raises:
        RuntimeError: It did not start.
    """
    port = _free_port()
    environ = environ | {"EVENBAY_HOST": HOST, "EVENBAY_PORT": str(port)}
    served = ["service", "serve"] if config == SERVICE else ["gunicorn", "--config", config]
    process = subprocess.Popen([sys.executable, "-m", *served], env=environ)
    try:
        _wait(process, port)
        yield Live(process, port, environ)
    finally:
        process.terminate()
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        port: int = probe.getsockname()[1]
        return port


def _wait(process: subprocess.Popen[bytes], port: int) -> None:
    until = time.monotonic() + STARTING_SECONDS
    while process.poll() is None and time.monotonic() < until:
        try:
            socket.create_connection((HOST, port), 1).close()
        except OSError:
            time.sleep(0.05)
        else:
            return
    raise RuntimeError("the server did not start")
