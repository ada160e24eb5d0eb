"""Whether the database can serve: it has the tables, and takes what is written.

Nothing is written to find out, and nobody who writes is waited for.

Source: SQLite documentation, "BEGIN TRANSACTION" (on a file that is read only, BEGIN IMMEDIATE
succeeds, and only a statement that writes fails); PostgreSQL documentation, "transaction_read_only"
(on as well while a standby recovers).
"""

import sqlite3
from typing import Any

from sqlalchemy import Connection, Engine, text

from service.usecases.outages import StoreUnavailable

_HAS_TABLES = text("SELECT 1 FROM keys, quotes WHERE 1 = 0")
_READ_ONLY = text("SELECT current_setting('transaction_read_only')")
_HELD = (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)
_CHANGES_NOTHING = "UPDATE keys SET label = label WHERE 1 = 0"


def check_ready(engine: Engine) -> None:
    """Ask the tables for nothing, and whether they could be changed.

    Raises:
        StoreUnavailable: They are away, or can only be read.
    """
    with engine.execution_options(reading=True, alone=True).connect() as connection:
        connection.execute(_HAS_TABLES)
        sqlite = connection.dialect.name == "sqlite"
        if (_refuses_writes if sqlite else _is_read_only)(connection):
            raise StoreUnavailable("The database takes no writes.")


def _is_read_only(connection: Connection) -> bool:
    return bool(connection.execute(_READ_ONLY).scalar() == "on")


def _refuses_writes(connection: Connection) -> bool:
    """Tell whether an SQLite file is read only; one that somebody else writes to is not."""
    file: Any = connection.connection.driver_connection
    (patience,) = file.execute("PRAGMA busy_timeout").fetchone()
    file.execute("PRAGMA busy_timeout = 0")
    try:
        file.execute(_CHANGES_NOTHING)
    except sqlite3.OperationalError as error:
        return error.sqlite_errorcode & 0xFF not in _HELD
    finally:
        file.execute(f"PRAGMA busy_timeout = {patience}")
    return False
