"""Pre-punched stock carries its pickets: where on a bar a piece may start, and in which order.

A bar is punched at ``first + k * pitch`` from its start, k = 0, 1, ...; where the stock does not
say, the first place is half a pitch from the start. A piece with a first picket starts where a
punched place falls exactly on it. So the gap to the piece before is the kerf and whatever is cut
away until the phase is right; where the two margins and the kerf pass the pitch, a punched place
is lost. Pieces without pickets are cut anywhere. A piece is never turned end for end.

No punched place shows inside a piece besides its pickets as long as its margins are shorter than
the pitch; a longer margin is taken to be hidden in its post, and is accepted.

Guarantee: to start each piece as early as its phase allows is best for all that follow, so one
end per set of pieces and last piece decides. ``arrange`` finds the order that ends earliest, by
dynamic programming over the sets, and is exact up to ``MOST_SETS`` sets a bar; beyond that it
keeps the longest-first order and says so in ``exact``.

Most sets need no such search to tell whether they fit: they do where they fit longest first, and
do not where the least that each piece takes after any other is too much already.
"""

from service.domain.cutting.demand import CutDemand
from service.domain.cutting.scale import Job, Pattern, impossible, in_mm, trim_nm

MOST_SETS = 4_000
PIECES_OF_MOST_SETS = MOST_SETS.bit_length()  # fewer pieces have no more sets

Placed = tuple[tuple[int, int], ...]  # (kind, start from the bar's start [nm]) in order
Between = tuple[int, int]  # an earliest end is not before the one and not after the other [nm]
Ends = dict[int, tuple[int, int]]  # per last piece: the earliest end [nm], and the piece before it


