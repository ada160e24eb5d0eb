"""One piece of a run that plans quotes anew: one quote at a time, each in a transaction of its own.

A quote is worked out before its transaction is begun, so that nobody waits for that; what it comes
to is written if the quote is still open then.
"""

import logging
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from service.adapters.storage.books import Books
from service.adapters.storage.light_records import Candidate, Result, Revised
from service.adapters.storage.light_revisions import keep_results
from service.adapters.storage.orders import minor_units, read_order
from service.adapters.storage.repositories import SqlQuotes
from service.adapters.storage.repriced_events import repriced_detail
from service.adapters.storage.run_candidates import Range, candidates
from service.adapters.storage.run_ledger import MOST_ATTEMPTS, Claim, RunLedger
from service.adapters.storage.run_records import read_tallies
from service.adapters.storage.sorting import sorted_out
from service.adapters.storage.tables import quote_lives, quotes
from service.domain.errors import NoPriceInForce, QuoteClosed, QuotingError, StaleState
from service.domain.money import Money
from service.domain.pricing.costs import costs_of
from service.domain.pricing.material import MaterialLine
from service.usecases.events import EventType
from service.usecases.outages import StoreUnavailable
from service.usecases.ports import StoredQuote
from service.usecases.quote_railing import Quote, material_kept
from service.usecases.repricing.blame import fault_of, is_of_the_machine, others_come_through
from service.usecases.repricing.judge import Judge, Margin, judge_of
from service.usecases.repricing.records import Outcome, Run
from service.usecases.repricing.replan import Replan
from service.usecases.repricing.tallies import PartKey, Tallies

_log = logging.getLogger("service")


@dataclass(frozen=True, slots=True)
class Replanned:
    """What comes of a quote.

    Attributes:
        stored: The revision to be kept, None for none.
        lines: Of its new order where its price changes, in a dry run too.
    """

    result: Result
    stored: StoredQuote | None = None
    lines: tuple[MaterialLine, ...] = ()


