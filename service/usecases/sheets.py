"""Orders that come as a sheet: what its reader gives, and what it says of cells it cannot read."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from service.domain.errors import Where
from service.domain.takeoff.parts import Item, LabourItem


@dataclass(frozen=True, slots=True)
class Place:
    """Where something stands in a sheet: the row, counted from 1, and the column or ""."""

    row: int
    column: str = ""

    def __str__(self) -> str:
        """Name it to a person."""
        return f"Row {self.row}, column {self.column}" if self.column else f"Row {self.row}"


@dataclass(frozen=True, slots=True)
class DeckSheet:
    """A deck read from a sheet.

    Attributes:
        deck: As the body of a request gives it.
        places: Where each of its members stands, by the path into the request.
    """

    deck: Mapping[str, Any]
    places: Mapping[Where, Place]

    def place_of(self, where: Where) -> Place | None:
        """Give the place of a member, or of the nearest it is part of; None outside the deck."""
        for length in range(len(where), 0, -1):
            if where[:length] in self.places:
                return self.places[where[:length]]
        return None


@dataclass(frozen=True, slots=True)
class TakeoffSheet:
    """Parts and hours read from a sheet."""

    items: tuple[Item, ...]
    labour: tuple[LabourItem, ...]


class UnreadableSheet(Exception):
    """The sheet as such cannot be read; every complaint has its place."""

    def __init__(self, complaints: Sequence[tuple[Place, str]]) -> None:
        super().__init__("; ".join(f"{place}: {message}" for place, message in complaints))
        self.complaints = tuple(complaints)


class DeckReader(Protocol):
    """Reads a deck from a sheet."""

    def __call__(self, text: str) -> DeckSheet:
        """Read one row for each edge.

        Raises:
            UnreadableSheet: Headings are missing or unknown, or a row does not fit them.
        """
        ...


class TakeoffReader(Protocol):
    """Reads a take-off from a sheet."""

    def __call__(self, text: str) -> TakeoffSheet:
        """Read parts and hours, one row each.

        Raises:
            UnreadableSheet: Headings are missing, or cells do not hold what they should.
        """
        ...
