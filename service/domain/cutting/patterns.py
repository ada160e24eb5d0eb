"""Patterns worth a given value per piece: the best, some good ones, or all of them.

Each kind of piece is given a whole-number value. A job with few patterns has them written out
(``catalogue``), another has them searched (``table``).

numpy is imported with this module, so only where heuristics and bounds do not meet.
"""

from collections.abc import Sequence
from typing import Protocol

from service.domain.cutting.catalogue import Catalogue, Whole
from service.domain.cutting.heuristics import Fits
from service.domain.cutting.scale import Job, Pattern
from service.domain.cutting.table import Table

WRITTEN = 20_000  # patterns written out at most
FITTED = 6_000  # on punched stock, where each is tried on the bar


class Patterns(Protocol):
    """Patterns of one job, valued by whole numbers per kind.

    Guarantee: ``most`` and ``mosts`` are values that no pattern exceeds; ``reaching`` leaves out
    no pattern it should give, or gives None.

    Attributes:
        grades: How many gradings of small values are worth their time in ``mosts``.
        weight: What it costs to value all patterns, about 10 microseconds each.
    """

    grades: int
    weight: int

    def value(self, values: Sequence[int], counts: Sequence[int]) -> None:
        """Set what a piece of each kind is worth, and how many of each there are."""

    def most(self, stock: int) -> int:
        """Give a value that no pattern on the stock exceeds."""

    def above(self, stock: int, value: int) -> list[Pattern]:
        """Give some patterns worth more than the value, the best first."""

    def mosts(self, values: Whole) -> Whole:
        """Give the most value of a pattern, for small values: (n, kinds) in, (n, stocks) out."""

    def reaching(self, stock: int, least: int, most: int) -> list[Pattern] | None:
        """List every pattern worth ``least`` to which no piece can be added, up to ``most``."""


def patterns_of(job: Job, fits: Fits | None) -> Patterns:
    """Choose how to price the patterns of a job."""
    if fits is None:
        written = Catalogue.write(job, WRITTEN)
    else:
        written = Catalogue.write_fitting(job, fits, FITTED)
    return written or Table(job, fits)
