"""The local worker: it looks for work, does a piece, and looks again."""

import logging
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

from service.adapters.storage.run_work import owner_of_its_own
from service.usecases.repricing.ports import RunWork

LOOK_SECONDS = 1.0
NIGHTS_SECONDS = 15.0  # between looks at the hours of every dealer
_REST_SECONDS = 5.0  # after a database that did not answer
_log = logging.getLogger("service")


class Beginner(Protocol):
    """Begins what is due by itself."""

    def begin_due(self) -> int:
        """Begin it, and give how much that was."""
        ...


@dataclass
class LocalWorker:
    """Works in this process; any number may work beside each other, on any host.

    Attributes:
        runs: The work there is.
        nights: Begins the nightly runs.
        ticks: Seconds that pass, whatever the clock on the wall is set to. [s]
    """

    runs: RunWork
    nights: Beginner
    ticks: Callable[[], float] = time.monotonic
    _looked: float | None = field(default=None)

    def once(self) -> int:
        """Do all there is to do now, and give how many pieces that were."""
        self.nights.begin_due()
        return self.runs.work(lambda: False)

    def run(self, stop: threading.Event) -> None:
        """Go on until told to stop; the piece of work at hand is finished."""
        owner = owner_of_its_own()
        while not stop.is_set():
            try:
                self._begin_due()
                busy = self.runs.step(owner)
            except Exception as error:
                _log.warning("no work can be done now: %s", type(error).__name__)
                stop.wait(_REST_SECONDS)
                continue
            if not busy:
                stop.wait(LOOK_SECONDS)

    def _begin_due(self) -> None:
        """Look at the hours now and then, not before every piece of work."""
        now = self.ticks()
        if self._looked is None or now - self._looked >= NIGHTS_SECONDS:
            self.nights.begin_due()
            self._looked = now
