"""Re-pricing runs of one dealer in the database, as those who ask for them see them."""

from collections.abc import Callable
from datetime import datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, Row, case, func, literal, tuple_
from sqlalchemy.exc import IntegrityError

from service.adapters.storage.books import Books
from service.adapters.storage.moments import utc
from service.adapters.storage.run_records import read_tallies, read_wish, write_wish
from service.adapters.storage.tables import quotes, repricing_runs, repricings, run_chunks
from service.domain.errors import RunNotFound
from service.domain.money import Money, minor_unit
from service.usecases.repricing.ports import ResultsWanted, Since
from service.usecases.repricing.records import Outcome, Progress, Run, RunResult, RunState
from service.usecases.repricing.tallies import Tallies

_RUN = repricing_runs.c
_RESULT = repricings.c
_PPM = 6


class SqlRuns:
    """Keeps runs; what they do is done by whoever works on them."""

    def __init__(self, books: Books) -> None:
        self._books = books

    def add(self, run: Run) -> Run:
        """Keep a new run, unless one of this id is kept; give what is kept."""
        wish, prices = run.wish, run.prices
        row = {
            "id": run.id,
            "created_at": run.created_at,
            "state": run.state.value,
            "mode": wish.mode.value,
            "dry_run": wish.dry_run,
            "revisions": wish.revisions.value,
            "price_table": prices.table_id,
            "price_version": prices.version,
            "priced_on": wish.on,
            "wish": write_wish(wish, prices),
            "planned_to": run.planned_to,
            "summary": "",
            "revision": run.revision,
            "reason": "",
        }
        told: dict[str, Any] = {
            "mode": wish.mode.value,
            "dry_run": wish.dry_run,
            "price_table": prices.table_id,
        }
        told["version"] = prices.version
        try:
            with self._books.writing() as connection:
                self._books.insert(connection, repricing_runs, [row])
                self._books.note(connection, run.created_at, "run.planned", run.id, **told)
        except IntegrityError:
            return self.run(run.id)
        return run

    def run(self, run_id: str) -> Run:
        """Give one run as it stands, its summary as far as it has come."""
        with self._books.reading() as connection:
            return _whole(self._books, connection, self._row(connection, run_id))

    def asked(self, run_id: str) -> Run:
        """Give what was asked for, without how far it has come: quick however many its pieces."""
        with self._books.reading() as connection:
            return run_of(self._row(connection, run_id), Tallies(), Progress())

    def run_within(self, connection: Connection, row: Row[Any]) -> Run:
        """Give the record of a run's row, its progress read in a transaction; of no tallies."""
        return run_of(row, Tallies(), _progress(self._books, connection, row))

    def folded(self, connection: Connection, run_id: str) -> Tallies:
        """Add up what the pieces of a run came to so far."""
        return _folded(self._books, connection, run_id)

    def page(self, after: Since | None, most: int) -> list[Run]:
        """Give runs, newest first."""
        place = (_RUN.created_at, _RUN.id)
        query = self._books.select(repricing_runs).order_by(*(part.desc() for part in place))
        if after is not None:
            begun = (literal(after[0], _RUN.created_at.type), literal(after[1]))
            query = query.where(tuple_(*place) < tuple_(*begun))
        with self._books.reading() as connection:
            rows = connection.execute(query.limit(most)).all()
            return [_whole(self._books, connection, row) for row in rows]

    def change(self, run_id: str, step: Callable[[Run], Run], at: datetime) -> Run:
        """Take one step in the life of a run; nobody else takes one at the same time."""
        with self._books.writing() as connection:
            before = _whole(self._books, connection, self._row(connection, run_id, lock=True))
            after = step(before)
            if after == before:
                return after
            mine = self._books.update(repricing_runs).where(_RUN.id == run_id)
            connection.execute(mine.values(state=after.state.value, revision=after.revision))
            self._books.note(connection, at, f"run.{_named(before, after)}", run_id)
        return after

    def results(
        self, run_id: str, wanted: ResultsWanted, after: str | None, most: int
    ) -> list[RunResult]:
        """Give results that fit in the order of their quotes' ids, from behind one on."""
        query = (
            self._books.select(
                repricings,
                quotes.c.reference,
                quotes.c.outside_reference,
                of=[repricings, quotes],
            )
            .where(_RESULT.run_id == run_id, quotes.c.id == _RESULT.quote_id)
            .order_by(_RESULT.quote_id)
            .limit(most)
        )
        if after is not None:
            query = query.where(_RESULT.quote_id > after)
        if wanted.outcomes:
            query = query.where(_RESULT.outcome.in_(sorted(one.value for one in wanted.outcomes)))
        if wanted.under_floor is not None:
            query = query.where(_RESULT.under_floor.is_(wanted.under_floor))
        with self._books.reading() as connection:
            self._row(connection, run_id)
            return [_result(row) for row in connection.execute(query)]

    def _row(self, connection: Connection, run_id: str, *, lock: bool = False) -> Row[Any]:
        query = self._books.select(repricing_runs).where(_RUN.id == run_id)
        row = connection.execute(query.with_for_update() if lock else query).one_or_none()
        if row is None:
            raise RunNotFound(f"No re-pricing run has the id {run_id}.")
        return row


