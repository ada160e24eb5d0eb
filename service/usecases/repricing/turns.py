"""Whose run a worker goes on with: dealers take turns, so that no long run keeps another waiting.

A turn lasts some seconds, one piece of work at least, so that whoever has long pieces gets no more
than others, and what is read for a run serves several pieces. Within a dealer the oldest run comes
first, since two over the same quotes are in each other's way. Each worker counts for itself:
several that are fair each are so together, and nothing of it is written down.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Protocol, TypeVar

TURN_SECONDS = 5.0


class OfDealer(Protocol):
    """What there is to do for a dealer."""

    @property
    def dealer(self) -> str:
        """Id of the dealer."""
        ...


Waiting = TypeVar("Waiting", bound=OfDealer)


@dataclass
class Turns:
    """The turns of one worker.

    Attributes:
        ticks: Seconds that pass, whatever the clock on the wall is set to. [s]
        seconds: How long a turn lasts. [s]
    """

    ticks: Callable[[], float]
    seconds: float = TURN_SECONDS
    _whose: str = ""
    _until: float = -math.inf
    _last: dict[str, float] = field(default_factory=dict)

    def in_order(self, waiting: Iterable[Waiting]) -> list[Waiting]:
        """Give first what is the dealer's whose turn it is, then whose last was longest ago.

        Args:
            waiting: What there is to do, oldest first.
        """
        whose = self._whose if self.ticks() < self._until else ""

        def place(one: Waiting) -> tuple[bool, float]:
            return one.dealer != whose, self._last.get(one.dealer, -math.inf)

        return sorted(waiting, key=place)

    def take(self, dealer: str) -> None:
        """Note that a piece of work of a dealer is begun; another's turn ends with it."""
        now = self.ticks()
        if dealer != self._whose or now >= self._until:
            self._whose, self._until = dealer, now + self.seconds
        self._last[dealer] = now
