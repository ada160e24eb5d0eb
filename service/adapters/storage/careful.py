"""A range that keeps failing, done by halves until the quote that fails stands alone.

Each part is a transaction of its own and moves the mark up to which the range is done, as quotes
that are planned anew do it, so that all the others are re-priced once, whoever is killed. A quote
that fails alone is set aside with an outcome of its own, but only where it can be its own fault:
others come through, and few fail.
"""

import logging
from collections.abc import Callable, Sequence
from datetime import datetime

from sqlalchemy import Connection

from service.adapters.storage.keep_material import price_range
from service.adapters.storage.light_records import Result
from service.adapters.storage.light_revisions import keep_results
from service.adapters.storage.run_candidates import Range, candidate_ids
from service.adapters.storage.run_ledger import Claim, LeaseLost, RunLedger
from service.adapters.storage.run_prices import RunPrices
from service.adapters.storage.run_records import read_tallies
from service.adapters.storage.tables import quotes
from service.usecases.outages import StoreUnavailable
from service.usecases.repricing.blame import (
    MOST_SET_ASIDE,
    fault_of,
    is_of_the_machine,
    others_come_through,
)
from service.usecases.repricing.records import Outcome
from service.usecases.repricing.tallies import Tallies

_TRIES = 3  # of a quote alone
_log = logging.getLogger("service")


class CarefulWork:
    """Works through the quotes of one claim that failed as a whole."""

    def __init__(
        self, ledger: RunLedger, prices: RunPrices, claim: Claim, now: Callable[[], datetime]
    ) -> None:
        self._books = prices.books
        self._ledger = ledger
        self._prices = prices
        self._claim = claim
        self._now = now
        self._tallies = read_tallies(claim.tallies)

    def work(self) -> None:
        """Do what is left of the claim.

        Raises:
            LeaseLost: Somebody else has it by now.
            Exception: What fails is more than a few quotes.
        """
        left = self._left()
        parts = _halves(left)
        while parts:
            part = parts.pop()
            error = self._failed(part)
            if error is None:
                continue
            if len(part) > 1:
                parts += _halves(part)
            else:
                self._set_aside(part[0], error, [one for one in left if one > part[0]])
        with self._books.writing() as connection:
            self._ledger.done(connection, self._claim, self._tallies)

    def _left(self) -> Sequence[str]:
        """Give the ids of what is not done yet; nothing else of a quote is read."""
        claim, run = self._claim, self._prices.run
        with self._books.reading() as connection:
            return candidate_ids(self._books, connection, run, claim.within, after=claim.done_to)

    def _failed(self, part: Sequence[str]) -> Exception | None:
        """Do a part, and say why that fails; a quote alone is tried again."""
        failed: Exception | None = None
        for _ in range(_TRIES if len(part) == 1 else 1):
            try:
                self._keep(part)
            except (LeaseLost, StoreUnavailable):
                raise
            except Exception as error:
                failed = error
            else:
                return None
        return failed

    def _keep(self, part: Sequence[str]) -> None:
        """Price a part and write all that comes of it, or nothing."""
        with self._books.writing() as connection:
            self._ledger.fence(connection, self._claim)
            counted = self._price(connection, part)
            self._advance(connection, counted, part[-1])
        self._tallies.add(counted)

    def _price(self, connection: Connection, part: Sequence[str]) -> Tallies:
        within = Range(part[0], part[-1], len(part))
        return price_range(self._books, connection, self._prices, within, self._now())

    def _advance(self, connection: Connection, counted: Tallies, done_to: str) -> None:
        whole = Tallies()
        whole.add(self._tallies)
        whole.add(counted)
        self._ledger.advance(connection, self._claim, whole, done_to)

    def _set_aside(self, quote_id: str, error: Exception, behind: Sequence[str]) -> None:
        """Note that a quote fails, and pass over it."""
        too_many = self._tallies.outcomes[Outcome.FAILED] >= MOST_SET_ASIDE
        if is_of_the_machine(error) or too_many or not self._others_come_through(behind):
            raise error
        _log.error("quote %s could not be priced", quote_id, exc_info=error)
        counted, mine = Tallies(), quotes.c.id == quote_id
        shown = (quotes.c.total_minor, quotes.c.currency)
        with self._books.writing() as connection:
            self._ledger.fence(connection, self._claim)
            row = connection.execute(self._books.select(*shown).where(mine)).one()
            before, currency = row.total_minor, row.currency
            result = Result(quote_id, Outcome.FAILED, before, currency, detail=fault_of(error))
            keep_results(self._books, connection, self._claim.run_id, [result])
            counted.count(result.outcome, result.before, None)
            self._advance(connection, counted, quote_id)
        self._tallies.add(counted)

    def _others_come_through(self, behind: Sequence[str]) -> bool:
        """Tell whether quotes can be priced now: those behind one, or else those done before it."""
        came = others_come_through(behind, self._trial)
        if came is not None:
            return came
        return bool(self._tallies.priced) or self._ledger.any_done(self._claim.run_id)

    def _trial(self, quote_id: str) -> bool | None:
        """Price a quote and take it back; tell whether that can be done, None if not to be."""
        try:
            with self._books.writing() as connection:
                trial = connection.begin_nested()
                try:
                    return bool(self._price(connection, [quote_id]).priced) or None
                finally:
                    trial.rollback()
        except StoreUnavailable:
            raise
        except Exception:
            return False


def _halves(part: Sequence[str]) -> list[Sequence[str]]:
    """Give the halves of a part, the first one last: they are taken from the end."""
    half = (len(part) + 1) // 2
    return [some for some in (part[half:], part[:half]) if some]
