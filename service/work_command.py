"""The command that works on re-pricing runs, and the processes that do so beside the web server."""

import argparse
import os
import signal
import subprocess
import sys
import threading
from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING

from service.settings import Settings

if TYPE_CHECKING:  # whoever only keeps others at work needs none of it
    from flask import Flask

    from service.adapters.storage.run_work import SqlRunWork
    from service.adapters.workers.nights import Nights

MOST = 64
_LOOK_SECONDS = 1.0
_PATIENCE_SECONDS = 60.0  # for the piece of work at hand
_COURTESY = 10  # the web server's work goes first


def work(asked: argparse.Namespace, settings: Settings) -> int:
    """Work once, or until the process is told to end."""
    if asked.processes is not None and not 1 <= asked.processes <= MOST:
        print(f"evenbay: --processes takes a whole number from 1 to {MOST}", file=sys.stderr)
        return 2
    stop = _until_told(asked.beside)
    if asked.processes and not asked.once:
        _keep_going(asked.processes, stop)
    else:
        _work_here(settings, stop, once=asked.once, beside=bool(asked.beside))
    return 0


def open_work(settings: Settings) -> "tuple[SqlRunWork, Nights]":
    """Open what a worker does, with connections of its own."""
    from service.adapters.storage.engine import connect
    from service.adapters.storage.run_work import SqlRunWork
    from service.adapters.workers.nights import Nights
    from service.api.replanning import Replanning
    from service.api.schemas.repricing import read_nightly

    engine = connect(settings.database_url)
    lease = timedelta(seconds=settings.run_lease_seconds)
    replan = Replanning(partial(_build, settings))
    return SqlRunWork(engine, lease=lease, replan=replan), Nights(engine, read_nightly)


def _build(settings: Settings) -> "Flask":
    """Build what plans quotes anew; a worker that never does so is spared it."""
    from service.app import create_app

    return create_app(settings)


def start_beside() -> subprocess.Popen[bytes]:
    """Keep one worker at work, in processes of their own that end with this one.

    Who keeps it loads this module alone, and so next to nothing.
    """
    command = [sys.executable, "-m", "service.work_command", str(os.getpid())]
    return subprocess.Popen(command)  # noqa: S603 - our own


def _work_here(settings: Settings, stop: threading.Event, *, once: bool, beside: bool) -> None:
    from service.adapters.telemetry import logs
    from service.adapters.workers.local import LocalWorker
    from service.collector import settle

    logs.set_up(settings.log_format, settings.log_level)
    if beside and not settings.database_url.startswith("sqlite"):
        # Where only one can write at a time, whoever writes slowly would keep the others waiting.
        os.nice(_COURTESY)
    runs, nights = open_work(settings)
    worker = LocalWorker(runs, nights)
    settle()
    try:
        if once:
            print(f"{worker.once()} pieces of work done.")
        else:
            worker.run(stop)
    finally:
        runs.engine.dispose()


def _keep_going(processes: int, stop: threading.Event) -> None:
    """Keep so many workers at work, each a process; one that dies is replaced."""
    working = [_start() for _ in range(processes)]
    while not stop.wait(_LOOK_SECONDS):
        working = [one if one.poll() is None else _start() for one in working]
    for one in working:
        one.terminate()
    for one in working:
        try:
            one.wait(_PATIENCE_SECONDS)
        except subprocess.TimeoutExpired:
            one.kill()


def _start() -> subprocess.Popen[bytes]:
    """Start a worker that ends with this process."""
    command = [sys.executable, "-m", "service", "work", "--beside", str(os.getpid())]
    return subprocess.Popen(command)  # noqa: S603 - our own


def _until_told(beside: int | None) -> threading.Event:
    """Give what is set once the process is told to end, or its parent is gone."""
    stop = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: stop.set())
    if beside is not None:
        threading.Thread(target=_watch_parent, args=[beside, stop], daemon=True).start()
    return stop


def _watch_parent(parent: int, stop: threading.Event) -> None:
    while os.getppid() == parent and not stop.wait(_LOOK_SECONDS):
        pass
    stop.set()


if __name__ == "__main__":
    _keep_going(1, _until_told(int(sys.argv[1])))
