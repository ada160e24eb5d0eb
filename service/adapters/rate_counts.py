"""Requests counted in this process, as a store of the rates.

The library's own store in memory starts a thread at almost every request, to drop what expired.
Here what expired is dropped once in a while by a request that counts.
"""

import time
from threading import Lock

from limits.storage import Storage

SWEPT_EVERY = 60.0  # [s]


class ProcessCounts(Storage):
    """Counters that begin anew when their time is over."""

    STORAGE_SCHEME = ["process"]  # noqa: RUF012 - the library reads a list here

    def __init__(self, uri: str | None = None, wrap_exceptions: bool = False, **_: str) -> None:
        """Take what the library hands to every store; nothing of it matters here."""
        super().__init__(uri, wrap_exceptions=wrap_exceptions)
        self._lock = Lock()
        self._counted: dict[str, tuple[int, float]] = {}
        self._swept = time.time()

    @property
    def base_exceptions(self) -> type[Exception]:
        """Name what goes wrong in a store: nothing does."""
        return ValueError

    def incr(self, key: str, expiry: int, amount: int = 1) -> int:
        """Count on, or from nothing where the time of a counter is over."""
        now = time.time()
        with self._lock:
            if now >= self._swept + SWEPT_EVERY:
                self._counted = {k: kept for k, kept in self._counted.items() if kept[1] > now}
                self._swept = now
            counted, end = self._counted.get(key, (0, 0.0))
            if end <= now:
                counted, end = 0, now + expiry
            self._counted[key] = counted + amount, end
            return counted + amount

    def get(self, key: str) -> int:
        """Give what is counted."""
        counted, end = self._counted.get(key, (0, 0.0))
        return counted if end > time.time() else 0

    def get_expiry(self, key: str) -> float:
        """Give when a counter begins anew. [s since 1970]."""
        return self._counted.get(key, (0, time.time()))[1]

    def check(self) -> bool:
        """Say that the store is well."""
        return True

    def reset(self) -> int:
        """Forget all counters; give how many there were."""
        with self._lock:
            forgotten = len(self._counted)
            self._counted = {}
        return forgotten

    def clear(self, key: str) -> None:
        """Forget a counter."""
        with self._lock:
            self._counted.pop(key, None)
