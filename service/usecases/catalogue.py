"""What a dealer keeps to quote by, in versions that never change: records and ports."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Protocol

from service.domain.pricing.price_table import PriceRow, PriceTable


class Kind(StrEnum):
    """What a stored document holds."""

    SYSTEM = "system"
    PRICING = "pricing"
    AMENDMENTS = "amendments"


@dataclass(frozen=True, slots=True)
class Draft:
    """A version of a document that is to be kept.

    Attributes:
        body: JSON.
        note: The caller's own words.
        default_for: Place whose quotes a set of amendments applies to unasked, "" for none.
    """

    body: bytes
    note: str = ""
    default_for: str = ""


@dataclass(frozen=True, slots=True)
class Version:
    """One version of a document or price table.

    Attributes:
        digest: Of what it holds; two versions that follow each other never share it.
    """

    number: int
    created_at: datetime
    note: str
    digest: str


@dataclass(frozen=True, slots=True)
class Named:
    """A document or price table, whichever version of it.

    Attributes:
        latest: Number of its newest version.
        revision: Counts every change of it, from 1.
    """

    id: str
    name: str
    created_at: datetime
    latest: int
    revision: int


@dataclass(frozen=True, slots=True)
class Document:
    """One version of a stored document."""

    named: Named
    version: Version
    body: bytes


@dataclass(frozen=True, slots=True)
class PriceDraft:
    """A version of a price table that is to be kept; its rows are in order."""

    currency: str
    rows: Sequence[PriceRow]
    note: str = ""


@dataclass(frozen=True, slots=True)
class PriceVersion:
    """One version of a price table, without its rows.

    Attributes:
        active_from: First day it is in force, None before it is activated.
        row_count: How many rows it has.
    """

    named: Named
    version: Version
    currency: str
    active_from: date | None
    row_count: int


Begin = tuple[str, str]  # (name, id): where a page of a list ended


class Catalogue(Protocol):
    """Where railing systems, pricing rules and amendments are kept."""

    def add(self, kind: Kind, named: Named, draft: Draft) -> None:
        """Keep a new document with its first version.

        Raises:
            NameTaken: Another document of the kind has the name, or is the place's default.
        """
        ...

    def page(self, kind: Kind, after: Begin | None, most: int) -> list[Named]:
        """Give documents of a kind by name and id."""
        ...

    def document(self, kind: Kind, document_id: str, number: int | None = None) -> Document:
        """Give a version of a document, the newest where none is named.

        Raises:
            NotKept: No document of the kind has the id, or it has no such version.
        """
        ...

    def versions(self, kind: Kind, document_id: str, before: int, most: int) -> list[Version]:
        """Give versions below a number, newest first.

        Raises:
            NotKept: No document of the kind has the id.
        """
        ...

    def add_version(
        self, kind: Kind, document_id: str, draft: Draft, seen: int, at: datetime
    ) -> bool:
        """Keep a further version, unless the newest holds the same.

        Args:
            kind: Of the document.
            document_id: Its id.
            draft: What the version holds.
            seen: Revision that the caller has seen.
            at: When.

        Returns:
            Whether a version was added.

        Raises:
            NotKept: No document of the kind has the id.
            StaleState: The document has changed since.
            NameTaken: Another document is the place's default.
        """
        ...

    def find(self, kind: Kind, named: str, number: int | None) -> Document | None:
        """Give the version that an id or a name refers to, None where there is none."""
        ...

    def default_for(self, place: str) -> Document | None:
        """Give the amendments that apply to a place unasked."""
        ...


class PriceTables(Protocol):
    """Where price tables are kept."""

    def add(self, named: Named, draft: PriceDraft) -> None:
        """Keep a new table with its first version.

        Raises:
            NameTaken: Another table has the name.
        """
        ...

    def page(self, after: Begin | None, most: int) -> list[Named]:
        """Give tables by name and id."""
        ...

    def table(self, table_id: str) -> Named:
        """Give a table.

        Raises:
            NotKept: No table has the id.
        """
        ...

    def version(self, table_id: str, number: int) -> PriceVersion:
        """Give one version.

        Raises:
            NotKept: No table has the id, or it has no such version.
        """
        ...

    def versions(self, table_id: str, before: int, most: int) -> list[PriceVersion]:
        """Give versions below a number, newest first.

        Raises:
            NotKept: No table has the id.
        """
        ...

    def add_version(self, table_id: str, draft: PriceDraft, seen: int, at: datetime) -> bool:
        """Keep a further version, unless the newest holds the same rows in the same currency.

        Raises:
            NotKept: No table has the id.
            StaleState: The table has changed since this revision of it was seen.
        """
        ...

    def activate(self, table_id: str, number: int, on: date, seen: int, at: datetime) -> None:
        """Put a version in force from a day on.

        Raises:
            NotKept: No table has the id, or it has no such version.
            StaleState: The table has changed since this revision of it was seen.
        """
        ...

    def rows(self, table_id: str, number: int, after: int = 0, most: int = -1) -> list[PriceRow]:
        """Give rows of a version in order, from behind a row's number on.

        Raises:
            NotKept: No table has the id, or it has no such version.
        """
        ...

    def find(self, named: str, number: int | None, on: date) -> PriceVersion | None:
        """Give the version that an id or a name refers to.

        Args:
            named: Id or name of a table.
            number: The version, None for the one in force on the day.
            on: The day.

        Returns:
            The version; None where there is no such table or version, or none is in force.
        """
        ...

    def priced(self, version: PriceVersion) -> PriceTable:
        """Give a version with all its rows."""
        ...
