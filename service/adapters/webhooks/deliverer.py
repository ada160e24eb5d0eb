"""What makes events arrive: it looks for work, sends, notes, and looks again."""

import logging
import random
import threading
from collections import Counter
from collections.abc import Callable
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from time import monotonic

from sqlalchemy import Engine

from service.adapters.storage.books import Books
from service.adapters.storage.deliveries import SqlRound
from service.adapters.storage.events import SqlEvents
from service.adapters.storage.old_events import SqlOldEvents
from service.adapters.storage.rounds import (
    dealers_with_lapsed,
    dealers_with_news,
    dealers_with_old,
    webhooks_due,
)
from service.adapters.webhooks.post import Postman
from service.adapters.webhooks.signing import signed
from service.usecases.events import MEDIA_TYPE, Parcel
from service.usecases.patience import wait_after

WHO = "deliverer"
AT_ONCE = 16
AT_ONCE_EACH = 4
# So that those that are slow leave room for the others, however many they are.
AT_ONCE_SLOW = 8
_SLOW = timedelta(seconds=1)
DEAD_KEPT = 4  # times as long: what was never taken
_LOOK_SECONDS = 1.0
_SWEEP_SECONDS = 600.0
_REST_SECONDS = 5.0  # after a database that did not answer
_SLACK = timedelta(seconds=50)
_log = logging.getLogger("service")


@dataclass
class Deliverer:
    """Sends what is due, in this process; any number may run beside each other.

    Attributes:
        engine: The database.
        postman: Sends.
        keep: How long events are fed.
        now: The clock.
        chance: Gives a number from 0 to 1, which spreads attempts.
    """

    engine: Engine
    postman: Postman
    keep: timedelta = timedelta(days=90)
    now: Callable[[], datetime] = lambda: datetime.now(UTC)
    chance: Callable[[], float] = random.random
    _running: dict[Future[None], str] = field(default_factory=dict)
    _lasted: dict[str, timedelta] = field(default_factory=dict)
    _turns: dict[str, int] = field(default_factory=dict)
    _swept: float | None = None

    def once(self) -> int:
        """Do all that is due now, and give how many parcels were sent."""
        more, sent = True, 0
        with ThreadPoolExecutor(AT_ONCE) as pool:
            while self._sweep():
                pass
            while True:
                more = more and self._prepare()
                sent += self._start(pool)
                if self._running:
                    self._settle()
                elif not more:
                    return sent

    def run(self, stop: threading.Event) -> None:
        """Go on until told to stop; what is being sent then is finished."""
        with ThreadPoolExecutor(AT_ONCE) as pool:
            while not stop.is_set():
                try:
                    more = self._prepare()
                    started = self._start(pool)
                    self._sweep_now_and_then()
                except Exception as error:
                    _log.warning("events cannot be sent now: %s", type(error).__name__)
                    stop.wait(_REST_SECONDS)
                    continue
                if self._running:
                    self._settle(_LOOK_SECONDS)
                elif not (started or more):
                    stop.wait(_LOOK_SECONDS)

    def _prepare(self) -> bool:
        """Tell of quotes that lapsed, and look up who listens to what has happened.

        Returns:
            Whether more has happened than was looked at; nothing else waits for that.
        """
        at, more = self.now(), False
        for dealer in dealers_with_lapsed(self.engine, at.date()):
            books = self._round(dealer)
            while books.lapse(at.date(), at):
                pass
        for dealer in dealers_with_news(self.engine):
            more |= SqlEvents(Books(self.engine, dealer, WHO)).place()
        return more

    def _sweep(self) -> bool:
        """Let some of what is old go, and tell whether there may be more."""
        before, dead_before = self.now() - self.keep, self.now() - DEAD_KEPT * self.keep
        more = False
        for dealer in dealers_with_old(self.engine, before, dead_before):
            books = Books(self.engine, dealer, WHO)
            more |= SqlOldEvents(books).sweep(before, dead_before)
        return more

    def _sweep_now_and_then(self) -> None:
        """Sweep once in a while, and go on with the next look while there is more."""
        due = self._swept is None or monotonic() - self._swept >= _SWEEP_SECONDS
        if due and not self._sweep():
            self._swept = monotonic()

    def _start(self, pool: ThreadPoolExecutor) -> int:
        """Claim what there is room for, and begin to send it."""
        at, started = self.now(), 0
        lease = timedelta(seconds=self.postman.seconds) + _SLACK
        due = webhooks_due(self.engine, at)
        for dealer, webhook in sorted(due, key=lambda one: self._turns.get(one[1], 0)):
            most = self._room(webhook)
            if most < 1:
                continue
            self._turns[webhook] = max(self._turns.values(), default=0) + 1
            for parcel in self._round(dealer).claim(webhook, at, lease, most):
                self._running[pool.submit(self._send, parcel)] = webhook
                started += 1
        return started

    def _room(self, webhook: str) -> int:
        """Tell how many parcels may go to an endpoint now: one until it is known to be quick.

        Those that took long the last time, or did not answer, share a part of the room.
        """
        running = Counter(self._running.values())
        free = AT_ONCE - running.total()
        lasted = self._lasted.get(webhook)
        if lasted is None:
            return min(free, 1 - running[webhook])
        if lasted < _SLOW:
            return min(free, AT_ONCE_EACH - running[webhook])
        slow = sum(self._lasted.get(one, _SLOW) >= _SLOW for one in self._running.values())
        return min(free, AT_ONCE_SLOW - slow, 1 - running[webhook])

    def _settle(self, seconds: float | None = None) -> None:
        done, _ = wait(self._running, seconds, FIRST_COMPLETED)
        for one in done:
            del self._running[one]
            if error := one.exception():
                _log.warning("a delivery was not noted: %s", type(error).__name__)

    def _send(self, parcel: Parcel) -> None:
        began = monotonic()
        headers = signed(parcel.event_id, self.now(), parcel.body, parcel.secrets)
        headers["Content-Type"] = f"{MEDIA_TYPE}; charset=utf-8"
        receipt = self.postman.post(parcel.url, headers, parcel.body)
        self._lasted[parcel.webhook_id] = timedelta(seconds=monotonic() - began)
        wait = wait_after(parcel.attempts, self.chance(), receipt)
        self._round(parcel.dealer).note(parcel, receipt, self.now(), wait)

    def _round(self, dealer: str) -> SqlRound:
        return SqlRound(Books(self.engine, dealer, WHO))