def run_of(row: Row[Any], tallies: Tallies, progress: Progress) -> Run:
    """Give the record of a run."""
    wish, prices = read_wish(row.wish)
    return Run(
        id=row.id,
        created_at=utc(row.created_at),
        wish=wish,
        prices=prices,
        planned_to=utc(row.planned_to),
        summary=tallies.summary(prices.currency),
        state=RunState(row.state),
        progress=progress,
        started_at=utc(row.started_at),
        finished_at=utc(row.finished_at),
        revision=row.revision,
        reason=row.reason,
    )


def _whole(books: Books, connection: Connection, row: Row[Any]) -> Run:
    """Give a run with how far it has come."""
    progress = _progress(books, connection, row)
    if progress.chunks is None:
        return run_of(row, Tallies(), progress)
    told = read_tallies(row.summary) if row.summary else _folded(books, connection, row.id)
    return run_of(row, told, progress)


def _progress(books: Books, connection: Connection, row: Row[Any]) -> Progress:
    if row.chunks is None:
        return Progress()
    counts = books.select(
        func.sum(case((run_chunks.c.state == "done", 1), else_=0)).label("done"),
        func.sum(case((run_chunks.c.state == "failed", 1), else_=0)).label("failed"),
        of=[run_chunks],
    )
    found = connection.execute(counts.where(run_chunks.c.run_id == row.id)).one()
    return Progress(row.chunks, found.done or 0, found.failed or 0, row.quotes)


def _folded(books: Books, connection: Connection, run_id: str) -> Tallies:
    told = books.select(run_chunks.c.tallies).where(
        run_chunks.c.run_id == run_id, run_chunks.c.tallies != ""
    )
    whole = Tallies()
    for text in connection.execute(told).scalars():
        whole.add(read_tallies(text))
    return whole


def _named(before: Run, after: Run) -> str:
    return "resumed" if before.state is RunState.PAUSED and after.state in _GOING else after.state


_GOING = (RunState.PLANNED, RunState.RUNNING)


def _result(row: Row[Any]) -> RunResult:
    def money(minor: int) -> Money:
        return Money(Decimal(minor) * minor_unit(row.currency), row.currency)

    return RunResult(
        quote_id=row.quote_id,
        reference=row.reference,
        outside_reference=row.outside_reference,
        outcome=Outcome(row.outcome),
        revision_id=row.revision_id or "",
        before=money(row.total_before),
        after=None if row.total_after is None else money(row.total_after),
        margin=None if row.margin_ppm is None else Decimal(row.margin_ppm).scaleb(-_PPM),
        under_floor=row.under_floor,
        detail=row.detail,
    )
