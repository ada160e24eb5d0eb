"""A dealer's own keys: listed, made, replaced, revoked; and the trail of who changed what."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

import orjson
from sqlalchemy import ColumnElement, Row, literal, tuple_

from service.adapters.storage.books import Books
from service.adapters.storage.keys import new_key
from service.adapters.storage.moments import utc
from service.adapters.storage.tables import audit, keys
from service.domain.errors import KeyNotFound
from service.usecases.callers import KeyWish, Scope
from service.usecases.conditions import Matches, demand_seen
from service.usecases.key_ring import AuditEntry, HeldKey, Moment

_SHOWN = [column for column in keys.c if column.name not in ("dealer", "hash")]


class SqlKeyRing:
    """The keys of one dealer."""

    def __init__(self, books: Books) -> None:
        self._books = books

    def page(self, after: Moment | None, most: int) -> list[HeldKey]:
        """Give keys, newest first."""
        place = (keys.c.created_at, keys.c.id)
        query = self._books.select(*_SHOWN)
        if after is not None:
            query = query.where(tuple_(*place) < _literals(place, after))
        ordered = query.order_by(*(column.desc() for column in place)).limit(most)
        with self._books.reading() as connection:
            return [_held(row) for row in connection.execute(ordered)]

    def key(self, key_id: str) -> HeldKey:
        """Give one key."""
        with self._books.reading() as connection:
            row = connection.execute(self._one(key_id)).one_or_none()
        return _found(row, key_id)

    def make(self, wish: KeyWish, at: datetime) -> tuple[HeldKey, str]:
        """Make a key; the key itself is given this once."""
        with self._books.writing() as connection:
            key_id, key = new_key(connection, self._books.dealer, wish, at)
            self._books.note(connection, at, "key.made", key_id, label=wish.label)
            row = connection.execute(self._one(key_id)).one()
        return _held(row), key

    def replace(
        self, key_id: str, at: datetime, until: datetime, ends: datetime | None = None
    ) -> tuple[HeldKey, str]:
        """Make a key like another, which ends at a time."""
        with self._books.writing() as connection:
            row = connection.execute(self._one(key_id).with_for_update()).one_or_none()
            old = _found(row, key_id)
            _refuse_ended(old, at)
            wish = replace(old.wish, expires_at=ends or old.wish.expires_at)
            new_id, key = new_key(connection, self._books.dealer, wish, at)
            over = min(until, old.wish.expires_at or until)
            one = self._books.update(keys).where(keys.c.id == key_id)
            connection.execute(one.values(expires_at=over))
            self._books.note(connection, at, "key.replaced", key_id, by=new_id)
            made = connection.execute(self._one(new_id)).one()
        return _held(made), key

    def revoke(self, key_id: str, at: datetime, matches: Matches | None = None) -> None:
        """End a key now; one that has ended stays as it is."""
        with self._books.writing() as connection:
            row = connection.execute(self._one(key_id).with_for_update()).one_or_none()
            demand_seen(matches, _found(row, key_id).tag, "This key")
            good = (keys.c.id == key_id) & keys.c.revoked_at.is_(None)
            done = connection.execute(self._books.update(keys).where(good).values(revoked_at=at))
            if done.rowcount:
                self._books.note(connection, at, "key.revoked", key_id)

    def trail(self, subject: str, after: Moment | None, most: int) -> list[AuditEntry]:
        """Give who changed what, newest first."""
        place = (audit.c.at, audit.c.id)
        query = self._books.select(audit)
        if subject:
            query = query.where(audit.c.subject == subject)
        if after is not None:
            query = query.where(tuple_(*place) < _literals(place, after))
        ordered = query.order_by(*(column.desc() for column in place)).limit(most)
        with self._books.reading() as connection:
            return [_entry(row) for row in connection.execute(ordered)]

    def _one(self, key_id: str) -> Any:
        return self._books.select(*_SHOWN).where(keys.c.id == key_id)


def _literals(place: Sequence[Any], after: Moment) -> ColumnElement[Any]:
    return tuple_(*(literal(v, c.type) for c, v in zip(place, after, strict=True)))


def _found(row: Row[Any] | None, key_id: str) -> HeldKey:
    if row is None:
        raise KeyNotFound(f"No key has the id {key_id}.")
    return _held(row)


def _refuse_ended(key: HeldKey, at: datetime) -> None:
    if key.ended_at is not None and key.ended_at <= at:
        raise KeyNotFound("This key has ended; make a new one.")


def _held(row: Row[Any]) -> HeldKey:
    wish = KeyWish(
        label=row.label,
        scopes=frozenset(Scope(one) for one in row.scopes.split()),
        publishable=row.publishable,
        origins=tuple(row.origins.split()),
        per_minute=row.per_minute,
        expires_at=utc(row.expires_at),
    )
    return HeldKey(row.id, row.prefix, wish, utc(row.created_at), utc(row.revoked_at))


def _entry(row: Row[Any]) -> AuditEntry:
    detail = orjson.loads(row.detail)
    return AuditEntry(row.id, utc(row.at), row.who, row.action, row.subject, detail)
