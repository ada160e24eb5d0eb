"""One dealer's rows and nobody else's: the only place where statements on them are begun.

Every table of a dealer has the column ``dealer`` first in its key. The modules beside this one
begin their statements here and nowhere else (a test reads them to see that), so that none can
reach another dealer's rows; and foreign keys hold the dealer too, so that rows of two dealers
cannot point at each other.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, ExitStack, contextmanager, nullcontext
from datetime import datetime
from typing import Any
from uuid import uuid4

import orjson
from sqlalchemy import (
    Column,
    ColumnElement,
    Connection,
    Delete,
    Engine,
    FromClause,
    Join,
    Select,
    Table,
    Update,
    and_,
    delete,
    func,
    insert,
    select,
    update,
)
from sqlalchemy.engine import CursorResult

from service.adapters.storage.cloud_events import cloud_event, event_type
from service.adapters.storage.tables import audit, dealers, events
from service.usecases.events import EventType


class Books:
    """The rows of one dealer, opened by one caller."""

    def __init__(self, engine: Engine, dealer: str, who: str) -> None:
        self._engine = engine
        self._reading = engine.execution_options(reading=True)
        self._dealer = dealer
        self._who = who
        self._whole: ExitStack | None = None
        self._shared: Connection | None = None

    def reading(self) -> AbstractContextManager[Connection]:
        """Open a connection that only reads; within ``together`` it sees what was written."""
        return nullcontext(self._shared) if self._shared is not None else self._reading.connect()

    def writing(self) -> AbstractContextManager[Connection]:
        """Open a transaction: all of it is kept at its end, or nothing if it fails."""
        return self._engine.begin() if self._whole is None else self._part(self._whole)

    @contextmanager
    def together(self) -> Iterator[None]:
        """Make what is written meanwhile one transaction: all of it is kept, or nothing.

        It is begun by the first that writes, so that computing before that keeps nobody waiting.
        """
        with ExitStack() as whole:
            self._whole = whole
            try:
                yield
            finally:
                self._whole = self._shared = None

    @contextmanager
    def _part(self, whole: ExitStack) -> Iterator[Connection]:
        if self._shared is None:
            self._shared = whole.enter_context(self._engine.begin())
        with self._shared.begin_nested():
            yield self._shared

    def select(self, *columns: Any, of: Sequence[FromClause] = ()) -> Select[Any]:
        """Begin a SELECT of this dealer's rows.

        Args:
            columns: Columns, tables or expressions.
            of: The tables to keep to this dealer; those of the columns if left out. A table that
                is joined by ``beside`` follows the one it stands beside.
        """
        tables = of or _tables(columns)
        if not tables:
            raise ValueError("a SELECT of expressions has to say of which tables")
        return select(*columns).where(*(table.c.dealer == self._dealer for table in tables))

    @property
    def dealer(self) -> str:
        """Id of the dealer."""
        return self._dealer

    def select_dealer(self) -> Select[Any]:
        """Begin a SELECT of what is kept of the dealer: name and settings."""
        return select(dealers.c.name, dealers.c.settings).where(dealers.c.id == self._dealer)

    def lock_dealer(self) -> Select[Any]:
        """Begin a SELECT that lets one at a time through, and none who writes wait."""
        mine = select(dealers.c.id).where(dealers.c.id == self._dealer)
        return mine.with_for_update(key_share=True)

    def update_dealer(self) -> Update:
        """Begin an UPDATE of what is kept of the dealer."""
        return update(dealers).where(dealers.c.id == self._dealer)

    def beside(self, left: Table, right: Table, on: ColumnElement[bool]) -> Join:
        """Join rows that may be absent, of the same dealer."""
        return left.outerjoin(right, and_(left.c.dealer == right.c.dealer, on))

    def update(self, table: Table) -> Update:
        """Begin an UPDATE of this dealer's rows."""
        return update(table).where(table.c.dealer == self._dealer)

    def delete(self, table: Table) -> Delete:
        """Begin a DELETE of this dealer's rows."""
        return delete(table).where(table.c.dealer == self._dealer)

    def insert(
        self, connection: Connection, table: Table, rows: Iterable[Mapping[str, Any]]
    ) -> CursorResult[Any] | None:
        """Insert rows as this dealer's; None where there are none."""
        mine = [{**row, "dealer": self._dealer} for row in rows]
        return connection.execute(insert(table), mine) if mine else None

    def note(
        self, connection: Connection, at: datetime, action: str, subject: str, **detail: Any
    ) -> None:
        """Write into the audit trail, in the transaction of the change itself.

        What others are told of goes into the outbox as well, so that an event is kept if and only
        if its change is.

        Args:
            connection: Of the change.
            at: When.
            action: What was done, such as "quote.accepted".
            subject: Id of what it was done to.
            detail: What else readers of the trail and of the event want to know; plain data, no
                secrets, nothing personal.
        """
        entry = {
            "id": str(uuid4()),
            "at": at,
            "who": self._who,
            "action": action,
            "subject": subject,
            "detail": orjson.dumps(detail).decode(),
        }
        self.insert(connection, audit, [entry])
        kind = event_type(action)
        if kind is not None:
            self.tell(connection, at, kind, subject, detail)

    def tell(
        self,
        connection: Connection,
        at: datetime,
        kind: EventType,
        subject: str,
        detail: Mapping[str, Any],
    ) -> str:
        """Put an event into the outbox, and give its id.

        Two changes of one subject never overlap, so that counting on from what is seen orders
        them; changes of different subjects may come to the same number, and none waits for
        another.
        """
        event_id = str(uuid4())
        mine = events.c.dealer == self._dealer
        row = {
            "dealer": self._dealer,
            "id": event_id,
            "entered": select(func.coalesce(func.max(events.c.entered), 0) + 1)
            .where(mine)
            .scalar_subquery(),
            "at": at,
            "type": kind.value,
            "subject": subject,
            "body": cloud_event(event_id, self._dealer, kind, at, subject, detail),
        }
        connection.execute(insert(events).values(row))
        return event_id


def _tables(columns: Iterable[Any]) -> list[Table]:
    """Give the tables named by columns, each once."""
    named = [column if isinstance(column, Table) else _table(column) for column in columns]
    return list(dict.fromkeys(table for table in named if table is not None))


def _table(column: Any) -> Table | None:
    table = getattr(column, "table", None) if isinstance(column, Column) else None
    return table if isinstance(table, Table) else None
