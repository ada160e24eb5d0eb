"""Workers that a broker calls: Celery carries hints that there is work, and nothing else.

What is to be done, by whom, and what is done stands in the database's ledger. Whoever gets a hint
works on what the ledger gives out, so that the broker may lose all it holds, or bring it twice,
and nothing is lost or done twice.

Start workers with ``celery -A service.celery_app worker`` on any number of hosts that reach the
same database and broker, and ``celery -A service.celery_app beat`` on one of them.
"""

import logging
import time
from collections.abc import Sequence
from functools import cache

from celery import Celery
from celery.signals import setup_logging

from service.adapters.storage.rounds import runs_at_work
from service.adapters.storage.run_work import SqlRunWork
from service.adapters.telemetry import logs
from service.adapters.workers.hints import SWEEP, WORK, Which, conf_of, hint_at
from service.adapters.workers.nights import Nights
from service.collector import settle
from service.settings import from_environment
from service.usecases.outages import StoreUnavailable
from service.work_command import open_work

SWEEP_SECONDS = 30.0
# A task hands over after so long, so that a worker that is to end does so soon.
TURN_SECONDS = 60.0

_log = logging.getLogger("service")
_settings = from_environment()
if not _settings.broker_url:
    raise ValueError("EVENBAY_BROKER_URL is not set; `evenbay work` works without a broker")
app = Celery("evenbay", broker=_settings.broker_url)
app.conf.update(
    conf_of(_settings.broker_url)
    | {"beat_schedule": {"sweep": {"task": SWEEP, "schedule": SWEEP_SECONDS}}}
)


@setup_logging.connect  # type: ignore[untyped-decorator]
def _set_up(**_: object) -> None:
    """Write the lines of workers as all others are written."""
    logs.set_up(_settings.log_format, _settings.log_level)
    for name in ("celery.apps.worker", "celery.worker.consumer", "celery.beat"):
        logging.getLogger(name).setLevel(_settings.log_level)


@cache
def _opened() -> tuple[SqlRunWork, Nights]:
    """Open the database once in each process, after it was forked."""
    opened = open_work(_settings)
    settle()
    return opened


@app.task(name=WORK)  # type: ignore[untyped-decorator]
def work(dealer: str, run_id: str) -> int:
    """Work on whatever there is, whichever run it was hinted at; give how many pieces were done."""
    runs, pieces, handed_over = _opened()[0], 0, False
    while not handed_over:
        turn = _Turn()
        try:
            pieces += runs.work(turn.is_over)
        except StoreUnavailable:
            _log.warning("the database is away; the sweep comes back to what is left")
            return pieces
        # Without a broker it is better to go on.
        handed_over = not turn.is_over() or _hinted([(dealer, run_id)]) > 0
    return pieces


@app.task(name=SWEEP)  # type: ignore[untyped-decorator]
def sweep() -> int:
    """Begin the nightly runs that are due, and hint at all runs that have work left."""
    runs, nights = _opened()
    try:
        nights.begin_due()
        left = [(found.dealer, found.id) for found in runs_at_work(runs.engine)]
    except StoreUnavailable:
        _log.warning("the database is away; the next sweep looks again")
        return 0
    return _hinted(left)


class _Turn:
    """The time after which a task lets others have their turn."""

    def __init__(self) -> None:
        self._until = time.monotonic() + TURN_SECONDS

    def is_over(self) -> bool:
        return time.monotonic() >= self._until


def _hinted(runs: Sequence[Which]) -> int:
    """Hint at runs, and give how many hints the broker took."""
    try:
        return hint_at(app, runs)
    except Exception as error:
        _log.warning("the broker took no hint: %s", type(error).__name__)
        return 0