class PunchedBars:
    """Where pieces may lie on the punched stocks of one job."""

    def __init__(self, demand: CutDemand, job: Job, pitch_nm: int) -> None:
        self.exact = True
        self._pitch = pitch_nm
        self._kerf = demand.kerf_nm
        self._lengths = [kind[0].length_nm for kind in job.kinds]
        self._firsts = [kind[0].first_picket_nm for kind in job.kinds]
        self._grids = [
            (pitch_nm // 2 if s.first_picket_nm is None else s.first_picket_nm, trim_nm(demand, s))
            for s in job.stocks
        ]
        self._usable_ends = [s.length_nm - trim_nm(demand, s) for s in job.stocks]
        # Stocks punched and trimmed alike share what is known of a pattern.
        self._ends: dict[tuple[int, int], dict[Pattern, Ends]] = {g: {} for g in self._grids}
        self._earliest: dict[tuple[int, int], dict[Pattern, int]] = {g: {} for g in self._grids}
        roughly: dict[tuple[int, int], dict[Pattern, Between]] = {g: {} for g in self._grids}
        self._roughly = [roughly[grid] for grid in self._grids]
        self._steps = self._from_end_to_end()
        self._leasts = [self._least_after_any(job, kind) for kind in range(len(job.kinds))]
        self._lows = {
            grid: min(self._end_alone(grid, k) - least for k, least in enumerate(self._leasts))
            for grid in self._ends
        }

    def fits(self, stock: int, pattern: Pattern) -> bool:
        """Tell whether the pieces can lie on one bar of the stock, in some order."""
        low, high = self._roughly[stock].get(pattern) or self._end_between(stock, pattern)
        usable_end = self._usable_ends[stock]
        return high <= usable_end or (low <= usable_end and self.room_after(stock, pattern) >= 0)

    def most_room_after(self, stock: int, pattern: Pattern) -> int:
        """Give what ``room_after`` does not pass, sooner than that is known. [nm]."""
        low, _ = self._roughly[stock].get(pattern) or self._end_between(stock, pattern)
        return self._usable_ends[stock] - low

    def room_after(self, stock: int, pattern: Pattern) -> int:
        """Give what lies between the last piece, ended as early as can be, and the trim. [nm]."""
        grid = self._grids[stock]
        end = self._earliest[grid].get(pattern)
        if end is None:
            end = min(self._all_ends(grid, pattern).values())[0]
            self._earliest[grid][pattern] = end
        return self._usable_ends[stock] - end

    def refuse_misfits(self, demand: CutDemand, job: Job) -> None:
        """Refuse a piece that no stock holds once its pickets fall on punched places.

        Raises:
            PieceTooLong: Names the piece and the stock that comes nearest.
        """
        for kind, alike in enumerate(job.kinds):
            if any(self.fits(s, (kind,)) for s in range(len(job.stocks))):
                continue
            room, at = max((self.room_after(s, (kind,)), -s) for s in range(len(job.stocks)))
            stock = job.stocks[-at]
            why = (
                f"fits no stock with its pickets on punched places: on {stock.sku} it ends "
                f"{in_mm(-room)} mm past the usable end"
            )
            raise impossible(demand, alike[0], why, stock.length_nm - room)

    def arrange(self, stock: int, pattern: Pattern) -> Placed:
        """Give the order that ends earliest, with the start of each piece. [nm]."""
        grid = self._grids[stock]
        placed: list[tuple[int, int]] = []
        last = -1
        while pattern:
            ends = self._all_ends(grid, pattern)
            if last < 0:
                last = min(ends, key=lambda kind: (ends[kind][0], kind))
            end, before = ends[last]
            placed.append((last, end - self._lengths[last]))
            pattern = _without(pattern, last)
            last = before
        return tuple(reversed(placed))

    def place(self, stock: int, kind: int, start: int) -> int | None:
        """Give the number of the punched place that becomes a piece's first picket, from 1."""
        margin = self._firsts[kind]
        if margin is None:
            return None
        return (start + margin - self._grids[stock][0]) // self._pitch + 1

    def start(self, grid: tuple[int, int], kind: int, earliest: int) -> int:
        """Give the first position at which a kind is in phase. [nm]."""
        margin = self._firsts[kind]
        if margin is None:
            return earliest
        start = earliest + (grid[0] - margin - earliest) % self._pitch
        return max(start, grid[0] - margin)

    def _end_between(self, stock: int, pattern: Pattern) -> Between:
        """Give two bounds of the earliest end; the later one is that of the longest-first order."""
        roughly, grid = self._roughly[stock], self._grids[stock]
        kind, before = pattern[-1], pattern[:-1]
        if before:
            low, high = roughly.get(before) or self._end_between(stock, before)
            if self._steps:
                high += self._steps[kind][before[-1]]
            else:
                high = self.start(grid, kind, high + self._kerf) + self._lengths[kind]
        else:
            low, high = self._lows[grid], self._end_alone(grid, kind)
        between = low + self._leasts[kind], high
        roughly[pattern] = between
        return between

    def _end_alone(self, grid: tuple[int, int], kind: int) -> int:
        return self.start(grid, kind, grid[1]) + self._lengths[kind]

    def _from_end_to_end(self) -> list[list[int]]:
        """Give, per kind and kind before it, what lies from the one end to the other. [nm].

        Where all pieces have pickets, one ends in the same phase wherever it lies. Empty where
        some have none, or have the first past their end.
        """
        pairs = [
            (first, length)
            for first, length in zip(self._firsts, self._lengths, strict=True)
            if first is not None and first <= length
        ]
        if len(pairs) < len(self._firsts):
            return []
        kerf, pitch = self._kerf, self._pitch
        rests = [first - length - kerf for first, length in pairs]
        return [
            [kerf + (rest - first) % pitch + length for rest in rests] for first, length in pairs
        ]

    def _least_after_any(self, job: Job, kind: int) -> int:
        """Give what a kind takes at least from the end of the piece before it to its own. [nm]."""
        if not self._steps:
            return self._kerf + self._lengths[kind]
        steps = self._steps[kind]
        others = steps if job.counts[kind] > 1 else steps[:kind] + steps[kind + 1 :]
        return min(others, default=self._kerf + self._lengths[kind])

    def _all_ends(self, grid: tuple[int, int], pattern: Pattern) -> Ends:
        """Give, per possible last piece, the earliest end and the piece before it."""
        known = self._ends[grid].get(pattern)
        if known is not None:
            return known
        found: Ends = {}
        if len(pattern) == 1:
            found[pattern[0]] = (self._end_alone(grid, pattern[0]), -1)
        else:
            for last in self._lasts(pattern):
                before = self._all_ends(grid, _without(pattern, last))
                found[last] = self._after(grid, last, before)
        self._ends[grid][pattern] = found
        return found

    def _lasts(self, pattern: Pattern) -> list[int]:
        """Give the kinds tried as the last piece: all, or the shortest where sets are too many."""
        lasts = sorted(set(pattern))
        if len(pattern) >= PIECES_OF_MOST_SETS and _sets(pattern) > MOST_SETS:
            self.exact = self.exact and len(lasts) == 1
            return lasts[-1:]
        return lasts

    def _after(self, grid: tuple[int, int], kind: int, before: Ends) -> tuple[int, int]:
        """Give the earliest end of a kind after any of some pieces, and that piece."""
        if self._steps:
            steps = self._steps[kind]
            return min([(end + steps[last], last) for last, (end, _) in before.items()])
        length, margin, kerf = self._lengths[kind], self._firsts[kind], self._kerf
        if margin is None:
            return min([(end + kerf + length, last) for last, (end, _) in before.items()])
        phase, pitch = grid[0] - margin, self._pitch
        end, piece = min(
            [(end + kerf + (phase - end - kerf) % pitch, last) for last, (end, _) in before.items()]
        )
        return max(end, phase) + length, piece


def _without(pattern: Pattern, kind: int) -> Pattern:
    at = pattern.index(kind)
    return pattern[:at] + pattern[at + 1 :]


def _sets(pattern: Pattern) -> int:
    sets = 1
    for kind in set(pattern):
        sets *= pattern.count(kind) + 1
    return sets
