"""The connection to the database: SQLite made safe for several writers, or PostgreSQL."""

import time
from pathlib import Path
from sqlite3 import OperationalError
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url

from service.adapters.storage.outages import notice

# WAL lets readers go on during a write; NORMAL then loses at most the last commits on a power
# cut, never the file. Foreign keys are off in SQLite unless asked for.
# Source: SQLite documentation, "Write-Ahead Logging" and "PRAGMA synchronous".
_PRAGMAS = (
    "PRAGMA busy_timeout = 5000",
    "PRAGMA synchronous = NORMAL",
    "PRAGMA foreign_keys = ON",
)


# A host that swallows packets is given up after these. [s, s, ms]
_POSTGRES = {"connect_timeout": "5", "keepalives_idle": "30", "tcp_user_timeout": "10000"}


def connect(url: str) -> Engine:
    """Give an engine; the directory of an SQLite file is made if need be.

    What statements carry is kept out of messages and logs: they may name people and secrets.
    """
    parsed = make_url(url)
    sqlite = parsed.get_backend_name() == "sqlite"
    engine = _open_sqlite(parsed) if sqlite else _open_postgres(parsed)
    event.listen(engine, "handle_error", notice)
    return engine


def _open_postgres(url: URL) -> Engine:
    patience = {name: wait for name, wait in _POSTGRES.items() if name not in url.query}
    return create_engine(
        url.update_query_dict(patience), pool_pre_ping=True, pool_timeout=10, hide_parameters=True
    )


def _open_sqlite(url: URL) -> Engine:
    if url.database and url.database != ":memory:":
        Path(url.database).parent.mkdir(parents=True, exist_ok=True)
    engine = create_engine(url, hide_parameters=True)
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def _prepare(connection: Any, _record: Any) -> None:
    connection.isolation_level = None  # the driver's own BEGIN comes too late
    for pragma in _PRAGMAS:
        connection.execute(pragma)
    _use_wal(connection)


def _use_wal(connection: Any) -> None:
    """Switch to WAL; two that switch a new file at once fail without waiting, so try again."""
    for _ in range(100):
        try:
            connection.execute("PRAGMA journal_mode = WAL")
        except OperationalError:
            time.sleep(0.05)
        else:
            return
    connection.execute("PRAGMA journal_mode = WAL")


def _begin(connection: Connection) -> None:
    """Take the write lock at once: a read lock cannot be raised while another one writes."""
    reading = connection.get_execution_options().get("reading", False)
    connection.exec_driver_sql("BEGIN" if reading else "BEGIN IMMEDIATE")
