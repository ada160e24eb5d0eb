"""The tapes of one level, as the survey works on them."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.domain.errors import InvalidGeometry, Where

# Tapes or corners named in one message.
MOST_NAMED = 6


@dataclass(frozen=True, slots=True)
class Tape:
    """A distance taped between two corners. [nm]"""

    start: str
    end: str
    length_nm: int

    @property
    def name(self) -> str:
        """Its corners.

        Example:
            >>> Tape("A", "C", 1).name
            'A-C'
        """
        return f"{self.start}-{self.end}"


@dataclass(frozen=True, slots=True)
class Net:
    """The tapes of one level, with what messages need to name them."""

    level: str
    corners: tuple[str, ...]
    tapes: tuple[Tape, ...]
    pairs: tuple[tuple[int, int], ...]
    where: Where

    def named(self, pairs: Sequence[tuple[int, int]]) -> str:
        """Name tapes by the corners they join, not more than a message holds."""
        names = [f"{self.corners[a]}-{self.corners[b]}" for a, b in pairs]
        more = len(names) - MOST_NAMED
        return ", ".join(names[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")

    def refusal(self, detail: str, advice: str, tape: int | None = None) -> InvalidGeometry:
        """Give a refusal of the level, or of one of its tapes."""
        if tape is None:
            where, element = self.where, f"level {self.level}"
        else:
            where = (*self.where, "tapes", tape)
            element = f"level {self.level}, tape {self.tapes[tape].name}"
        return InvalidGeometry(detail, element=element, where=where, advice=advice)
