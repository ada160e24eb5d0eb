"""Whether a run that plans quotes anew scales with its workers: one against two, in one run.

    python -m tests.benchmarks.bench_replanning [--quotes 200] [--workers 1 2 1 2]

Orders of the demo deck are quoted through the service, by kept prices; runs then bring the dearer
version and the first one in turn, each with so many worker processes, which build what they need
before the clock starts. EVENBAY_TEST_POSTGRES_URL names a PostgreSQL server in which a database may
be made; it is dropped afterwards. Where others are at work on the same cores, two processes get
less of them than twice what one gets: the processor time of a quote says what they took, and the
part of the cores that they got is printed beside the ratio.
"""

import argparse
import uuid
from dataclasses import dataclass
from multiprocessing import get_context
from time import perf_counter, process_time
from typing import Any

from service.adapters.storage.engine import connect
from service.adapters.storage.price_tables import SqlPriceTables
from service.adapters.storage.run_work import SqlRunWork, owner_of_its_own
from service.adapters.storage.runs import SqlRuns
from service.api.replanning import Replanning
from service.app import create_app
from service.collector import settle
from service.settings import Settings
from service.usecases.repricing.records import Mode, Outcome, RunState, RunWish
from service.usecases.repricing.steer import begin_run
from tests.benchmarks.bench_repricing import fresh
from tests.repriced import DAY, stocked
from tests.serving import books_of, client_of, migrated_app

GOAL = 1.7
PIECE = 5  # quotes; small, so that both workers end together


@dataclass(frozen=True, slots=True)
class Worked:
    """What one worker did, by the one clock of this host. [s]"""

    pieces: int
    begun: float
    ended: float
    processor: float


def work(url: str, ready: Any) -> Worked:
    """Build what plans anew, wait for the others, and work until there is nothing left."""
    app = create_app(Settings(url))
    runs = SqlRunWork(connect(url), size=PIECE, replan=Replanning(lambda: app))
    settle()
    owner, pieces = owner_of_its_own(), 0
    ready.wait()
    begun, processor = perf_counter(), process_time()
    while runs.step(owner):
        pieces += 1
    return Worked(pieces, begun, perf_counter(), process_time() - processor)


def measure(url: str, table: str, version: int, workers: int, quotes: int) -> tuple[float, float]:
    """Do one run; give its time, and the processor time of the workers. [s]"""
    engine = connect(url)
    books = books_of(engine)
    wish = RunWish(table, DAY, version, Mode.REPLAN_MATERIAL)
    runner = SqlRunWork(engine, size=PIECE, replan=Replanning(lambda: create_app(Settings(url))))
    runs, tables = SqlRuns(books), SqlPriceTables(books)
    run_id = str(uuid.uuid4())
    begin_run(wish, run_id=run_id, runs=runs, price_tables=tables, at=runner.now())
    runner.step("planner")
    context = get_context("spawn")
    ready = context.Manager().Barrier(workers)
    with context.Pool(workers) as pool:
        found = pool.starmap(work, [(url, ready)] * workers, chunksize=1)
    run = runs.run(run_id)
    assert run.state is RunState.FINISHED, run
    assert run.summary.outcomes[Outcome.CHANGED] == quotes, run.summary
    engine.dispose()
    wall = max(one.ended for one in found) - min(one.begun for one in found)
    return wall, sum(one.processor for one in found)


def main() -> None:
    """Print each run, and the ratio of quotes per second."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--quotes", type=int, default=200)
    parser.add_argument("--workers", type=int, nargs="+", default=[1, 2, 1, 2])
    asked = parser.parse_args()
    rates: dict[int, float] = {}
    costs: dict[int, float] = {}
    with fresh("postgresql") as url:
        app = migrated_app(url=url, rate_per_minute=0, log_level="WARNING")
        client, engine = client_of(app), app.extensions["evenbay"].engine
        order = stocked(engine)
        for _ in range(asked.quotes):
            answer = client.post("/v1/quotes", json=order)
            assert answer.status_code == 201, answer.text
        engine.dispose()
        for place, workers in enumerate(asked.workers):
            version = 2 - place % 2
            wall, processor = measure(
                url, order["price_table"]["stored"], version, workers, asked.quotes
            )
            print(
                f"{workers} workers: {asked.quotes / wall:6.1f} quotes/s, "
                f"{processor / asked.quotes * 1000:.1f} ms of the processor each, "
                f"{processor / wall:.2f} cores"
            )
            rates[workers] = max(rates.get(workers, 0.0), asked.quotes / wall)
            costs[workers] = min(costs.get(workers, processor), processor)
    if {1, 2} <= rates.keys():
        print(f"two are {rates[2] / rates[1]:.2f} times as fast as one (goal: {GOAL:g}); a quote "
              f"takes {costs[2] / costs[1]:.2f} times the processor")  # fmt: skip


if __name__ == "__main__":
    main()
