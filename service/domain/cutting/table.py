"""Patterns found by dynamic programming over the room and a depth-first search.

The table holds the most value that kinds ``k..`` can add in what is left of a bar. Long rooms are
coarsened, takes rounded down: the table then promises at least the true value, and the search,
which follows it in true lengths, stays exact. On pre-punched stock the ``fits`` given decides what
fits, and the table promises too much as well.

Guarantee: as of ``patterns.Patterns``.
"""

from collections.abc import Callable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from service.domain.cutting.heuristics import Fits
from service.domain.cutting.scale import Job, Pattern

FINE = 20_000  # longest room not coarsened
COARSE = 8_000  # steps of a coarsened room
CELLS = 4_000_000  # of a table
NODES = 20_000  # of the search for the best pattern
SOME = 30  # of the search for another good one
AT_ONCE = 8  # patterns offered per stock

Whole = NDArray[np.int64]


class Table:
    """Patterns found by dynamic programming over the room and a depth-first search."""

    def __init__(self, job: Job, fits: Fits | None) -> None:
        self._takes, self._rooms, self._fits = job.takes, job.rooms, fits
        self.grades = 20
        room = max(job.rooms)
        fine = room <= FINE and room * len(job.takes) <= CELLS
        self._grain = 1 if fine else -(-room // COARSE)
        self._table = np.zeros((len(job.takes) + 1, room // self._grain + 1), dtype=np.int64)
        self.weight = len(job.takes) + self._table.size // 1_000
        self._lengths = np.array(job.takes, dtype=np.int64)
        self._values: Sequence[int] = ()
        self._counts = self._all = job.counts
        self._best: dict[int, tuple[int, Pattern | None]] = {}

    def value(self, values: Sequence[int], counts: Sequence[int]) -> None:
        """Set what a piece of each kind is worth, and how many of each there are."""
        self._values, self._counts = values, tuple(counts)
        self._best.clear()
        table, width = self._table, self._table.shape[1]
        for kind in range(len(values) - 1, -1, -1):
            row = table[kind]
            row[:] = table[kind + 1]
            value, step = values[kind], self._takes[kind] // self._grain
            if value <= 0 or not counts[kind]:
                continue
            if step == 0:
                row += value * counts[kind]
                continue
            for _ in range(min(counts[kind], (width - 1) // step)):
                row[step:] = np.maximum(row[step:], row[:-step] + value)

    def most(self, stock: int) -> int:
        """Give a value that no pattern on the stock exceeds."""
        return self._most(stock)[0]

    def above(self, stock: int, value: int) -> list[Pattern]:
        """Give some patterns worth more than the value, the best first."""
        worth, best = self._most(stock)
        if worth <= value or not best:
            return []
        found = [best]
        kinds = len(self._takes)
        for first in range(kinds // AT_ONCE, kinds, max(1, kinds // AT_ONCE)):
            if self._table[first, self._rooms[stock] // self._grain] <= value:
                break
            pattern = self._trace(stock, first) or self._climb(stock, first, SOME)[1]
            if pattern and sum([self._values[kind] for kind in pattern]) > value:
                found.append(pattern)
        return list(dict.fromkeys(found))

    def mosts(self, values: Whole) -> Whole:
        """Give the most value of a pattern, for small values: (n, kinds) in, (n, stocks) out."""
        best = np.zeros((len(values), self._table.shape[1]), dtype=np.int32)
        for kind, take in enumerate(self._takes):
            step, worth = take // self._grain, values[:, kind, None].astype(np.int32)
            if step == 0:
                best += worth * self._all[kind]
                continue
            for _ in range(min(self._all[kind], (best.shape[1] - 1) // step)):
                best[:, step:] = np.maximum(best[:, step:], best[:, :-step] + worth)
        return best[:, [room // self._grain for room in self._rooms]].astype(np.int64)

    def reaching(self, stock: int, least: int, most: int) -> list[Pattern] | None:
        """List every pattern worth ``least`` to which no piece can be added, up to ``most``."""
        found: list[Pattern] = []
        for _, pattern in self._search(stock, 0, lambda: least - 1, 4 * most + 20_000, every=True):
            if pattern is None or len(found) >= most:
                return None
            found.append(pattern)
        return found

    def _most(self, stock: int) -> tuple[int, Pattern | None]:
        if stock not in self._best:
            traced = self._trace(stock, 0)
            if traced is None:
                self._best[stock] = self._climb(stock, 0, NODES)
            else:
                self._best[stock] = (sum([self._values[kind] for kind in traced]), traced)
        return self._best[stock]

    def _trace(self, stock: int, first: int) -> Pattern | None:
        """Follow the table to a best pattern; None where it is not true to bar or counts."""
        if self._grain > 1 or self._fits is not None:
            return None
        table, rest, kind = self._table, self._rooms[stock], first
        pattern: list[int] = []
        while table[kind, rest]:
            column = table[kind:, rest]
            kind += int(np.count_nonzero(column == column[0])) - 1
            pattern.append(kind)
            if pattern.count(kind) > self._counts[kind]:
                return None
            rest -= self._takes[kind]
        return tuple(pattern)

    def _climb(self, stock: int, first: int, nodes: int) -> tuple[int, Pattern | None]:
        """Find the best pattern of kinds from ``first`` on, and a value none exceeds."""
        best: list[tuple[int, Pattern | None]] = [(0, None)]
        for value, found in self._search(stock, first, lambda: best[0][0], nodes, every=False):
            if found is None:
                return int(self._table[first, self._rooms[stock] // self._grain]), best[0][1]
            best[0] = (value, found)
        return best[0]

    def _search(
        self, stock: int, first: int, floor: Callable[[], int], nodes: int, every: bool
    ) -> Iterator[tuple[int, Pattern | None]]:
        """Yield patterns worth more than the floor; None for a pattern when out of nodes.

        With ``every``, all to which no piece can be added; else the floor is expected to rise to
        the value yielded. A node is a pattern, its children add one piece, not longer than its
        last; the most promising child comes first.
        """
        fits, kinds = self._fits, len(self._takes)
        worths = np.array(self._values, dtype=np.int64)
        free = np.array(self._counts) > 0
        if not every:
            free &= worths > 0
        stack: list[tuple[int, int, int, int, Pattern]] = [
            (1 << 62, first, self._rooms[stock], 0, ())
        ]
        while stack:
            promise, kind, rest, value, pattern = stack.pop()
            if promise <= floor() or (pattern and fits and not fits(stock, pattern)):
                continue
            nodes -= 1
            if nodes < 0:
                yield 0, None
                return
            if pattern and value > floor() and not (every and self._grows(stock, pattern, rest)):
                yield value, pattern
            if pattern and pattern.count(kind) >= self._counts[kind]:
                kind += 1
            start = max(kind, int(np.searchsorted(-self._lengths, -rest)))
            left = (rest - self._lengths[start:]) // self._grain
            promises = value + worths[start:] + self._table[np.arange(start, kinds), left]
            good = np.flatnonzero((promises > floor()) & free[start:])
            for at in good[np.argsort(promises[good], kind="stable")].tolist():
                added = start + at
                stack.append(
                    (
                        int(promises[at]),
                        added,
                        rest - self._takes[added],
                        value + self._values[added],
                        (*pattern, added),
                    )
                )

    def _grows(self, stock: int, pattern: Pattern, rest: int) -> bool:
        """Tell whether a piece can be added to a pattern."""
        for kind in range(len(self._takes) - 1, -1, -1):
            if self._takes[kind] > rest:
                return False
            if pattern.count(kind) < self._counts[kind] and (
                self._fits is None or self._fits(stock, tuple(sorted((*pattern, kind))))
            ):
                return True
        return False
