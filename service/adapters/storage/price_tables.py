"""Price tables in the database: versions of rows, in whole millionths.

Of the versions that have begun by a day, the one that began last is in force; of two that began
on the same day, the newer one.
"""

import hashlib
from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

import orjson
from sqlalchemy import ColumnElement, Connection, Row, Select, or_, tuple_
from sqlalchemy import literal as value
from sqlalchemy.exc import IntegrityError

from service.adapters.storage.books import Books
from service.adapters.storage.catalogue import version_of
from service.adapters.storage.moments import utc
from service.adapters.storage.price_rows import columns_of, key_of, row_of
from service.adapters.storage.tables import price_rows, price_table_versions, price_tables
from service.domain.errors import NameTaken, NotKept, StaleState
from service.domain.pricing.price_table import PriceRow, PriceTable, TableVersion
from service.usecases.catalogue import Begin, Named, PriceDraft, PriceVersion

_HELD = price_table_versions.c
_MANY = 1000  # rows of one INSERT


class SqlPriceTables:
    """Keeps price tables; a version is written once, whole or not at all."""

    def __init__(self, books: Books) -> None:
        self._books = books

    def add(self, named: Named, draft: PriceDraft) -> None:
        """Keep a new table with its first version."""
        row = {
            "id": named.id,
            "name": named.name,
            "created_at": named.created_at,
            "latest": 1,
            "revision": 1,
        }
        try:
            with self._books.writing() as connection:
                self._books.insert(connection, price_tables, [row])
                self._write(connection, named.id, draft, 1, named.created_at)
        except IntegrityError:
            raise NameTaken(
                f"Another price table has the name {named.name!r}.",
                advice="Add a version to the one there is, or choose another name.",
            ) from None

    def page(self, after: Begin | None, most: int) -> list[Named]:
        """Give tables by name and id."""
        place = (price_tables.c.name, price_tables.c.id)
        query = self._books.select(price_tables)
        if after is not None:
            query = query.where(tuple_(*place) > tuple_(*(value(part) for part in after)))
        with self._books.reading() as connection:
            return [_named(row) for row in connection.execute(query.order_by(*place).limit(most))]

    def table(self, table_id: str) -> Named:
        """Give a table."""
        query = self._books.select(price_tables).where(price_tables.c.id == table_id)
        with self._books.reading() as connection:
            row = connection.execute(query).one_or_none()
        if row is None:
            raise NotKept(f"No price table has the id {table_id}.")
        return _named(row)

    def version(self, table_id: str, number: int) -> PriceVersion:
        """Give one version."""
        found = self._read(self._versions(price_tables.c.id == table_id, _HELD.version == number))
        if not found:
            raise NotKept(f"No price table has the id {table_id} with a version {number}.")
        return found[0]

    def versions(self, table_id: str, before: int, most: int) -> list[PriceVersion]:
        """Give versions below a number, newest first."""
        self.table(table_id)
        query = self._versions(price_tables.c.id == table_id, _HELD.version < before)
        return self._read(query.order_by(_HELD.version.desc()).limit(most))

    def add_version(self, table_id: str, draft: PriceDraft, seen: int, at: datetime) -> bool:
        """Keep a further version, unless the newest holds the same rows in the same currency."""
        held = self.table(table_id)
        newest = self.version(table_id, held.latest)
        if seen == held.revision and newest.version.digest == _digest(draft):
            return False
        with self._books.writing() as connection:
            self._move(connection, table_id, seen, latest=held.latest + 1)
            self._write(connection, table_id, draft, held.latest + 1, at)
        return True

    def activate(self, table_id: str, number: int, on: date, seen: int, at: datetime) -> None:
        """Put a version in force from a day on."""
        self.version(table_id, number)
        mine = (_HELD.table_id == table_id) & (_HELD.version == number)
        with self._books.writing() as connection:
            self._move(connection, table_id, seen)
            change = self._books.update(price_table_versions).where(mine)
            connection.execute(change.values(active_from=on))
            told = {"version": number, "active_from": on.isoformat()}
            self._books.note(connection, at, "price_table.activated", table_id, **told)

    def rows(self, table_id: str, number: int, after: int = 0, most: int = -1) -> list[PriceRow]:
        """Give rows of a version in order, from behind a row's number on."""
        self.version(table_id, number)
        return self._rows(table_id, number, after, most)

    def find(self, named: str, number: int | None, on: date) -> PriceVersion | None:
        """Give the version that an id or a name refers to; an id goes before a name."""
        called = or_(price_tables.c.id == named, price_tables.c.name == named)
        which = _HELD.active_from <= on if number is None else _HELD.version == number
        first = [(price_tables.c.id == named), _HELD.active_from, _HELD.version]
        query = self._versions(called, which).order_by(*(column.desc() for column in first))
        found = self._read(query.limit(1))
        return found[0] if found else None

    def priced(self, version: PriceVersion) -> PriceTable:
        """Give a version with all its rows."""
        named, number = version.named, version.version.number
        rows: dict[str, list[PriceRow]] = {}
        for row in self._rows(named.id, number, 0, -1):
            rows.setdefault(row.sku, []).append(row)
        stored = TableVersion(named.id, number)
        by_sku = {sku: tuple(mine) for sku, mine in rows.items()}
        return PriceTable(named.name, version.currency, by_sku, stored)

    def _rows(self, table_id: str, number: int, after: int, most: int) -> list[PriceRow]:
        held = price_rows.c
        query = (
            self._books.select(price_rows)
            .where(held.table_id == table_id, held.version == number, held.number > after)
            .order_by(held.number)
        )
        with self._books.reading() as connection:
            found = connection.execute(query if most < 0 else query.limit(most))
            return [row_of(row) for row in found]

    def _versions(self, *which: ColumnElement[bool]) -> Select[Any]:
        columns: list[Any] = [
            _HELD[name] for name in "version note digest currency active_from".split()
        ]
        columns += [_HELD.row_count, _HELD.created_at.label("made_at")]
        tables = [price_tables, price_table_versions]
        together = _HELD.table_id == price_tables.c.id
        return self._books.select(price_tables, *columns, of=tables).where(together, *which)

    def _read(self, query: Select[Any]) -> list[PriceVersion]:
        with self._books.reading() as connection:
            return [_version(row) for row in connection.execute(query)]

    def _move(self, connection: Connection, table_id: str, seen: int, **change: int) -> None:
        """Count a change of a table, unless somebody else's came in between."""
        mine = (price_tables.c.id == table_id) & (price_tables.c.revision == seen)
        moved = connection.execute(
            self._books.update(price_tables).where(mine).values(revision=seen + 1, **change)
        )
        if not moved.rowcount:
            raise StaleState("This price table has changed since; read it again.")

    def _write(
        self, connection: Connection, table_id: str, draft: PriceDraft, number: int, at: datetime
    ) -> None:
        which = {"table_id": table_id, "version": number}
        version = {
            **which,
            "currency": draft.currency,
            "active_from": None,
            "created_at": at,
            "note": draft.note,
            "row_count": len(draft.rows),
            "digest": _digest(draft),
        }
        self._books.insert(connection, price_table_versions, [version])
        for start in range(0, len(draft.rows), _MANY):
            some = enumerate(draft.rows[start : start + _MANY], start=start + 1)
            rows = [{**which, "number": place, **columns_of(row)} for place, row in some]
            self._books.insert(connection, price_rows, rows)
        told = {"version": number, "rows": len(draft.rows)}
        action = "price_table.version" if number > 1 else "price_table.added"
        self._books.note(connection, at, action, table_id, **told)


def _named(row: Row[Any]) -> Named:
    return Named(row.id, row.name, utc(row.created_at), row.latest, row.revision)


def _version(row: Row[Any]) -> PriceVersion:
    return PriceVersion(_named(row), version_of(row), row.currency, row.active_from, row.row_count)


def _digest(draft: PriceDraft) -> str:
    """Give the digest of a currency and a set of rows, whatever their order."""
    rows: Sequence[Any] = sorted(key_of(row) for row in draft.rows)
    return hashlib.sha256(orjson.dumps([draft.currency, rows])).hexdigest()
