"""Offcuts on hand in the database."""

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, Select, and_, literal, or_, tuple_
from sqlalchemy.exc import IntegrityError

from service.adapters.storage.books import Books
from service.adapters.storage.tables import offcut_claims, offcuts
from service.domain.errors import OffcutNotFound, OffcutTaken
from service.usecases.conditions import Matches, demand_seen
from service.usecases.ports import Place, StoredOffcut


class SqlShelf:
    """Keeps offcuts; a claim counts until its last day has passed."""

    def __init__(self, books: Books) -> None:
        self._books = books

    def add(self, offcut: StoredOffcut, at: datetime) -> None:
        """Put an offcut on the shelf."""
        row = {
            "id": offcut.id,
            "created_at": at,
            "sku": offcut.sku,
            "length_nm": offcut.length_nm,
            "first_picket_nm": offcut.first_picket_nm,
            "value": str(offcut.value),
            "note": offcut.note,
            "from_quote": offcut.from_quote or None,
        }
        with self._books.writing() as connection:
            self._books.insert(connection, offcuts, [row])
            self._books.note(connection, at, "offcut.added", offcut.id, sku=offcut.sku)

    def offcut(self, offcut_id: str, day: date) -> StoredOffcut:
        """Give one offcut."""
        found = self._read(self._with_claims(day).where(offcuts.c.id == offcut_id))
        if not found:
            raise OffcutNotFound(f"No offcut has the id {offcut_id}.")
        return found[0]

    def page(self, sku: str, after: Place | None, most: int, day: date) -> list[StoredOffcut]:
        """Give offcuts by SKU, length and id, used ones left out."""
        place = (offcuts.c.sku, offcuts.c.length_nm, offcuts.c.id)
        query = self._with_claims(day).where(
            or_(offcut_claims.c.used.is_(None), offcut_claims.c.used.is_(False))
        )
        if sku:
            query = query.where(offcuts.c.sku == sku)
        if after is not None:
            query = query.where(tuple_(*place) > tuple_(*(literal(part) for part in after)))
        return self._read(query.order_by(*place).limit(most))

    def free(
        self, skus: Sequence[str], most: int, day: date, also_of: Sequence[str] = ()
    ) -> list[StoredOffcut]:
        """Give the longest offcuts of some SKUs that no quote but these claims."""
        mine = and_(offcut_claims.c.quote_id.in_(also_of), offcut_claims.c.used.is_(False))
        query = (
            self._with_claims(day)
            .where(offcuts.c.sku.in_(skus), or_(offcut_claims.c.quote_id.is_(None), mine))
            .order_by(offcuts.c.length_nm.desc(), offcuts.c.id)
            .limit(most)
        )
        return self._read(query)

    def remove(self, offcut_id: str, at: datetime, matches: Matches | None = None) -> None:
        """Take an offcut off the shelf; the claims' foreign key keeps one that is claimed."""
        over = and_(offcut_claims.c.offcut_id == offcut_id, offcut_claims.c.until < at.date())
        here = offcuts.c.id == offcut_id
        try:
            with self._books.writing() as connection:
                if matches is not None:
                    self._demand_seen(connection, offcut_id, at.date(), matches)
                connection.execute(self._books.delete(offcut_claims).where(over))
                gone = connection.execute(self._books.delete(offcuts).where(here))
                if gone.rowcount:
                    self._books.note(connection, at, "offcut.removed", offcut_id)
        except IntegrityError:
            raise OffcutTaken(
                f"The offcut {offcut_id} is reserved for a quote or used by one.",
                advice="Decline the quote first; what is sawn is kept with its quote.",
            ) from None
        if not gone.rowcount:
            raise OffcutNotFound(f"No offcut has the id {offcut_id}.")

    def _demand_seen(
        self, connection: Connection, offcut_id: str, day: date, matches: Matches
    ) -> None:
        mine = offcuts.c.id == offcut_id
        # An offcut that is locked takes no new claim: its row is what the claim's key points to.
        connection.execute(self._books.select(offcuts.c.id).where(mine).with_for_update())
        row = connection.execute(self._with_claims(day).where(mine)).one_or_none()
        if row is not None:
            demand_seen(matches, _offcut(row).tag, "This offcut")

    def _read(self, query: Select[Any]) -> list[StoredOffcut]:
        with self._books.reading() as connection:
            return [_offcut(row) for row in connection.execute(query)]

    def _with_claims(self, day: date) -> Select[Any]:
        """Select offcuts, each beside the claim that holds it on a day."""
        mine = offcut_claims.c.offcut_id == offcuts.c.id
        until = offcut_claims.c.until
        holds: ColumnElement[bool] = and_(mine, or_(until.is_(None), until >= day))
        columns = (offcuts, offcut_claims.c.quote_id, offcut_claims.c.used)
        joined = self._books.beside(offcuts, offcut_claims, holds)
        return self._books.select(*columns, of=[offcuts]).select_from(joined)


def _offcut(row: Row[Any]) -> StoredOffcut:
    return StoredOffcut(
        id=row.id,
        sku=row.sku,
        length_nm=row.length_nm,
        first_picket_nm=row.first_picket_nm,
        value=Decimal(row.value),
        note=row.note,
        from_quote=row.from_quote or "",
        held_by=row.quote_id or "",
        used=bool(row.used),
    )
