"""How often a caller may ask, as a port."""

from dataclasses import dataclass
from typing import Protocol

WINDOW = 60  # [s]


@dataclass(frozen=True, slots=True)
class Allowance:
    """What a caller has left in this minute.

    Attributes:
        most: In a minute.
        left: After this request.
        seconds: Until the minute is over. [s]
    """

    most: int
    left: int
    seconds: int


class Rates(Protocol):
    """Counts requests."""

    def spend(self, who: str, most: int) -> tuple[bool, Allowance]:
        """Count one request; tell whether it is within the bound, and what is left."""
        ...
