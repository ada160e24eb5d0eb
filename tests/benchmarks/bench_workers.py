"""How much more two workers do than one, in the same run, on PostgreSQL.

    python -m tests.benchmarks.bench_workers [--replan 120] [--keep 20000] [--rounds 5]

EVENBAY_TEST_POSTGRES_URL names a PostgreSQL server in which schemas may be made and dropped. Dry
runs over the same quotes are done by one worker process and by two, in turn. The ratio of the time
from begin to end is the answer where two cores are free. Where others are at work too it says
little; then look at the processor time of one worker alone beside that of the busier of two, which
is the ratio that free cores would give if nobody waited for anybody, and at how often a worker was
found waiting for a lock of the database, which says whether anybody does: one waits while the other
parts a run into pieces, and for nothing else.
"""

import argparse
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from statistics import median
from uuid import uuid4

from sqlalchemy import Engine, text

from service.adapters.storage import migrate
from service.adapters.storage.engine import connect
from service.adapters.storage.price_tables import SqlPriceTables
from service.adapters.storage.runs import SqlRuns
from service.usecases.repricing.records import Mode, RunState, RunWish
from service.usecases.repricing.steer import begin_run
from tests.benchmarks import kept_quotes
from tests.integration.databases import url_of
from tests.repriced import DAY, NIGHT, stocked
from tests.serving import books_of, client_of, migrated_app

GOAL = 1.7
NAME = "evenbay bench_workers"
SIZES = {Mode.REPLAN_MATERIAL: 5, Mode.KEEP_MATERIAL: 500}  # small, so that both have as much
WORKER = """
import sys, time
from dataclasses import replace
from service.adapters.storage.run_work import owner_of_its_own
from service.settings import from_environment
from service.work_command import open_work
runs = replace(open_work(from_environment())[0], size=int(sys.argv[1]))
name = owner_of_its_own()
print("ready", flush=True)
for _ in sys.stdin:
    before = time.process_time()
    while runs.step(name):
        pass
    print(time.process_time() - before, flush=True)
"""


@dataclass
class Bench:
    """Two workers, and runs for them."""

    url: str
    engine: Engine
    mode: Mode
    table: str
    dealer: str
    workers: list[subprocess.Popen[str]] = field(default_factory=list)
    found: Counter[str] = field(default_factory=Counter)

    def start(self) -> None:
        """Start both, and let each do a run, after which nothing has to be loaded any more."""
        environ = os.environ | {"EVENBAY_DATABASE_URL": self.url, "PGAPPNAME": NAME}
        command = [sys.executable, "-c", WORKER, str(SIZES[self.mode])]
        for _ in range(2):
            one = subprocess.Popen(
                command, env=environ, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
            )
            assert one.stdout.readline() == "ready\n"
            self.workers.append(one)
            self.run([one])

    def run(self, workers: list[subprocess.Popen[str]]) -> tuple[float, float]:
        """Let workers do a run; give the time it took, and the processor time of the busiest."""
        books = books_of(self.engine, self.dealer)
        wish = RunWish(self.table, DAY, 2, mode=self.mode, dry_run=True)
        runs, tables = SqlRuns(books), SqlPriceTables(books)
        at = NIGHT + timedelta(days=1)
        run = begin_run(wish, run_id=str(uuid4()), runs=runs, price_tables=tables, at=at)
        begun = time.perf_counter()
        for one in workers:
            one.stdin.write("go\n")
            one.stdin.flush()
        spent = [float(one.stdout.readline()) for one in workers]
        taken = time.perf_counter() - begun
        ended = runs.run(run.id)
        assert ended.state is RunState.FINISHED, ended
        assert ended.summary.quotes, "no quote was looked at"
        return taken, max(spent)

    @contextmanager
    def watched(self):
        """Count meanwhile what the workers' connections are found at."""
        stop = threading.Event()
        query = text(
            "SELECT coalesce(wait_event_type, 'busy') FROM pg_stat_activity "
            f"WHERE application_name = '{NAME}'"
        )

        def watch() -> None:
            with self.engine.connect() as connection:
                while not stop.wait(0.02):
                    self.found.update(connection.execute(query).scalars())
                    connection.rollback()

        watching = threading.Thread(target=watch)
        watching.start()
        try:
            yield
        finally:
            stop.set()
            watching.join()

    def compare(self, rounds: int) -> None:
        """Print what two do beside one."""
        taken, spent = [], []
        for _ in range(rounds):
            one = self.run(self.workers[:1])
            with self.watched():
                two = self.run(self.workers)
            taken.append(one[0] / two[0])
            spent.append(one[1] / two[1])
        locks = self.found["Lock"] / max(1, self.found.total())
        print(f"{self.mode.value}, two workers beside one, median of {rounds}")
        print(f"  from begin to end   {median(taken):.2f}   goal {GOAL} where two cores are free")
        print(f"  by processor time   {median(spent):.2f}")
        print(f"  found waiting for a lock {locks:.1%} of {self.found.total()} looks")
        print(f"  load of this machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")


@contextmanager
def replanning(url: str, count: int):
    """Keep the demo quote so many times."""
    app = migrated_app(url=url, log_level="ERROR")
    engine = app.extensions["evenbay"].engine
    client, order = client_of(app), stocked(engine)
    for number in range(count):
        made = client.post("/v1/quotes", json={**order, "reference": f"No. {number}"})
        assert made.status_code == 201, made.json
    dealer = "Larkmere Deck & Rail"
    yield Bench(url, engine, Mode.REPLAN_MATERIAL, order["price_table"]["stored"], dealer)
    engine.dispose()


@contextmanager
def keeping(url: str, count: int):
    """Keep so many quotes of 20 lines, drawn at random."""
    engine = connect(url)
    migrate.upgrade(engine)
    for _ in kept_quotes.make(engine, count):
        pass
    yield Bench(url, engine, Mode.KEEP_MATERIAL, kept_quotes.TABLE, kept_quotes.DEALER)
    engine.dispose()


def main() -> None:
    """Measure what is asked for."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--replan", type=int, default=120, help="so many quotes; 0 for none")
    parser.add_argument("--keep", type=int, default=20_000, help="so many quotes; 0 for none")
    parser.add_argument("--rounds", type=int, default=5)
    asked = parser.parse_args()
    for stocked_with, count in ((replanning, asked.replan), (keeping, asked.keep)):
        if not count:
            continue
        with (
            tempfile.TemporaryDirectory() as folder,
            url_of("postgresql", Path(folder)) as url,
            stocked_with(url, count) as bench,
        ):
            try:
                bench.start()
                bench.compare(asked.rounds)
            finally:
                for one in bench.workers:
                    one.stdin.close()
                    one.wait()


if __name__ == "__main__":
    main()
