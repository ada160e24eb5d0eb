"""What a run over very many quotes takes, beside the bare statements that give the same sums.

    python -m tests.benchmarks.bench_repricing [--quotes 10000 100000] [--sqlite 100000]
        [--workers 2]

EVENBAY_TEST_POSTGRES_URL names a PostgreSQL server of this host in which a database may be made; it
is dropped afterwards. Quotes of 20 goods and labour are kept as the service keeps them; the
statements (``bare_repricing``: a plain one, and the fastest found) are run on tables of the same
lines; then one worker process makes a dry run, which keeps a result of each quote, and a real one,
which writes five rows of it with their indexes: result, quote, life, order with its amounts, event.
Each quote comes to what the statements say, to the cent.

Time is that of the processor, of the worker and of the database's process that serves it, because
waiting says little where others are at work; only ratios mean anything on another machine. With
several workers the last line tells how long their run takes by the clock, beside the statements,
which have one process of the database each; that means something where nobody else is at work.
"""

import argparse
import os
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import timedelta
from multiprocessing import get_context
from pathlib import Path
from time import perf_counter, process_time

from sqlalchemy import Engine, make_url, text

from service.adapters.storage import migrate
from service.adapters.storage.engine import connect
from service.adapters.storage.price_tables import SqlPriceTables
from service.adapters.storage.run_work import SqlRunWork, owner_of_its_own
from service.adapters.storage.runs import SqlRuns
from service.collector import settle
from service.usecases.repricing.records import RunState, RunWish
from service.usecases.repricing.steer import begin_run
from tests.benchmarks import bare_repricing, kept_quotes
from tests.integration.databases import POSTGRES
from tests.serving import books_of

GOAL = 3.0
_TICKS = os.sysconf("SC_CLK_TCK")
_MINE = "SELECT pid FROM pg_stat_activity WHERE datname = current_database()"


@dataclass
class Taken:
    """What a piece of work took.

    Attributes:
        worker, server: Processor time. [s]
        wall: From begin to end. [s]
        memory: Of the worker, after each step. [MB]
    """

    worker: float = 0.0
    server: float = 0.0
    wall: float = 0.0
    memory: list[float] = field(default_factory=list)

    @property
    def both(self) -> float:
        """Give the processor time of both. [s]"""
        return self.worker + self.server


@contextmanager
def fresh(kind: str) -> Iterator[str]:
    """Give the URL of an empty database, gone again afterwards."""
    if kind == "sqlite":
        with tempfile.TemporaryDirectory() as folder:
            yield f"sqlite:///{Path(folder) / 'evenbay.sqlite3'}"
        return
    name = f"bench_{uuid.uuid4().hex[:12]}"
    admin = connect(POSTGRES).execution_options(isolation_level="AUTOCOMMIT")
    with admin.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name}"))
        # All work is done, and counted, in the one process that serves a connection.
        connection.execute(text(f"ALTER DATABASE {name} SET max_parallel_workers_per_gather = 0"))
    try:
        yield make_url(POSTGRES).set(database=name).render_as_string(hide_password=False)
    finally:
        with admin.connect() as connection:
            connection.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))
        admin.dispose()


@contextmanager
def timed(engine: Engine) -> Iterator[Taken]:
    """Take the time of this process and of the database's processes that serve it."""
    taken, server = Taken(), _server(engine)
    worker, wall = process_time(), perf_counter()
    yield taken
    taken.worker, taken.wall = process_time() - worker, perf_counter() - wall
    taken.server = _server(engine) - server


def _server(engine: Engine) -> float:
    """Give the processor time of what serves this database. [s]"""
    if engine.dialect.name != "postgresql":
        return 0.0
    with engine.connect() as connection:
        pids = connection.execute(text(_MINE)).scalars().all()
    seconds = 0.0
    for pid in pids:
        try:
            stat = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
        except FileNotFoundError:
            continue  # it has ended meanwhile
        seconds += (int(stat[11]) + int(stat[12])) / _TICKS
    return seconds


def run_it(url: str) -> Taken:
    """Do all of a run as a worker does, in a process of its own."""
    from service.adapters.storage import keep_material  # noqa: F401 - its loading is not counted

    engine = connect(url)
    work, owner = SqlRunWork(engine), owner_of_its_own()
    settle()  # as every worker does
    with timed(engine) as taken:
        while work.step(owner):
            taken.memory.append(_resident())
    engine.dispose()
    return taken


def run_by_several(url: str, workers: int) -> float:
    """Give how long several worker processes take for a run, by the clock. [s]"""
    with get_context("spawn").Pool(workers) as pool:
        pool.map(_load, range(workers), chunksize=1)
        start = perf_counter()
        pool.map(run_it, [url] * workers, chunksize=1)
        return perf_counter() - start


def _load(_number: int) -> None:
    from service.adapters.storage import keep_material  # noqa: F401 - its loading is not counted


