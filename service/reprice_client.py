"""Talks to a running service about re-pricing runs, over HTTP like any other caller."""

import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, BinaryIO
from urllib.parse import quote
from uuid import uuid4

import orjson
import urllib3
from urllib3.exceptions import HTTPError

from service import __version__

Json = dict[str, Any]
OPEN = ("planned", "running", "paused")
RUNS = "/v1/repricing-runs"
# What was sent may have arrived: the key of the request lets it be sent again. [tries, s]
_AGAIN = urllib3.Retry(
    6, backoff_factor=0.5, status_forcelist=(429, 503), allowed_methods=None, raise_on_status=False
)
_PIECE = 1 << 16


class CallFailed(Exception):
    """The service was not reached, or refused; the message says why and what to do."""


@dataclass
class Client:
    """A caller with a key.

    Attributes:
        url: Of the service, such as http://127.0.0.1:8000.
        key: Shown with every request, and printed nowhere.
        pause: Waits between two looks at a run. [s]
    """

    url: str
    key: str
    pause: Callable[[float], None] = time.sleep
    _pool: urllib3.PoolManager = field(
        default_factory=lambda: urllib3.PoolManager(
            retries=_AGAIN, timeout=urllib3.Timeout(connect=5, read=60)
        )
    )

    def begin(self, wish: Mapping[str, Any]) -> Json:
        """Begin a run."""
        return self._read("POST", RUNS, orjson.dumps(wish), {"Idempotency-Key": str(uuid4())})

    def run(self, run_id: str) -> Json:
        """Give a run as it stands."""
        return self._read("GET", _at(run_id))

    def step(self, run_id: str, step: str) -> Json:
        """Pause, resume or cancel a run."""
        return self._read("POST", f"{_at(run_id)}/{step}")

    def newest(self) -> list[Json]:
        """Give the newest runs."""
        found: list[Json] = self._read("GET", RUNS)["runs"]
        return found

    def watch(self, run_id: str) -> Iterator[Json]:
        """Give a run again and again until it is over; faster at first than later."""
        wait = 0.2
        while True:
            run = self.run(run_id)
            yield run
            if run["state"] not in OPEN:
                return
            self.pause(wait)
            wait = min(wait * 1.5, 5.0)

    def save_results(self, run_id: str, file: BinaryIO) -> None:
        """Write the results of a run as CSV, as they come."""
        response = self._ask("GET", f"{_at(run_id)}/results.csv", stream=True)
        try:
            for piece in response.stream(_PIECE):
                file.write(piece)
        except HTTPError as error:
            raise CallFailed(f"the results broke off ({type(error).__name__})") from error
        finally:
            response.release_conn()

    def _read(
        self, method: str, path: str, body: bytes = b"", headers: Mapping[str, str] | None = None
    ) -> Json:
        response = self._ask(method, path, body, headers or {})
        try:
            content: Json = orjson.loads(response.data)
        except orjson.JSONDecodeError:
            raise CallFailed(f"{self.url} answers something else than this service") from None
        return content

    def _ask(
        self,
        method: str,
        path: str,
        body: bytes = b"",
        headers: Mapping[str, str] | None = None,
        *,
        stream: bool = False,
    ) -> urllib3.BaseHTTPResponse:
        shown = {
            "Authorization": f"Bearer {self.key}",
            "User-Agent": f"evenbay/{__version__}",
            **({"Content-Type": "application/json"} if body else {}),
            **(headers or {}),
        }
        try:
            response = self._pool.request(
                method,
                self.url.rstrip("/") + path,
                body=body or None,
                headers=shown,
                preload_content=not stream,
            )
        except HTTPError as error:
            raise CallFailed(f"{self.url} is not reached ({type(error).__name__})") from error
        if response.status >= 400:
            raise CallFailed(_told(response))
        return response


def _at(run_id: str) -> str:
    """Give the address of a run, whatever was typed as its id."""
    return f"{RUNS}/{quote(run_id, safe='')}"


def _told(response: urllib3.BaseHTTPResponse) -> str:
    """Put a problem (RFC 9457) in one sentence."""
    try:
        problem = orjson.loads(response.data)
        errors = problem.get("errors", [])
        more = [f"{e['pointer']}: {e['detail']} {e.get('advice', '')}".rstrip() for e in errors]
        return "; ".join([f"{response.status} {problem['detail']}", *more])
    except (orjson.JSONDecodeError, KeyError, TypeError, AttributeError):
        return f"the service answered {response.status}"
