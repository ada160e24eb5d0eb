"""Every pattern of a job written out, where there are few enough.

Values are put on all patterns at once by one matrix product. They are whole and their sums stay
below 2**53, or 2**24 for the small ones of ``mosts``, so the float products are exact.

Guarantee: as of ``patterns.Patterns``.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from service.domain.cutting.heuristics import Fits
from service.domain.cutting.scale import Job, Pattern

AT_ONCE = 8  # patterns offered per stock

LONG = 1 << 61  # longer than any bar

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]
Whole = NDArray[np.int64]


class Catalogue:
    """Every pattern of a job written out.

    Args:
        job: The scaled job.
        rows: (n, kinds) copies of each kind in each pattern.
        on: Per stock: rows of the patterns that fit it.
        full: Per stock: rows of those to which no piece can be added, or more.
    """

    def __init__(self, job: Job, rows: Floats, on: list[Rows], full: list[Rows]) -> None:
        self._job, self._rows, self._on, self._full = job, rows, on, full
        self.grades = max(20, min(80, 400_000 // len(rows)))
        self.weight = len(job.takes) + len(rows) * len(job.takes) // 5_000
        self._worth: Floats = np.zeros(len(rows))
        self._most_copies = rows.max(axis=0).tolist()
        self._read: dict[int, Pattern] = {}
        self._small: list[NDArray[np.float32]] | None = None

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
        rows, sums = np.concatenate(all_rows), np.concatenate(all_sums)
        addable = np.where(rows < counts, takes, LONG).min(axis=1)
        on = [np.flatnonzero(sums <= room) for room in job.rooms]
        grown = sums + addable
        full = [at[grown[at] > room] for at, room in zip(on, job.rooms, strict=True)]
        return cls(job, rows, on, full)

    @classmethod
    def write_fitting(cls, job: Job, fits: Fits, most: int) -> "Catalogue | None":
        """Write out the patterns of punched stock; None where there are more than ``most``."""
        counts, stocks = job.counts, range(len(job.rooms))
        found: list[Pattern] = []
        on: list[list[int]] = [[] for _ in stocks]
        waiting: list[Pattern] = [(kind,) for kind in range(len(counts))]
        while waiting:
            pattern = waiting.pop()
            load = sum([job.takes[kind] for kind in pattern])
            holders = [s for s in stocks if load <= job.rooms[s] and fits(s, pattern)]
            if not holders:
                continue
            for stock in holders:
                on[stock].append(len(found))
            found.append(pattern)
            if len(found) > most:
                return None
            last = pattern[-1]
            more = last if pattern.count(last) < counts[last] else last + 1
            waiting += [(*pattern, kind) for kind in range(more, len(counts))]
        rows = np.zeros((len(found), len(counts)))
        for at, pattern in enumerate(found):
            for kind in pattern:
                rows[at, kind] += 1
        fitting = [np.array(held, dtype=np.intp) for held in on]
        return cls(job, rows, fitting, fitting)

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
        return int(self._worth[self._on[stock]].max(initial=0))

    def above(self, stock: int, value: int) -> list[Pattern]:
        """Give some patterns worth more than the value, the best first."""
        at = self._on[stock]
        worth = self._worth[at]
        better = np.flatnonzero(worth > value)
        if len(better) > AT_ONCE:
            best = np.argpartition(worth[better], len(better) - AT_ONCE)
            better = better[best[len(better) - AT_ONCE :]]
        better = better[np.lexsort((better, -worth[better]))]
        return [self._pattern(row) for row in at[better].tolist()]

    def mosts(self, values: Whole) -> Whole:
        """Give the most value of a pattern, for small values: (n, kinds) in, (n, stocks) out."""
        if self._small is None:
            self._small = [self._rows[at].astype(np.float32) for at in self._full]
        small = values.T.astype(np.float32)
        best = [(rows @ small).max(axis=0, initial=0) for rows in self._small]
        return np.stack(best, axis=1).astype(np.int64)

    def reaching(self, stock: int, least: int, most: int) -> list[Pattern] | None:
        """List every pattern worth ``least`` to which no piece can be added, up to ``most``."""
        at = self._full[stock]
        at = at[self._worth[at] >= least]
        return None if len(at) > most else [self._pattern(row) for row in at.tolist()]

    def _pattern(self, row: int) -> Pattern:
        if row not in self._read:
            pattern: list[int] = []
            for kind in np.flatnonzero(self._rows[row]).tolist():
                pattern += [kind] * int(self._rows[row, kind])
            self._read[row] = tuple(pattern)
        return self._read[row]
