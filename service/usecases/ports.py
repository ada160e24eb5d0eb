"""What the use cases need from outside, as protocols; adapters and tests supply it."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Protocol

from service.domain.compliance.findings import Clause
from service.domain.cutting.demand import CutDemand
from service.domain.cutting.plan import CutPlan
from service.domain.errors import Where
from service.domain.layout.survey_records import DrawnOutline
from service.domain.money import Money

Saw = Callable[[CutDemand], CutPlan]
"""Finds the cheapest way to cut one material."""


class OutlineReader(Protocol):
    """Reads the outline of a level from a drawing."""

    def __call__(self, text: str, *, layer: str, unit: str, where: Where) -> DrawnOutline:
        """Give the corners and arcs of the drawing's closed polyline.

        Args:
            text: The drawing's file.
            layer: Layer to look on, "" where there is one polyline.
            unit: Unit of a drawing that states none, "" for none.
            where: Place of the outline in the request.

        Raises:
            InvalidGeometry: The drawing cannot be read, or holds no outline, or several.
        """
        ...


class CodeLibrary(Protocol):
    """Clauses held as data."""

    def clauses(self, code: str, edition: str) -> tuple[Clause, ...]:
        """Give the clauses of one edition.

        Raises:
            UnknownCode: No such code and edition is held.
        """
        ...

    def in_force(self, place: str, on: date) -> tuple[Clause, ...]:
        """Give the clauses in force in a place on a day.

        Raises:
            UnknownCode: The place is not held, or nothing was in force there yet.
        """
        ...


@dataclass(frozen=True, slots=True)
class StoredQuote:
    """A quote as it was answered, with all that is needed to compute it again.

    Attributes:
        id: UUID, as text.
        created_at: When it was made, UTC.
        reference: The caller's own words, may be "".
        service_version: Version of the service that made it.
        price_table: Name of the price table.
        codes: Code and edition of every clause used, such as ("IRC 2021",).
        total: What the customer pays.
        request: Body as it was received.
        answer: Body as it was answered.
    """

    id: str
    created_at: datetime
    reference: str
    service_version: str
    price_table: str
    codes: tuple[str, ...]
    total: Money
    request: bytes
    answer: bytes


class Quotes(Protocol):
    """Where quotes are kept."""

    def add(self, quote: StoredQuote) -> None:
        """Keep a quote, whole or not at all."""
        ...

    def answer(self, quote_id: str) -> bytes:
        """Give a quote's answer, byte for byte.

        Raises:
            QuoteNotFound: No quote has this id.
        """
        ...

    def request(self, quote_id: str) -> bytes:
        """Give what a quote was made from, byte for byte.

        Raises:
            QuoteNotFound: No quote has this id.
        """
        ...

    def drawing(self, quote_id: str) -> bytes | None:
        """Give a quote's drawing as it was first drawn, None if it was not drawn yet.

        Raises:
            QuoteNotFound: No quote has this id.
        """
        ...

    def keep_drawing(self, quote_id: str, drawing: bytes) -> None:
        """Keep a quote's drawing unless one is kept already."""
        ...
