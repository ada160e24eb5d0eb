"""The least count that does, found with as few trials as may be."""

from collections.abc import Callable
from dataclasses import dataclass

from service.usecases.trials import OutOfTrials


@dataclass
class LeastCount:
    """A search from 1 upwards, taking it that all counts above one that does do as well.

    Attributes:
        does: Tries a count; it may say that nothing more can be tried.
        least: The least count found that does, None if there is none.
        cut_short: Whether the trials ran out, so that a lesser one may do.

    Example:
        >>> search = LeastCount(lambda count: count >= 13)
        >>> search.run(4, 100), search.least
        (None, 13)
    """

    does: Callable[[int], bool]
    least: int | None = None
    cut_short: bool = False

    def run(self, guess: int, most: int) -> None:
        """Search from 1 to ``most``, the guess first."""
        try:
            self._search(guess, most)
        except OutOfTrials:
            self.cut_short = True

    def _search(self, guess: int, most: int) -> None:
        low, high = 0, min(guess, most)  # low does not
        while not self.does(high):
            if high >= most:
                return
            low, high = high, min(2 * high, most)
        self.least = high
        if high - low > 1:
            if not self.does(high - 1):
                return
            self.least = high - 1
        while self.least - low > 1:
            middle = (low + self.least) // 2
            if self.does(middle):
                self.least = middle
            else:
                low = middle
