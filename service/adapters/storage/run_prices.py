"""What quotes are priced again by: parts and rules as they are kept, prices resolved once.

Versions of price tables, parts and rules never change once they are kept, so that a worker reads
each of them once.
"""

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection

from service.adapters.storage.books import Books
from service.adapters.storage.line_texts import numbered
from service.adapters.storage.parts import part_of
from service.adapters.storage.price_tables import SqlPriceTables
from service.adapters.storage.rules import read_rules
from service.adapters.storage.tables import quote_rules, quoted_parts
from service.domain.pricing.many.resolved import ManyPrices
from service.domain.pricing.material import Part
from service.domain.pricing.price_table import PriceTable
from service.usecases.repricing.records import Run

Ints = NDArray[np.int64]
_AT_ONCE = 500  # ids of one question
_MOST_HELD = 4  # runs; a price table may have a hundred thousand rows


@dataclass(frozen=True, slots=True)
class Resolved:
    """Prices of some parts under one set of rules.

    Attributes:
        ids: Of the parts, rising; their places are the numbers the prices know them by.
    """

    ids: Ints
    parts: tuple[Part, ...]
    prices: ManyPrices


class RunPrices:
    """What one run prices by, as far as a worker has read it."""

    def __init__(self, books: Books, run: Run) -> None:
        self.run = run
        self.books = books
        self._table: PriceTable | None = None
        self._parts: dict[int, Part] = {}
        self._resolved: dict[str, Resolved] = {}

    def resolved(self, connection: Connection, rules: str, ids: Ints) -> tuple[Resolved, Ints]:
        """Give prices of parts, and the number by which they know each part.

        Args:
            connection: To read by what was not read yet.
            rules: Digest of the rules.
            ids: Of the parts, in any order and as often as they come.
        """
        before = self._resolved.get(rules)
        if before is not None:
            try:
                return before, numbered(ids, before.ids)
            except KeyError:  # parts that no quote had so far
                known = set(before.ids.tolist())
        else:
            known = set()
        every = sorted(known | set(np.unique(ids).tolist()))
        self._read_parts(connection, [one for one in every if one not in self._parts])
        parts = tuple(self._parts[one] for one in every)
        query = self.books.select(quote_rules.c.settings).where(quote_rules.c.digest == rules)
        settings = read_rules(connection.execute(query).scalar_one())
        prices = ManyPrices(
            parts, self.table(), settings, self.run.wish.on, self.run.prices.currency
        )
        found = Resolved(np.array(every, np.int64), parts, prices)
        self._resolved[rules] = found
        return found, numbered(ids, found.ids)

    def table(self) -> PriceTable:
        """Give the version of the price table, with all its rows."""
        if self._table is None:
            tables, pinned = SqlPriceTables(self.books), self.run.prices
            self._table = tables.priced(tables.version(pinned.table_id, pinned.version))
        return self._table

    def _read_parts(self, connection: Connection, ids: Sequence[int]) -> None:
        for start in range(0, len(ids), _AT_ONCE):
            some = quoted_parts.c.id.in_(ids[start : start + _AT_ONCE])
            for row in connection.execute(self.books.select(quoted_parts).where(some)):
                self._parts[row.id] = part_of(row)


class HeldPrices:
    """The prices of the few runs that were last worked on, so that taking turns reads none anew."""

    def __init__(self) -> None:
        self._held: OrderedDict[tuple[str, str], RunPrices] = OrderedDict()

    def of(self, books: Books, run: Run) -> RunPrices:
        """Give the prices of a run."""
        which = (books.dealer, run.id)
        if which not in self._held:
            read = RunPrices(books, run)
            read.table()
            self._held[which] = read
        self._held.move_to_end(which)
        while len(self._held) > _MOST_HELD:
            self._held.popitem(last=False)
        return self._held[which]

    def drop(self, dealer: str, run_id: str) -> None:
        """Forget the prices of a run that is over."""
        self._held.pop((dealer, run_id), None)