class ReplanWork:
    """Works through the quotes of one claim."""

    def __init__(self, books: Books, ledger: RunLedger, run: Run, replan: Replan) -> None:
        self._books = books
        self._ledger = ledger
        self._run = run
        self._replan = replan
        self._judge: Judge = judge_of(run.wish.thresholds, run.prices.currency)
        self._open: Sequence[str] = ()

    def work(self, claim: Claim, now: Callable[[], datetime]) -> None:
        """Do what is left of a claim.

        Raises:
            LeaseLost: Somebody else has it by now.
        """
        tallies = read_tallies(claim.tallies)
        with self._books.reading() as connection:
            rows = candidates(
                self._books, connection, self._run, claim.within, lock=False, after=claim.done_to
            )
            every = list(sorted_out(self._books, connection, self._run, rows, now()))
        self._open = [row.id for row, closed in every if not closed]
        for row, closed in every:
            self._one(claim, row, closed, tallies, now())
        with self._books.writing() as connection:
            self._ledger.done(connection, claim, tallies)

    def _one(
        self, claim: Claim, row: Candidate, closed: str, tallies: Tallies, at: datetime
    ) -> None:
        came = self._closed(row, closed) if closed else self._planned(claim, row, tallies, at)
        try:
            self._keep(claim, row, came, tallies, at)
        except StaleState:  # somebody revised it meanwhile
            self._keep(claim, row, self._closed(row, "revised"), tallies, at)

    def _closed(self, row: Candidate, why: str) -> Replanned:
        return Replanned(_failed(row, Outcome.CLOSED, why))

    def _planned(self, claim: Claim, row: Candidate, tallies: Tallies, at: datetime) -> Replanned:
        """Work a quote out, and judge it; the last who tries passes over what nobody foresaw."""
        run = self._run
        if row.currency != run.prices.currency:
            return Replanned(_failed(row, Outcome.OTHER_CURRENCY, row.currency))
        try:
            quote = self._replan.quote(self._books.dealer, run, row.id, at)
        except NoPriceInForce as error:
            return Replanned(_failed(row, Outcome.NO_PRICE, " ".join(error.skus)))
        except QuoteClosed as error:
            return Replanned(_failed(row, Outcome.CLOSED, error.detail))
        except QuotingError as error:
            return Replanned(_failed(row, Outcome.REFUSED, error.detail))
        except StoreUnavailable:
            raise
        except Exception as error:
            last = claim.attempts >= MOST_ATTEMPTS and not is_of_the_machine(error)
            if not last or not self._others_come_through(claim, row.id, tallies, at):
                raise
            _log.exception("quote %s could not be worked out", row.id)
            return Replanned(_failed(row, Outcome.FAILED, fault_of(error)))
        after, margin = minor_units(quote.totals.gross), _margin_of(quote)
        under = self._judge.under_floor(margin)
        outcome = self._judge.outcome(row.total_minor, after, under_floor=under)
        write = outcome is Outcome.CHANGED and not run.wish.dry_run
        result = Result(
            row.id,
            outcome,
            row.total_minor,
            row.currency,
            after,
            quote.receipt.id if write else None,
            margin.ppm,
            under,
        )
        lines = material_kept(quote).lines if outcome is Outcome.CHANGED else ()
        return Replanned(result, self._replan.written(quote) if write else None, lines)

    def _others_come_through(
        self, claim: Claim, quote_id: str, tallies: Tallies, at: datetime
    ) -> bool:
        """Tell whether quotes can be worked out now: those behind one, or else those before it."""

        def trial(other: str) -> bool:
            try:
                self._replan.quote(self._books.dealer, self._run, other, at)
            except QuotingError:
                return True
            except StoreUnavailable:
                raise
            except Exception:
                return False
            return True

        came = others_come_through([one for one in self._open if one > quote_id], trial)
        if came is not None:
            return came
        return bool(tallies.priced) or self._ledger.any_done(claim.run_id)

    def _keep(
        self, claim: Claim, row: Candidate, came: Replanned, tallies: Tallies, at: datetime
    ) -> None:
        """Write what comes of a quote, and how far the claim has come, or nothing."""
        counted = Tallies()
        with self._books.together(), self._books.writing() as connection:
            self._ledger.fence(connection, claim)
            self._lock_series(connection, row.series)
            if came.result.outcome is not Outcome.CLOSED:
                came = self._still(connection, row, came, at)
            result = came.result
            if came.stored is not None:
                self._add(connection, row, result, came.stored, at)
            if result.outcome is not Outcome.UNCHANGED or result.under_floor:
                keep_results(self._books, connection, claim.run_id, [result])
            skus = result.detail.split() if result.outcome is Outcome.NO_PRICE else ()
            counted.count(
                result.outcome,
                result.before,
                result.after,
                under_floor=result.under_floor,
                skus=skus,
            )
            if came.lines:
                self._count_parts(connection, counted, row.id, came.lines)
            whole = Tallies()
            whole.add(tallies)
            whole.add(counted)
            self._ledger.advance(connection, claim, whole, row.id)
        tallies.add(counted)

    def _lock_series(self, connection: Connection, series: str) -> None:
        """Lock all of a series by number, as every step of its quotes does."""
        query = self._books.select(quote_lives.c.quote_id).where(quote_lives.c.series == series)
        connection.execute(query.order_by(quote_lives.c.revision).with_for_update())

    def _still(
        self, connection: Connection, row: Candidate, came: Replanned, at: datetime
    ) -> Replanned:
        """Look once more whether a quote is open, now that it is locked."""
        only = Range(row.id, row.id, 1)
        again = candidates(self._books, connection, self._run, only, lock=False)
        for _, closed in sorted_out(self._books, connection, self._run, again, at):
            return self._closed(row, closed) if closed else came
        return self._closed(row, "no longer fits")

    def _add(
        self,
        connection: Connection,
        row: Candidate,
        result: Result,
        stored: StoredQuote,
        at: datetime,
    ) -> None:
        """Keep a revision as a quote of its own, and tell of it."""
        SqlQuotes(self._books).add(stored)
        mine = self._books.update(quotes).where(quotes.c.id == stored.id)
        connection.execute(mine.values(run_id=self._run.id))
        told = repriced_detail(self._run, Revised(result, row))
        self._books.tell(connection, at, EventType.QUOTE_REPRICED, stored.id, told)

    def _count_parts(
        self,
        connection: Connection,
        tallies: Tallies,
        quote_id: str,
        lines: Iterable[MaterialLine],
    ) -> None:
        """Count what drove a change, where the order before is kept."""
        before = read_order(self._books, connection, quote_id)
        if before is None:
            return
        currency = self._run.prices.currency
        change = _amounts(lines, currency)
        change.subtract(_amounts(before.material.lines, currency))
        for part, moved in change.items():
            if moved:
                tallies.parts[part] += moved
                tallies.part_quotes[part] += 1


def _failed(row: Candidate, outcome: Outcome, detail: str) -> Result:
    return Result(row.id, outcome, row.total_minor, row.currency, detail=detail)


def _margin_of(quote: Quote) -> Margin:
    priced, order = quote.priced, quote.order
    currency = order.prices.currency
    total = costs_of(priced.drafts, priced.lines, currency, order.pricing.half).total
    return Margin(minor_units(total.net), minor_units(total.cost))


def _amounts(lines: Iterable[MaterialLine], currency: str) -> Counter[PartKey]:
    found: Counter[PartKey] = Counter()
    for line in lines:
        key = (line.part.kind, line.part.sku, line.part.name)
        found[key] += minor_units(Money(line.amount, currency))
    return found
