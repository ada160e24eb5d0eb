"""Every pattern of plain stock written out, where there are few enough.

Values are put on all patterns at once by one matrix product. They are whole and their sums stay
below 2**53, or 2**24 for the small ones of ``mosts``, so the float products are exact.

Guarantee: as of ``patterns.Patterns``.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from service.domain.cutting.scale import Job, Pattern

AT_ONCE = 8  # patterns offered per stock

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]


class Catalogue:
    """Every pattern of a job written out, shortest first."""

    def __init__(self, job: Job, rows: Floats, sums: Whole) -> None:
        order = np.argsort(sums, kind="stable")
        self._rows, self._sums = rows[order], sums[order]
        self._job = job
        self.grades = max(20, min(80, 400_000 // len(rows)))
        self._ends = [int(np.searchsorted(self._sums, room, side="right")) for room in job.rooms]
        self._worth: Floats = np.zeros(len(rows))
        self._most_copies = rows.max(axis=0).tolist()
        self._read: dict[int, Pattern] = {}
        self._grown: Whole | None = None
        self._full: list[NDArray[np.float32]] | None = None

    @classmethod
    def write(cls, job: Job, most: int) -> "Catalogue | None":
        """Write out the patterns of plain stock; None where there are more than ``most``."""
        kinds, room = len(job.takes), max(job.rooms)
        takes = np.array(job.takes, dtype=np.int64)
        counts = np.array(job.counts)
        rows, sums, lasts = np.eye(kinds), takes, np.arange(kinds)
        all_rows, all_sums, total = [rows], [sums], kinds
        while len(rows):
            more = (sums[:, None] + takes <= room) & (np.arange(kinds) >= lasts[:, None])
            at, lasts = np.nonzero(more)
            kept = rows[at, lasts] < counts[lasts]
            at, lasts = at[kept], lasts[kept]
            total += len(at)
            if total > most:
                return None
            rows = rows[at]
            rows[np.arange(len(at)), lasts] += 1
            sums = sums[at] + takes[lasts]
            all_rows.append(rows)
            all_sums.append(sums)
        return cls(job, np.concatenate(all_rows), np.concatenate(all_sums))

    def value(self, values: Sequence[int], counts: Sequence[int]) -> None:
        """Set what a piece of each kind is worth, and how many of each there are."""
        worthless = [
            0 if count == 0 else value for value, count in zip(values, counts, strict=True)
        ]
        self._worth = self._rows @ np.array(worthless, dtype=np.float64)
        for kind, count in enumerate(counts):
            if 0 < count < self._most_copies[kind]:
                self._worth[self._rows[:, kind] > count] = -1.0

    def most(self, stock: int) -> int:
        """Give the most value of a pattern on the stock."""
        return int(self._worth[: self._ends[stock]].max())

    def above(self, stock: int, value: int) -> list[Pattern]:
        """Give some patterns worth more than the value, the best first."""
        worth = self._worth[: self._ends[stock]]
        at = np.flatnonzero(worth > value)
        if len(at) > AT_ONCE:
            at = at[np.argpartition(worth[at], len(at) - AT_ONCE)[len(at) - AT_ONCE :]]
        at = at[np.lexsort((at, -worth[at]))]
        return [self._pattern(row) for row in at.tolist()]

    def mosts(self, values: Whole) -> Whole:
        """Give the most value of a pattern, for small values: (n, kinds) in, (n, stocks) out."""
        if self._full is None:
            self._full = [
                self._rows[self._maximal(stock)].astype(np.float32)
                for stock in range(len(self._ends))
            ]
        small = values.T.astype(np.float32)
        best = [(rows @ small).max(axis=0) for rows in self._full]
        return np.stack(best, axis=1).astype(np.int64)

    def reaching(self, stock: int, least: int, most: int) -> list[Pattern] | None:
        """List every pattern worth ``least`` to which no piece can be added, up to ``most``."""
        at = self._maximal(stock)
        at = at[self._worth[at] >= least]
        return None if len(at) > most else [self._pattern(row) for row in at.tolist()]

    def _maximal(self, stock: int) -> NDArray[np.intp]:
        """Give the rows of patterns on the stock to which no piece can be added."""
        if self._grown is None:
            takes, counts = np.array(self._job.takes), np.array(self._job.counts)
            growth = np.where(self._rows < counts, takes, 1 << 62).min(axis=1)
            self._grown = np.minimum(growth, 1 << 61) + self._sums
        return np.flatnonzero(self._grown[: self._ends[stock]] > self._job.rooms[stock])

    def _pattern(self, row: int) -> Pattern:
        if row not in self._read:
            pattern: list[int] = []
            for kind in np.flatnonzero(self._rows[row]).tolist():
                pattern += [kind] * int(self._rows[row, kind])
            self._read[row] = tuple(pattern)
        return self._read[row]
