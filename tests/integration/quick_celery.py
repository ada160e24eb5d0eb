"""The service's Celery application with small pieces of work and quick looks, for tests of faults.

A worker that is started with EVENBAY_TEST_HOLD, a folder, stops in each piece after it has written
all of it: it leaves a file named by its process there, and goes on once there is a file "go".
"""

import os
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from service import celery_app
from service.adapters.storage import keep_material, run_ledger, run_work
from service.celery_app import app
from service.usecases.repricing.turns import Turns

__all__ = ["app"]

HOLD = os.environ.get("EVENBAY_TEST_HOLD", "")
SHIFT = timedelta(seconds=float(os.environ.get("EVENBAY_TEST_CLOCK_SHIFT", "0")))
PIECE = 10  # quotes

run_work._KEEP.update(postgresql=PIECE, sqlite=PIECE)
# The database gives up on who is cut off after two seconds in place of half a minute.
run_ledger._PATIENCE = (
    "SET LOCAL tcp_keepalives_idle = 1",
    "SET LOCAL tcp_keepalives_interval = 1",
    "SET LOCAL tcp_keepalives_count = 2",
    "SET LOCAL tcp_user_timeout = '2s'",
)
celery_app.TURN_SECONDS = float(os.environ.get("EVENBAY_TEST_TURN_SECONDS", "60"))
app.conf.beat_schedule["sweep"]["schedule"] = 1.0
app.conf.broker_connection_timeout = 1

_open, _write = celery_app.open_work, keep_material.write_revisions


def _shifted():
    return datetime.now(UTC) + SHIFT


def _opened(settings):
    runs, nights = _open(settings)
    turns = Turns(time.monotonic, seconds=0.0)  # each piece of work is one
    return replace(runs, now=_shifted, turns=turns), replace(nights, now=_shifted)


def _held(*args):
    _write(*args)
    if HOLD:
        Path(HOLD, str(os.getpid())).touch()
        while not Path(HOLD, "go").exists():
            time.sleep(0.02)


celery_app.open_work, keep_material.write_revisions = _opened, _held
