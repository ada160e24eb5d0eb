"""The demonstration: start the service as it is run, quote the demo deck, show the quote."""

import http.client
import os
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import orjson

from service.adapters.documents.quote_text import render
from service.api.examples import DEMO

HOST = "127.0.0.1"
STARTING_SECONDS = 30


class DemoError(Exception):
    """The service did not start, or did not answer with a quote."""


def demonstrate(drawing: Path, *, keep: bool) -> int:
    """Quote the demo deck over HTTP, print the quote and save its drawing.

    Args:
        drawing: File for the drawing.
        keep: Keep serving until interrupted.
    """
    port = _free_port()
    with tempfile.TemporaryDirectory(prefix="evenbay-") as directory:
        environment = _environment(port, None if keep else Path(directory))
        try:
            with _served(environment, port) as server:
                key = _key(environment)
                _show(port, key, drawing)
                if keep:
                    print(f"\nServing at http://{HOST}:{port}/docs until interrupted (Ctrl-C).")
                    print(f"Authorization: Bearer {key}")
                    _wait(server)
        except DemoError as failure:
            print(f"evenbay: {failure}", file=sys.stderr)
            return 1
    return 0


def _environment(port: int, data: Path | None) -> dict[str, str]:
    """Serve as the environment says, but quietly, and unless kept on a database of its own."""
    chosen = {"EVENBAY_HOST": HOST, "EVENBAY_PORT": str(port), "EVENBAY_LOG_LEVEL": "WARNING"}
    environment = os.environ | chosen
    if data:
        environment.pop("EVENBAY_DATABASE_URL", None)
        environment["EVENBAY_DATA_DIR"] = str(data)
        environment["EVENBAY_WORK"] = "off"
    return environment


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        port: int = probe.getsockname()[1]
    return port


@contextmanager
def _served(environment: dict[str, str], port: int) -> Iterator[subprocess.Popen[bytes]]:
    server = subprocess.Popen([sys.executable, "-m", "service", "serve"], env=environment)
    try:
        _await_ready(server, port)
        yield server
    finally:
        server.terminate()
        server.wait(timeout=40)


def _await_ready(server: subprocess.Popen[bytes], port: int) -> None:
    deadline = time.monotonic() + STARTING_SECONDS
    while time.monotonic() < deadline:
        if server.poll() is not None:
            raise DemoError("the service stopped before it was ready; its own words are above")
        with suppress(OSError, http.client.HTTPException):
            if _ask(port, "GET", "/health/ready")[0] == 200:
                return
        time.sleep(0.1)
    raise DemoError(f"the service was not ready within {STARTING_SECONDS} s")


def _key(environment: dict[str, str]) -> str:
    made = subprocess.run(
        [sys.executable, "-m", "service", "keys", "create", "--dealer", "Larkmere Deck & Rail"],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    if made.returncode:
        raise DemoError(f"no key could be made:\n{made.stderr}")
    return made.stdout.strip()


def _ask(
    port: int, method: str, path: str, key: str = "", body: bytes | None = None
) -> tuple[int, bytes]:
    headers = {"Content-Type": "application/json"}
    if key:
        headers["Authorization"] = f"Bearer {key}"
    connection = http.client.HTTPConnection(HOST, port, timeout=30)
    try:
        connection.request(method, path, body, headers)
        response = connection.getresponse()
        return response.status, response.read()
    finally:
        connection.close()


def _show(port: int, key: str, drawing: Path) -> None:
    request = (DEMO / "quote-request.json").read_bytes()
    status, answer = _ask(port, "POST", "/v1/quotes", key, request)
    if status != 201:
        raise DemoError(f"the demo deck was refused:\n{answer.decode()}")
    quote: dict[str, Any] = orjson.loads(answer)
    status, svg = _ask(port, "GET", quote["links"]["drawing"], key)
    if status != 200:
        raise DemoError(f"the drawing was refused:\n{svg.decode()}")
    drawing.parent.mkdir(parents=True, exist_ok=True)
    drawing.write_bytes(svg)
    print(render(quote))
    print(f"Drawing: {drawing}")


def _wait(server: subprocess.Popen[bytes]) -> None:
    try:
        server.wait()
    except KeyboardInterrupt:
        print()
