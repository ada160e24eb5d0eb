"""Does the work of runs, one piece at a time; any number may do it at once, on any host."""

import logging
import os
import socket
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from uuid import uuid4

from sqlalchemy import Engine
from sqlalchemy.exc import IntegrityError

from service.adapters.storage.books import Books
from service.adapters.storage.replan_material import ReplanWork
from service.adapters.storage.rounds import RunAtWork, runs_at_work
from service.adapters.storage.run_ledger import MOST_ATTEMPTS, Claim, LeaseLost, RunLedger
from service.adapters.storage.run_prices import HeldPrices, RunPrices
from service.usecases.outages import StoreUnavailable
from service.usecases.repricing.ports import Stop
from service.usecases.repricing.records import Mode, RunState
from service.usecases.repricing.replan import Replan
from service.usecases.repricing.turns import Turns

WHO = "re-pricing run"
LEASE = timedelta(seconds=120)
# A transaction of this many quotes takes about a second, and keeps SQLite's writers waiting.
_KEEP = {"postgresql": 10_000, "sqlite": 2_000}
_REPLAN = 50
_TRIES = 3  # of a piece of work that others' revisions came between
_WHOLE = 2  # attempts at a range as a whole; the others are made by halves
_log = logging.getLogger("service")
Which = tuple[str, str]  # dealer, id of a run


def owner_of_its_own() -> str:
    """Give a name that nobody else works under."""
    return f"{socket.gethostname()}/{os.getpid()}/{uuid4().hex[:8]}"


@dataclass
class SqlRunWork:
    """Works on the runs of every dealer.

    Attributes:
        engine: The database.
        now: The clock; leases go by the database's own.
        lease: How long a piece of work is kept from others without a word.
        size: How many quotes a piece of work has, None for the usual.
        replan: Plans quotes anew; None leaves runs that do so to others.
        turns: Whose run comes next.
    """

    engine: Engine
    now: Callable[[], datetime] = lambda: datetime.now(UTC)
    lease: timedelta = LEASE
    size: int | None = None
    replan: Replan | None = None
    turns: Turns = field(default_factory=lambda: Turns(time.monotonic))
    _held: HeldPrices = field(default_factory=HeldPrices)
    _failures: Counter[Which] = field(default_factory=Counter)

    def step(self, owner: str) -> bool:
        """Do one piece of work, and say whether there was any."""
        for found in self.turns.in_order(runs_at_work(self.engine)):
            if found.mode is Mode.REPLAN_MATERIAL and self.replan is None:
                continue
            if self._piece(owner, found):
                return True
        return False

    def _piece(self, owner: str, found: RunAtWork) -> bool:
        """Do one piece of work of a run, and say whether there was any."""
        dealer, run_id = found.dealer, found.id
        ledger = self._ledger(dealer)
        if found.state is RunState.PLANNED and self._plan(dealer, ledger, run_id, found.mode):
            self.turns.take(dealer)
            return True
        claim = ledger.claim(run_id, owner)
        if claim is not None:
            self.turns.take(dealer)
            self._do(dealer, ledger, claim)
            return True
        if ledger.finish(run_id, self.now()):
            self._held.drop(dealer, run_id)
            return True
        return False

    def _plan(self, dealer: str, ledger: RunLedger, run_id: str, mode: Mode) -> bool:
        """Try to plan a run, unless that is done; one that always fails is given up."""
        which = (dealer, run_id)
        try:
            return ledger.plan(run_id, self._size(mode), self.now())
        except StoreUnavailable:
            raise
        except Exception as error:
            _log.exception("run %s could not be planned", run_id)
            self._failures[which] += 1
            if self._failures[which] == MOST_ATTEMPTS:
                reason = f"It could not be planned: {type(error).__name__}"
                ledger.give_up(run_id, reason, self.now())
                del self._failures[which]
            return True

    def work(self, stop: Stop) -> int:
        """Do pieces of work until there is none, or until told to stop; give how many."""
        owner, pieces = owner_of_its_own(), 0
        while not stop() and self.step(owner):
            pieces += 1
        return pieces

    def _ledger(self, dealer: str) -> RunLedger:
        return RunLedger(self._books(dealer), self.lease)

    def _books(self, dealer: str) -> Books:
        return Books(self.engine, dealer, WHO)

    def _size(self, mode: Mode) -> int:
        if mode is Mode.REPLAN_MATERIAL:
            return self.size or _REPLAN
        return self.size or _KEEP[self.engine.dialect.name]

    def _do(self, dealer: str, ledger: RunLedger, claim: Claim) -> None:
        """Do a piece of work; one that fails is left to the next who looks."""
        try:
            self._tried(dealer, ledger, claim)
        except LeaseLost:
            _log.warning("a piece of run %s was taken over by another", claim.run_id)
        except StoreUnavailable:
            raise
        except Exception as error:
            _log.exception("a piece of run %s failed", claim.run_id)
            ledger.give_back(claim, f"{type(error).__name__} in piece {claim.number}")

    def _tried(self, dealer: str, ledger: RunLedger, claim: Claim) -> None:
        run = ledger.run(claim.run_id)
        if run.wish.mode is Mode.REPLAN_MATERIAL and self.replan is not None:
            # The books of the ledger and those of what is written share each transaction.
            books = self._books(dealer)
            ReplanWork(books, RunLedger(books, self.lease), run, self.replan).work(claim, self.now)
            return
        prices = self._held.of(self._books(dealer), run)
        if claim.attempts > _WHOLE:
            from service.adapters.storage.careful import CarefulWork  # loads NumPy

            CarefulWork(ledger, prices, claim, self.now).work()
            return
        for tried in range(1, _TRIES + 1):
            try:
                self._keep(ledger, claim, prices)
            except IntegrityError:
                if tried == _TRIES:
                    raise
            else:
                return

    def _keep(self, ledger: RunLedger, claim: Claim, prices: RunPrices) -> None:
        """Price a range and write all that comes of it, or nothing."""
        from service.adapters.storage.keep_material import price_range  # loads NumPy

        books = prices.books
        with books.writing() as connection:
            ledger.fence(connection, claim)
            tallies = price_range(books, connection, prices, claim.within, self.now())
            ledger.done(connection, claim, tallies)
