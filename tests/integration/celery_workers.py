"""Celery workers as processes of their own, on a PostgreSQL database and a broker."""

import os
import signal
import subprocess
import sys
import time
from collections import Counter
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

from sqlalchemy import select

from service.adapters.storage import migrate
from service.adapters.storage.engine import connect
from service.adapters.storage.tables import events, quote_lives, quotes, run_chunks
from service.adapters.workers.hints import hint_at
from service.usecases.repricing.records import Outcome, RunState
from tests.integration.brokers import sender
from tests.repricing import Shop, rows

ROOT = Path(__file__).parents[2]
APP = "tests.integration.quick_celery"
LEASE_SECONDS = 2
PATIENCE_SECONDS = 60


def until(found, what):
    """Wait until something is found, and give it."""
    deadline = time.monotonic() + PATIENCE_SECONDS
    while not (there := found()):
        assert time.monotonic() < deadline, f"no {what} after {PATIENCE_SECONDS} s"
        time.sleep(0.03)
    return there


@dataclass
class Site:
    """A database with a dealer's quotes, a broker, and workers of both.

    Attributes:
        folder: For what workers leave behind.
    """

    database: str
    broker: str
    folder: Path
    quotes: int = 60
    _workers: list = field(default_factory=list)

    def __post_init__(self):
        self.engine = connect(self.database)
        migrate.upgrade(self.engine)
        self.shop = Shop(self.engine)
        self.table = self.shop.table(drafts=[rows(), rows("1.07")])
        self.made = [self.shop.quote(self.table) for _ in range(self.quotes)]
        self.hold = self.folder / "hold"
        self.hold.mkdir(exist_ok=True)

    def close(self):
        for worker in self._workers:
            with suppress(ProcessLookupError):
                os.killpg(worker.pid, signal.SIGKILL)  # and its children
            worker.wait()
        self.engine.dispose()

    def worker(self, *options, before=(), wait=True, **environ):
        """Start a worker, one process unless told otherwise, and give it once it is ready."""
        name = f"worker-{len(self._workers)}"
        log = self.folder / name
        said = ["-l", "INFO", "-n", f"{name}@%h", "--without-gossip", "--without-mingle"]
        pool = () if {"-c", "-B"} & set(options) else ("--pool", "solo")
        with log.open("wb") as lines:
            worker = subprocess.Popen(
                [*before, sys.executable, "-m", "celery", "-A", APP, "worker", *said, *pool,
                 "-s", str(self.folder / f"{name}-schedule"), *options],
                cwd=ROOT, env=self._environ(environ), stdout=lines, stderr=lines,
                start_new_session=True,
            )  # fmt: skip
        self._workers.append(worker)
        worker.log = log
        if wait:
            self.ready(worker)
        return worker

    @staticmethod
    def ready(worker):
        def told():
            assert worker.poll() is None, worker.log.read_text()
            return " ready." in worker.log.read_text()

        until(told, "worker that is ready")

    def _environ(self, more):
        told = {
            "EVENBAY_DATABASE_URL": self.database,
            "EVENBAY_BROKER_URL": self.broker,
            "EVENBAY_RUN_LEASE_SECONDS": str(LEASE_SECONDS),
            "EVENBAY_LOG_FORMAT": "text",
            "PYTHONPATH": str(ROOT),
            "PYTHONUNBUFFERED": "1",
        }
        return os.environ | told | {name.upper(): str(value) for name, value in more.items()}

    def held(self, count=1):
        """Wait until so many workers stop in a piece, and give their processes."""
        return until(lambda: len(got := self._held()) >= count and got, "worker in a piece")

    def _held(self):
        return [int(one.name) for one in self.hold.iterdir() if one.name.isdigit()]

    def go(self):
        """Let everyone who stops in a piece go on."""
        (self.hold / "go").touch()

    def begin(self, *, hint=True):
        """Begin a run, and hint at it."""
        self.run = self.shop.begin(self.table)
        if hint:
            self.hint()
        return self.run

    def hint(self, times=1):
        with sender(self.broker) as app:
            for _ in range(times):
                hint_at(app, [(self.shop.books.dealer, self.run.id)])

    def waiting(self):
        """Count the hints that wait for a worker."""
        from service.adapters.workers.hints import QUEUE

        with sender(self.broker) as app, app.connection_for_write() as connection:
            held = app.amqp.queues[QUEUE].bind(connection.default_channel)
            return held.queue_declare().message_count

    def finished(self):
        """Wait until the run is finished, and give it."""
        return until(self._finished, "end of the run")

    def _finished(self):
        run = self.shop.runs.run(self.run.id)
        return run if run.finished_at else None

    def chunks(self):
        with self.engine.connect() as connection:
            return connection.execute(select(run_chunks).order_by(run_chunks.c.number)).all()

    def hold_each_once(self):
        """Check that each quote was re-priced once, to what it comes to by itself, and told of."""
        run = self.finished()
        assert run.state is RunState.FINISHED, run.reason
        assert run.summary.outcomes[Outcome.CHANGED] == len(self.made)
        results = self.shop.results(run)
        assert set(results) == set(self.made)
        with self.engine.connect() as connection:
            made = connection.execute(
                select(quotes.c.id, quotes.c.total_minor).where(quotes.c.run_id == run.id)
            ).all()
            lives = connection.execute(select(quote_lives.c.series, quote_lives.c.revision)).all()
            told = connection.execute(select(events.c.id, events.c.type, events.c.subject)).all()
            for quote_id, result in results.items():
                kept = self.shop.kept(connection, quote_id)
                assert result.after == self.shop.priced(self.table, 2, kept).totals.gross
        totals = {one.revision_id: int(one.after.amount * 100) for one in results.values()}
        assert {row.id: row.total_minor for row in made} == totals
        assert Counter(lives) == Counter((one, number) for one in self.made for number in (1, 2))
        repriced = [row.subject for row in told if row.type == "evenbay.quote.repriced"]
        assert Counter(repriced) == Counter(list(totals))
        assert [row.subject for row in told if row.type == "evenbay.run.finished"] == [run.id]
        assert len({row.id for row in told}) == len(told)
        return run

    def everything(self):
        """Give what must not change once a run is finished."""
        with self.engine.connect() as connection:
            return [
                sorted(map(tuple, connection.execute(select(*columns))), key=repr)
                for columns in (
                    (quotes.c.id, quotes.c.total_minor), (events.c.id,), (quote_lives,),
                    (run_chunks.c.number, run_chunks.c.state, run_chunks.c.tallies),
                )
            ]  # fmt: skip


@contextmanager
def site(*args, **more):
    made = Site(*args, **more)
    try:
        yield made
    finally:
        made.close()
