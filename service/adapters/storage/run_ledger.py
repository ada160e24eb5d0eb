"""Who works on which piece of a run: leases that run out, and a fence against who lost one.

A piece of work is claimed in a transaction of its own. What it comes to is written in another one,
which begins by locking the claim and finding it still its own, so that whoever lost it meanwhile
writes nothing. On PostgreSQL others pass over a claim that is locked, so that nobody takes over
from one who is just writing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, and_, func, or_

from service.adapters.storage.books import Books
from service.adapters.storage.run_candidates import Range, ranges
from service.adapters.storage.run_records import write_tallies
from service.adapters.storage.runs import SqlRuns
from service.adapters.storage.tables import (
    quote_lives,
    quote_orders,
    quotes,
    repricing_runs,
    run_chunks,
)
from service.domain.money import Money
from service.usecases.repricing.records import Run, RunState
from service.usecases.repricing.tallies import Tallies

MOST_ATTEMPTS = 5
_RUN, _CHUNK = repricing_runs.c, run_chunks.c
# A host that is cut off holds its locks no longer than this [s]. A piece of work is read by its
# keys, or merged in their order, however large the tables are, and sorted in memory; compiling what
# reads it takes longer than reading.
_PATIENCE = (
    "SET LOCAL tcp_keepalives_idle = 10",
    "SET LOCAL tcp_keepalives_interval = 5",
    "SET LOCAL tcp_keepalives_count = 3",
    "SET LOCAL idle_in_transaction_session_timeout = '60s'",
    "SET LOCAL enable_hashjoin = off",
    "SET LOCAL jit = off",
    "SET LOCAL enable_seqscan = off",
    "SET LOCAL random_page_cost = 1",
    "SET LOCAL work_mem = '64MB'",
)


class LeaseLost(Exception):
    """Somebody else has a piece of work by now, or it is done."""


@dataclass(frozen=True, slots=True)
class Claim:
    """A piece of work that is ours until its lease runs out.

    Attributes:
        done_to: Up to which quote it is done, where quotes are done one by one.
        tallies: JSON of what was counted so far, likewise.
    """

    run_id: str
    number: int
    owner: str
    attempts: int
    within: Range
    done_to: str
    tallies: str

    @property
    def mine(self) -> ColumnElement[bool]:
        """Tell the row of the claim as long as it is this one."""
        return and_(
            _CHUNK.run_id == self.run_id,
            _CHUNK.number == self.number,
            _CHUNK.owner == self.owner,
            _CHUNK.attempts == self.attempts,
            _CHUNK.state == "leased",
        )


class RunLedger:
    """The runs of one dealer as those who work on them see them."""

    def __init__(self, books: Books, lease: timedelta) -> None:
        self._books = books
        self._lease = lease
        self._runs = SqlRuns(books)

    def run(self, run_id: str) -> Run:
        """Give what a run is to do; every piece of work asks for it."""
        return self._runs.asked(run_id)

    def plan(self, run_id: str, size: int, at: datetime) -> bool:
        """Part a run into pieces of so many quotes, unless that is done."""
        with self._books.writing() as connection:
            row = self._locked(connection, run_id)
            if row.state != RunState.PLANNED:
                return False
            self._books.look_over(connection, quotes, quote_lives, quote_orders)
            run = self._runs.run_within(connection, row)
            found = ranges(self._books, connection, run, size)
            nothing = dict.fromkeys(("owner", "done_to", "tallies", "error"), "")
            same = {"run_id": run_id, "state": "waiting", "attempts": 0, **nothing}
            of_each: dict[str, Sequence[Any]] = {
                "number": range(1, len(found) + 1),
                "first_id": [one.first_id for one in found],
                "last_id": [one.last_id for one in found],
            }
            if found:
                self._books.insert_alike(connection, run_chunks, same, of_each)
            counted = {"chunks": len(found), "quotes": sum(one.quotes for one in found)}
            state = {"state": RunState.RUNNING.value, "revision": row.revision + 1}
            mine = self._books.update(repricing_runs).where(_RUN.id == run_id)
            connection.execute(mine.values(**counted, **state, started_at=at))
            self._books.note(connection, at, "run.started", run_id, **counted)
        return True

    def claim(self, run_id: str, owner: str) -> Claim | None:
        """Claim a piece of work that nobody has, or that somebody lost; None for none."""
        with self._books.writing() as connection:
            now = self._books.clock(connection)
            lost = and_(_CHUNK.state == "leased", _CHUNK.lease_until < now)
            query = (
                self._books.select(run_chunks, of=[run_chunks, repricing_runs])
                .where(
                    _CHUNK.run_id == run_id,
                    or_(_CHUNK.state == "waiting", lost),
                    _RUN.id == _CHUNK.run_id,
                    _RUN.state == RunState.RUNNING.value,
                )
                .order_by(_CHUNK.number)
                .limit(1)
                .with_for_update(skip_locked=True, of=run_chunks)
            )
            row = connection.execute(query).one_or_none()
            if row is None:
                return None
            attempts = row.attempts + 1
            within = Range(row.first_id, row.last_id, 0)
            claim = Claim(run_id, row.number, owner, attempts, within, row.done_to, row.tallies)
            mine = (_CHUNK.run_id == run_id) & (_CHUNK.number == row.number)
            connection.execute(
                self._books.update(run_chunks)
                .where(mine)
                .values(
                    state="leased", owner=owner, attempts=attempts, lease_until=now + self._lease
                )
            )
        return claim

    def fence(self, connection: Connection, claim: Claim) -> None:
        """Hold a claim until the transaction ends.

        Raises:
            LeaseLost: It is no longer ours.
        """
        if connection.dialect.name == "postgresql":
            for setting in _PATIENCE:
                connection.exec_driver_sql(setting)
        query = self._books.select(_CHUNK.number).where(claim.mine).with_for_update()
        if connection.execute(query).one_or_none() is None:
            raise LeaseLost

    def done(self, connection: Connection, claim: Claim, tallies: Tallies) -> None:
        """Note that a piece of work is done, in the transaction of what it came to.

        Raises:
            LeaseLost: It is no longer ours.
        """
        values = {"state": "done", "tallies": write_tallies(tallies), "lease_until": None}
        self._change(connection, claim, values)

    def advance(self, connection: Connection, claim: Claim, tallies: Tallies, done_to: str) -> None:
        """Note how far a piece of work has come, and hold it for another lease."""
        until = self._books.clock(connection) + self._lease
        told = {"tallies": write_tallies(tallies), "done_to": done_to, "lease_until": until}
        self._change(connection, claim, told)

    def give_back(self, claim: Claim, error: str) -> None:
        """Leave a piece of work that failed to the next who looks, or give it up for good."""
        state = "waiting" if claim.attempts < MOST_ATTEMPTS else "failed"
        with self._books.writing() as connection:
            mine = self._books.update(run_chunks).where(claim.mine)
            connection.execute(mine.values(state=state, error=error, lease_until=None))

    def finish(self, run_id: str, at: datetime) -> bool:
        """End a run whose pieces of work are all over, and tell of it; once only."""
        with self._books.writing() as connection:
            row = self._locked(connection, run_id)
            if row.finished_at is not None or row.state not in _ENDING:
                return False
            cancelled = row.state == RunState.CANCELLED
            if not cancelled and self._any(connection, run_id, _CHUNK.state.in_(_GOING)):
                return False
            if cancelled and not self._stopped(connection, run_id):
                return False
            run = self._runs.run_within(connection, row)
            state = _ended(run)
            whole = self._runs.folded(connection, run_id)
            reason = self._reason(connection, run_id) if state is RunState.FAILED else ""
            self._end(connection, run, state, whole, reason, at)
        return True

    def give_up(self, run_id: str, reason: str, at: datetime) -> None:
        """End a run that cannot be planned, unless somebody has planned or ended it."""
        with self._books.writing() as connection:
            row = self._locked(connection, run_id)
            if row.state == RunState.PLANNED:
                run = self._runs.run_within(connection, row)
                self._end(connection, run, RunState.FAILED, Tallies(), reason, at)

    def _end(
        self,
        connection: Connection,
        run: Run,
        state: RunState,
        whole: Tallies,
        reason: str,
        at: datetime,
    ) -> None:
        """Note that a run is over, and tell of it."""
        values = {
            "state": state.value,
            "summary": write_tallies(whole),
            "finished_at": at,
            "reason": reason,
            "revision": run.revision + 1,
        }
        mine = self._books.update(repricing_runs).where(_RUN.id == run.id)
        connection.execute(mine.values(**values))
        told = _told(run, state, whole)
        self._books.note(connection, at, "run.finished", run.id, **told)

    def _stopped(self, connection: Connection, run_id: str) -> bool:
        """Take back what nobody works on any more; tell whether nobody works on anything."""
        now = self._books.clock(connection)
        lost = and_(_CHUNK.state == "leased", _CHUNK.lease_until < now)
        back = self._books.update(run_chunks).where(_CHUNK.run_id == run_id, lost)
        connection.execute(back.values(state="waiting", lease_until=None))
        return not self._any(connection, run_id, _CHUNK.state == "leased")

    def any_done(self, run_id: str) -> bool:
        """Tell whether any piece of a run is done."""
        with self._books.reading() as connection:
            return self._any(connection, run_id, _CHUNK.state == "done")

    def _any(self, connection: Connection, run_id: str, which: ColumnElement[bool]) -> bool:
        query = self._books.select(_CHUNK.number).where(_CHUNK.run_id == run_id, which).limit(1)
        return connection.execute(query).one_or_none() is not None

    def _reason(self, connection: Connection, run_id: str) -> str:
        failed = (_CHUNK.run_id == run_id) & (_CHUNK.state == "failed")
        query = self._books.select(_CHUNK.error).where(failed).order_by(_CHUNK.number)
        errors: Sequence[str] = connection.execute(query).scalars().all()
        counted = self._books.select(func.count(), of=[run_chunks]).where(failed)
        return f"{connection.execute(counted).scalar_one()} pieces of work failed: {errors[0]}"

    def _change(self, connection: Connection, claim: Claim, values: dict[str, Any]) -> None:
        changed = connection.execute(
            self._books.update(run_chunks).where(claim.mine).values(**values)
        )
        if not changed.rowcount:
            raise LeaseLost

    def _locked(self, connection: Connection, run_id: str) -> Row[Any]:
        query = self._books.select(repricing_runs).where(_RUN.id == run_id).with_for_update()
        return connection.execute(query).one()


_ENDING = (RunState.RUNNING.value, RunState.CANCELLED.value)
_GOING = ("waiting", "leased")


def _ended(run: Run) -> RunState:
    if run.state is RunState.CANCELLED:
        return RunState.CANCELLED
    return RunState.FAILED if run.progress.failed else RunState.FINISHED


def _told(run: Run, state: RunState, whole: Tallies) -> dict[str, Any]:
    """Give what the event of a run that is over tells."""
    summary = whole.summary(run.prices.currency)

    def shown(money: Money) -> str:
        return str(money.amount)

    return {
        "state": state.value,
        "mode": run.wish.mode.value,
        "dry_run": run.wish.dry_run,
        "price_table": run.prices.table_id,
        "version": run.prices.version,
        "outcomes": {outcome.value: n for outcome, n in summary.outcomes.items()},
        "under_floor": summary.under_floor,
        "total_before": shown(summary.before),
        "total_after": shown(summary.after),
        "currency": run.prices.currency,
    }