def _resident() -> float:
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


def bare(engine: Engine, name: str) -> Taken:
    """Run a statement twice, and give the faster."""
    found = []
    for _ in range(2):
        with engine.begin() as connection:
            if name.endswith("INSERT"):
                emptied = "DELETE FROM" if engine.dialect.name == "sqlite" else "TRUNCATE"
                connection.execute(text(f"{emptied} {name.split()[0]}_totals"))
        with timed(engine) as taken, engine.begin() as connection:
            bare_repricing.run(connection, name)
        found.append(taken)
    return min(found, key=lambda one: one.both)


def begin(engine: Engine, *, dry_run: bool) -> str:
    """Ask for a run that brings the second version of the prices."""
    books = books_of(engine, kept_quotes.DEALER)
    wish = RunWish(kept_quotes.TABLE, kept_quotes.DAY, 2, dry_run=dry_run)
    at = kept_quotes.MADE + timedelta(days=1 if dry_run else 2)
    begun = begin_run(
        wish,
        run_id=str(uuid.uuid4()),
        runs=SqlRuns(books),
        price_tables=SqlPriceTables(books),
        at=at,
    )
    return begun.id


def check(engine: Engine, run_id: str, quotes: int) -> None:
    """Hold every result against the statement's."""
    run = SqlRuns(books_of(engine, kept_quotes.DEALER)).run(run_id)
    assert run.state is RunState.FINISHED, run
    with engine.connect() as connection:
        wrong = connection.execute(text(bare_repricing.MISMATCHES), {"run": run_id}).scalar_one()
        kept = connection.execute(text("SELECT count(*) FROM bare_totals")).scalar_one()
    assert (wrong, kept) == (0, quotes), f"{wrong} of {kept} come to another total"


def measure(kind: str, quotes: int, workers: int) -> dict[str, Taken]:
    """Make quotes, and do the same sums in every way."""
    found: dict[str, Taken] = {}
    with fresh(kind) as url:
        engine = connect(url)
        migrate.upgrade(engine)
        bare_repricing.prepare(engine)
        for made in kept_quotes.make(engine, quotes):
            bare_repricing.keep(engine, made)
        bare_repricing.settle(engine)
        names = bare_repricing.STATEMENTS if kind != "sqlite" else bare_repricing.OF_SQLITE
        for name in names:
            found[name] = bare(engine, name)
        with engine.connect() as connection:
            assert bare_repricing.agree(connection)
        for name in ("dry run", "real run"):
            run_id = begin(engine, dry_run=name == "dry run")
            if workers > 1:
                found[name] = Taken(wall=run_by_several(url, workers))
            else:
                with get_context("spawn").Pool(1) as pool:
                    found[name] = pool.apply(run_it, (url,))
            check(engine, run_id, quotes)
        engine.dispose()
    return found


def show(kind: str, quotes: int, found: dict[str, Taken]) -> None:
    """Print one size."""
    print(f"\n{kind}, {quotes:,} quotes; microseconds of the processor per quote; goal {GOAL:g}")
    heads = "".join(f"{head:>9}" for head in ("worker", "server", "both", "wall"))
    beside = [name for name in found if name.endswith(("SELECT", "INSERT"))]
    print(f"{'':12}{heads}  times " + ", ".join(beside))
    for name, taken in found.items():
        each = [n / quotes * 1e6 for n in (taken.worker, taken.server, taken.both, taken.wall)]
        figures = "".join(f"{n:9.1f}" for n in each)
        by_clock = not taken.both  # of several workers
        ratios = "".join(
            f"{taken.wall / found[one].wall if by_clock else taken.both / found[one].both:8.2f}"
            for one in beside
        )
        print(f"{name:12}{figures} {ratios}")
        if taken.memory:
            third = taken.memory[min(2, len(taken.memory) - 1)]
            print(
                f"{'':12} memory {third:.0f} MB after 3 steps, at most {max(taken.memory):.0f} MB"
            )


def main() -> None:
    """Print a table for each size, and how flat the cost of a quote is."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--quotes", type=int, nargs="*", default=[10_000, 100_000])
    parser.add_argument("--sqlite", type=int, nargs="*", default=[])
    parser.add_argument("--workers", type=int, default=1, help="several: by the clock")
    asked = parser.parse_args()
    for kind, sizes in (("postgresql", asked.quotes), ("sqlite", asked.sqlite)):
        costs = []
        for quotes in sizes:
            found = measure(kind, quotes, asked.workers)
            show(kind, quotes, found)
            real = found["real run"]
            costs.append((real.both or real.wall) / quotes)
        if len(costs) > 1:
            ratios = ", ".join(f"{cost / costs[0]:.2f}" for cost in costs)
            print(
                f"\n{kind}: a quote in a real run takes {ratios} times what it takes in the first"
            )


if __name__ == "__main__":
    main()
