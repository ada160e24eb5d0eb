"""Railing systems, pricing rules and amendments in the database, in versions."""

import hashlib
from datetime import datetime
from typing import Any

import orjson
from sqlalchemy import ColumnElement, Connection, Row, or_, tuple_
from sqlalchemy import literal as value
from sqlalchemy.exc import IntegrityError

from service.adapters.storage.books import Books
from service.adapters.storage.moments import utc
from service.adapters.storage.tables import catalogue, catalogue_versions
from service.domain.errors import NameTaken, NotKept, StaleState
from service.usecases.catalogue import Begin, Document, Draft, Kind, Named, Version

_WORDS = {
    Kind.SYSTEM: "railing system",
    Kind.PRICING: "set of pricing rules",
    Kind.AMENDMENTS: "set of amendments",
}
_TOGETHER = catalogue_versions.c.document_id == catalogue.c.id


class SqlCatalogue:
    """Keeps documents; a version is written once."""

    def __init__(self, books: Books) -> None:
        self._books = books

    def add(self, kind: Kind, named: Named, draft: Draft) -> None:
        """Keep a new document with its first version."""
        row = {
            "id": named.id,
            "kind": kind.value,
            "name": named.name,
            "created_at": named.created_at,
            "latest": 1,
            "default_for": draft.default_for or None,
        }
        try:
            with self._books.writing() as connection:
                self._books.insert(connection, catalogue, [row])
                self._write(connection, kind, named.id, draft, 1, named.created_at)
        except IntegrityError:
            raise self._taken(kind, draft) from None

    def page(self, kind: Kind, after: Begin | None, most: int) -> list[Named]:
        """Give documents of a kind by name and id."""
        place = (catalogue.c.name, catalogue.c.id)
        query = self._books.select(catalogue).where(catalogue.c.kind == kind.value)
        if after is not None:
            query = query.where(tuple_(*place) > tuple_(*(value(part) for part in after)))
        with self._books.reading() as connection:
            rows = connection.execute(query.order_by(*place).limit(most))
            return [_named(row) for row in rows]

    def document(self, kind: Kind, document_id: str, number: int | None = None) -> Document:
        """Give a version of a document, the newest where none is named."""
        found = self._find(kind, catalogue.c.id == document_id, number)
        if not found:
            which = "" if number is None else f" with a version {number}"
            raise NotKept(f"No {_WORDS[kind]} has the id {document_id}{which}.")
        return found[0]

    def versions(self, kind: Kind, document_id: str, before: int, most: int) -> list[Version]:
        """Give versions below a number, newest first."""
        self.document(kind, document_id)
        query = (
            self._books.select(catalogue_versions)
            .where(
                catalogue_versions.c.document_id == document_id,
                catalogue_versions.c.version < before,
            )
            .order_by(catalogue_versions.c.version.desc())
            .limit(most)
        )
        with self._books.reading() as connection:
            return [version_of(row) for row in connection.execute(query)]

    def add_version(
        self, kind: Kind, document_id: str, draft: Draft, seen: int, at: datetime
    ) -> bool:
        """Keep a further version, unless the newest holds the same."""
        held = self.document(kind, document_id)
        if seen == held.named.latest and held.version.digest == _digest(draft):
            return False
        following = {"latest": seen + 1, "default_for": draft.default_for or None}
        mine = (catalogue.c.id == document_id) & (catalogue.c.latest == seen)
        try:
            with self._books.writing() as connection:
                moved = connection.execute(
                    self._books.update(catalogue).where(mine).values(following)
                )
                if not moved.rowcount:
                    raise StaleState(f"This {_WORDS[kind]} has changed since; read it again.")
                self._write(connection, kind, document_id, draft, seen + 1, at)
        except IntegrityError:
            raise self._taken(kind, draft) from None
        return True

    def find(self, kind: Kind, named: str, number: int | None) -> Document | None:
        """Give the version that an id or a name refers to; an id goes before a name."""
        called = or_(catalogue.c.id == named, catalogue.c.name == named)
        found = self._find(kind, called, number)
        return max(found, key=lambda one: one.named.id == named, default=None)

    def default_for(self, place: str) -> Document | None:
        """Give the amendments that apply to a place unasked."""
        found = self._find(Kind.AMENDMENTS, catalogue.c.default_for == place.lower(), None)
        return found[0] if found else None

    def _find(self, kind: Kind, which: ColumnElement[bool], number: int | None) -> list[Document]:
        version = catalogue_versions.c.version
        query = self._books.select(
            catalogue, *_of_version(), catalogue_versions.c.body, of=[catalogue, catalogue_versions]
        ).where(_TOGETHER, catalogue.c.kind == kind.value, which)
        query = query.where(version == (catalogue.c.latest if number is None else number))
        with self._books.reading() as connection:
            return [
                Document(_named(row), version_of(row), bytes(row.body))
                for row in connection.execute(query)
            ]

    def _write(
        self,
        connection: Connection,
        kind: Kind,
        document_id: str,
        draft: Draft,
        number: int,
        at: datetime,
    ) -> None:
        row = {
            "document_id": document_id,
            "version": number,
            "body": draft.body,
            "created_at": at,
            "note": draft.note,
            "digest": _digest(draft),
        }
        self._books.insert(connection, catalogue_versions, [row])
        action = f"{kind.value}.version" if number > 1 else f"{kind.value}.added"
        self._books.note(connection, at, action, document_id, version=number)

    def _taken(self, kind: Kind, draft: Draft) -> NameTaken:
        also = f", or is the default of {draft.default_for}" if draft.default_for else ""
        return NameTaken(
            f"Another {_WORDS[kind]} has this name{also}.",
            advice="Add a version to the one there is, or choose another name.",
        )


def version_of(row: Row[Any]) -> Version:
    """Give the version that a row joined with its document tells of."""
    made = getattr(row, "made_at", None) or row.created_at
    return Version(row.version, utc(made), row.note, row.digest)


def _of_version() -> list[Any]:
    held = catalogue_versions.c
    return [held.version, held.created_at.label("made_at"), held.note, held.digest]


def _named(row: Row[Any]) -> Named:
    return Named(row.id, row.name, utc(row.created_at), row.latest, row.latest)


def _digest(draft: Draft) -> str:
    """Give the digest of what a draft says, whatever the order of its members."""
    said = orjson.dumps(orjson.loads(draft.body), option=orjson.OPT_SORT_KEYS)
    return hashlib.sha256(said + draft.default_for.encode()).hexdigest()
