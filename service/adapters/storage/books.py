"""One dealer's rows and nobody else's: the only place where statements on them are begun.

Every table of a dealer has the column ``dealer`` first in its key. The modules beside this one
begin their statements here and nowhere else (a test reads them to see that), so that none can
reach another dealer's rows; and foreign keys hold the dealer too, so that rows of two dealers
cannot point at each other.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, ExitStack, contextmanager, nullcontext
from datetime import UTC, datetime
from functools import cache
from typing import Any
from uuid import uuid4
from weakref import WeakKeyDictionary

import orjson
from sqlalchemy import (
    BigInteger,
    Column,
    ColumnElement,
    Connection,
    Delete,
    Engine,
    FromClause,
    Insert,
    Join,
    Select,
    Table,
    Update,
    and_,
    bindparam,
    delete,
    func,
    insert,
    literal,
    literal_column,
    select,
    update,
)
from sqlalchemy.dialects import postgresql, sqlite

from service.adapters.storage.cloud_events import cloud_event, event_type
from service.adapters.storage.copied_rows import copied_rows
from service.adapters.storage.driver_rows import insert_rows, insert_rows_alike
from service.adapters.storage.tables import audit, dealers, events
from service.usecases.events import EventType

_ONE = literal_column("1", BigInteger)
# Two changes of one subject never overlap, so that counting on from what is seen orders them;
# changes of different subjects may come to the same number, and none waits for another.
_ENTER_EVENT = insert(events).values(
    entered=select(func.coalesce(func.max(events.c.entered), literal_column("0")) + _ONE)
    .where(events.c.dealer == bindparam("whose"))
    .scalar_subquery()
)


_MOST_KNOWN = 50_000  # of one dealer
_KNOWN: WeakKeyDictionary[Engine, dict[str, set[int | str]]] = WeakKeyDictionary()


class Books:
    """The rows of one dealer, opened by one caller."""

    def __init__(self, engine: Engine, dealer: str, who: str) -> None:
        self._engine = engine
        self._reading = engine.execution_options(reading=True)
        self._dealer = dealer
        self._who = who
        self._whole: ExitStack | None = None
        self._shared: Connection | None = None
        self._written: list[int | str] = []

    def reading(self) -> AbstractContextManager[Connection]:
        """Open a connection that only reads; within ``together`` it sees what was written."""
        return nullcontext(self._shared) if self._shared is not None else self._reading.connect()

    def writing(self) -> AbstractContextManager[Connection]:
        """Open a transaction: all of it is kept at its end, or nothing if it fails."""
        return self._by_itself() if self._whole is None else self._part(self._whole)

    @contextmanager
    def together(self) -> Iterator[None]:
        """Make what is written meanwhile one transaction: all of it is kept, or nothing.

        It is begun by the first that writes, so that computing before that keeps nobody waiting.
        """
        with self._kept_at_the_end(), ExitStack() as whole:
            self._whole = whole
            try:
                yield
            finally:
                self._whole = self._shared = None

    def remember(self, names: Iterable[int | str]) -> None:
        """Know some names as soon as all that is written here is kept, and not if it is not."""
        self._written += names

    @property
    def known(self) -> set[int | str]:
        """What this process has seen kept of the dealer's, and that nobody removes."""
        return _known_of(self._engine, self._dealer)

    @contextmanager
    def _by_itself(self) -> Iterator[Connection]:
        with self._kept_at_the_end(), self._engine.begin() as connection:
            yield connection

    @contextmanager
    def _kept_at_the_end(self) -> Iterator[None]:
        self._written.clear()
        try:
            yield
            if self._written:
                self.known.update(self._written)
        finally:
            self._written.clear()

    @contextmanager
    def _part(self, whole: ExitStack) -> Iterator[Connection]:
        if self._shared is None:
            self._shared = whole.enter_context(self._engine.begin())
        before = len(self._written)
        try:
            with self._shared.begin_nested():
                yield self._shared
        except BaseException:
            del self._written[before:]
            raise

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
        """Begin a SELECT of what is kept of the dealer: name, settings, which events are gone."""
        kept = (dealers.c.name, dealers.c.settings, dealers.c.events_gone)
        return select(*kept).where(dealers.c.id == self._dealer)

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
    ) -> None:
        """Insert rows as this dealer's; all have the same columns."""
        mine = [{**row, "dealer": self._dealer} for row in rows]
        if mine:
            insert_rows(connection, _insert_into(table), mine)

    def insert_new(
        self, connection: Connection, table: Table, rows: Iterable[Mapping[str, Any]]
    ) -> None:
        """Insert rows as this dealer's, leaving alone those whose key is there."""
        mine = [{**row, "dealer": self._dealer} for row in rows]
        add = postgresql.insert if connection.dialect.name == "postgresql" else sqlite.insert
        connection.execute(add(table).on_conflict_do_nothing(), mine)

    def insert_alike(
        self,
        connection: Connection,
        table: Table,
        same: Mapping[str, Any],
        of_each: Mapping[str, Sequence[Any]],
    ) -> None:
        """Insert very many rows as this dealer's that have some values in common.

        Args:
            connection: Of the transaction.
            table: Which they are rows of.
            same: Values of every row, by column.
            of_each: Values of each row, by column: texts, bytes, whole numbers, flags or None.
        """
        shared = {"dealer": self._dealer, **same}
        if connection.dialect.name != "postgresql":
            insert_rows_alike(connection, _insert_into(table), shared, of_each)
            return
        driver: Any = connection.connection.driver_connection
        names = ", ".join((*shared, *of_each))
        with (
            driver.cursor() as cursor,
            cursor.copy(f"COPY {table.name} ({names}) FROM STDIN") as copy,
        ):
            for some in copied_rows(shared, of_each):
                copy.write(some)

    def insert_from(
        self, connection: Connection, table: Table, values: Mapping[str, Any], rows: Select[Any]
    ) -> int:
        """Insert rows of this dealer's that the database makes from others, and give how many.

        Args:
            connection: Of the transaction.
            table: Which the new rows are rows of.
            values: Expressions by column; a plain value is taken as it is.
            rows: Begun by ``select``; its columns are replaced by the expressions.
        """
        columns = table.c
        made = [
            value if isinstance(value, ColumnElement) else literal(value, columns[name].type)
            for name, value in values.items()
        ]
        query = rows.with_only_columns(literal(self._dealer), *made, maintain_column_froms=True)
        filling = insert(table).from_select(["dealer", *values], query)
        counting = {"preserve_rowcount": True}
        filled: int = connection.execute(filling, execution_options=counting).rowcount
        return filled

    def look_over(self, connection: Connection, *tables: Table) -> None:
        """Let a server count its rows before many are written or looked for.

        Of tables that grew since it last did, PostgreSQL may hold every foreign key against all
        rows of the dealer, row by row.
        """
        if connection.dialect.name == "postgresql":
            connection.exec_driver_sql(f"ANALYZE {', '.join(table.name for table in tables)}")

    def clock(self, connection: Connection) -> datetime:
        """Give the time by the database's clock where it is a server, so that hosts agree."""
        if connection.dialect.name != "postgresql":
            return datetime.now(UTC)
        now: datetime = connection.execute(select(func.clock_timestamp())).scalar_one()
        return now

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
        """Put an event into the outbox, and give its id."""
        event_id = str(uuid4())
        row = {
            "dealer": self._dealer,
            "id": event_id,
            "at": at,
            "type": kind.value,
            "subject": subject,
            "body": cloud_event(event_id, self._dealer, kind, at, subject, detail),
        }
        insert_rows(connection, _ENTER_EVENT, [{**row, "whose": self._dealer}])
        return event_id

    def next_entered(self, connection: Connection) -> int:
        """Give the number that events of many subjects, told of at once, are entered by."""
        highest = select(func.coalesce(func.max(events.c.entered), 0) + 1)
        mine = highest.where(events.c.dealer == self._dealer)
        entered: int = connection.execute(mine).scalar_one()
        return entered


@cache
def _insert_into(table: Table) -> Insert:
    """Give the same statement for a table every time."""
    return insert(table)


def _known_of(engine: Engine, dealer: str) -> set[int | str]:
    known = _KNOWN.setdefault(engine, {}).setdefault(dealer, set())
    if len(known) > _MOST_KNOWN:
        known.clear()
    return known


def _tables(columns: Iterable[Any]) -> list[Table]:
    """Give the tables named by columns, each once."""
    named = [column if isinstance(column, Table) else _table(column) for column in columns]
    return list(dict.fromkeys(table for table in named if table is not None))


def _table(column: Any) -> Table | None:
    table = getattr(column, "table", None) if isinstance(column, Column) else None
    return table if isinstance(table, Table) else None
