"""Rows as the driver takes them, by a statement that is put together once.

The values of a row are always of the same kinds and in the same order, so that SQLAlchemy need not
find out anew for each what it is bound as: for the few rows beside a quote that took longer than
writing them. The engine tells of errors as ever.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import lru_cache
from itertools import repeat
from typing import Any

from sqlalchemy import Connection, Dialect, Insert

Bind = Callable[[Any], Any] | None


def insert_rows(
    connection: Connection, statement: Insert, rows: Sequence[Mapping[str, Any]]
) -> None:
    """Insert rows that have the same columns.

    Args:
        connection: Of the transaction.
        statement: Inserts one; all it binds is given with the row.
        rows: At least one.
    """
    text, by_place, binds = _put_together(connection.dialect, statement, tuple(rows[0]))
    made = [
        {name: row[name] if bind is None else bind(row[name]) for name, bind in binds}
        for row in rows
    ]
    values: list[Any] = [tuple(row.values()) for row in made] if by_place else made
    connection.exec_driver_sql(text, values if len(values) > 1 else values[0])


def insert_rows_alike(
    connection: Connection,
    statement: Insert,
    same: Mapping[str, Any],
    of_each: Mapping[str, Sequence[Any]],
) -> None:
    """Insert very many rows that have some values in common, by a driver that takes them by place.

    Args:
        connection: Of the transaction.
        statement: Inserts one.
        same: Values of every row, by column.
        of_each: Values of each row, by column.
    """
    text, _, binds = _put_together(connection.dialect, statement, (*same, *of_each))

    def kept(name: str, bind: Bind) -> Iterable[Any]:
        values = [same[name]] if name in same else of_each[name]
        ready = values if bind is None else [bind(value) for value in values]
        return repeat(ready[0]) if name in same else ready

    rows = zip(*(kept(name, bind) for name, bind in binds), strict=False)
    connection.exec_driver_sql(text, list(rows))


@lru_cache(maxsize=500)
def _put_together(
    dialect: Dialect, statement: Insert, names: tuple[str, ...]
) -> tuple[str, bool, tuple[tuple[str, Bind], ...]]:
    """Give the text, whether it takes values by place, and how each is bound, in order."""
    compiled = statement.compile(dialect=dialect, column_keys=list(names))
    kinds = {name: bound.type for name, bound in compiled.binds.items()}
    order = compiled.positiontup or tuple(kinds)
    binds = [(name, kinds[name].dialect_impl(dialect).bind_processor(dialect)) for name in order]
    return str(compiled), bool(compiled.positional), tuple(binds)
