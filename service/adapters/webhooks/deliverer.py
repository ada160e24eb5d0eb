"""What makes events arrive: it looks for work, sends, notes, and looks again."""

import logging
import random
import threading
from collections import Counter
from collections.abc import Callable
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from sqlalchemy import Engine

from service.adapters.storage.books import Books
from service.adapters.storage.deliveries import SqlRound
from service.adapters.storage.events import SqlEvents
from service.adapters.storage.rounds import dealers_with_lapsed, dealers_with_news, webhooks_due
from service.adapters.webhooks.post import Postman
from service.adapters.webhooks.signing import signed
from service.usecases.events import MEDIA_TYPE, Parcel, Receipt, wait_after

WHO = "deliverer"
AT_ONCE = 8
# So that an endpoint that hangs leaves room for the others.
AT_ONCE_EACH = 2
_LOOK_SECONDS = 1.0
_REST_SECONDS = 5.0  # after a database that did not answer
_SLACK = timedelta(seconds=50)
_log = logging.getLogger("service")


@dataclass
class Deliverer:
    """Sends what is due, in this process; any number may run beside each other.

    Attributes:
        engine: The database.
        postman: Sends.
        now: The clock.
        chance: Gives a number from 0 to 1, which spreads attempts.
    """

    engine: Engine
    postman: Postman
    now: Callable[[], datetime] = lambda: datetime.now(UTC)
    chance: Callable[[], float] = random.random
    _running: dict[Future[None], str] = field(default_factory=dict)

    def once(self) -> int:
        """Do all that is due now, and give how many parcels were sent."""
        self._prepare()
        sent = 0
        with ThreadPoolExecutor(AT_ONCE) as pool:
            while True:
                sent += self._start(pool)
                if not self._running:
                    return sent
                self._settle()

    def run(self, stop: threading.Event) -> None:
        """Go on until told to stop; what is being sent then is finished."""
        with ThreadPoolExecutor(AT_ONCE) as pool:
            while not stop.is_set():
                try:
                    self._prepare()
                    started = self._start(pool)
                except Exception as error:
                    _log.warning("events cannot be sent now: %s", type(error).__name__)
                    stop.wait(_REST_SECONDS)
                    continue
                if self._running:
                    self._settle(_LOOK_SECONDS)
                elif not started:
                    stop.wait(_LOOK_SECONDS)

    def _prepare(self) -> None:
        """Tell of quotes that lapsed, and look up who listens to what has happened."""
        at = self.now()
        for dealer in dealers_with_lapsed(self.engine, at.date()):
            books = self._round(dealer)
            while books.lapse(at.date(), at):
                pass
        for dealer in dealers_with_news(self.engine):
            SqlEvents(Books(self.engine, dealer, WHO)).place()

    def _start(self, pool: ThreadPoolExecutor) -> int:
        """Claim what there is room for, and begin to send it."""
        at, started = self.now(), 0
        lease = timedelta(seconds=self.postman.seconds) + _SLACK
        busy = Counter(self._running.values())
        for dealer, webhook in webhooks_due(self.engine, at):
            most = min(AT_ONCE - len(self._running), AT_ONCE_EACH - busy[webhook])
            if most < 1:
                continue
            for parcel in self._round(dealer).claim(webhook, at, lease, most):
                self._running[pool.submit(self._send, parcel)] = webhook
                started += 1
        return started

    def _settle(self, seconds: float | None = None) -> None:
        done, _ = wait(self._running, seconds, FIRST_COMPLETED)
        for one in done:
            del self._running[one]
            if error := one.exception():
                _log.warning("a delivery was not noted: %s", type(error).__name__)

    def _send(self, parcel: Parcel) -> None:
        headers = signed(parcel.event_id, self.now(), parcel.body, parcel.secrets)
        headers["Content-Type"] = f"{MEDIA_TYPE}; charset=utf-8"
        receipt = self.postman.post(parcel.url, headers, parcel.body)
        pause = self._pause(parcel, receipt)
        self._round(parcel.dealer).note(parcel, receipt, self.now(), pause)

    def _pause(self, parcel: Parcel, receipt: Receipt) -> timedelta | None:
        return None if receipt.gone else wait_after(parcel.attempts, self.chance())

    def _round(self, dealer: str) -> SqlRound:
        return SqlRound(Books(self.engine, dealer, WHO))
