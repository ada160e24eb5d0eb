"""The connection to the database: SQLite made safe for several writers, or PostgreSQL."""

import time
from pathlib import Path
from sqlite3 import OperationalError
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, NoSuchModuleError

from service.adapters.storage.outages import notice
from service.usecases.outages import StoreUnusable

# WAL lets readers go on during a write; NORMAL then loses at most the last commits on a power
# cut, never the file. Foreign keys are off in SQLite unless asked for.
# Source: SQLite documentation, "Write-Ahead Logging" and "PRAGMA synchronous".
_PRAGMAS = (
    "PRAGMA busy_timeout = 5000",
    "PRAGMA synchronous = NORMAL",
    "PRAGMA foreign_keys = ON",
)


_NAMED = "EVENBAY_DATABASE_URL"
# A host that swallows packets is given up after these. [s, s, ms]
_POSTGRES = {"connect_timeout": "5", "keepalives_idle": "30", "tcp_user_timeout": "10000"}


def connect(url: str) -> Engine:
    """Give an engine; the directory of an SQLite file is made if need be.

    What statements carry is kept out of messages and logs: they may name people and secrets.

    Raises:
        StoreUnusable: The URL is none, or names what cannot be opened here.
    """
    engine = _open(url)
    event.listen(engine, "handle_error", notice)
    return engine


def _open(url: str) -> Engine:
    """Open what a URL names; the messages do not repeat it, because a password may stand in it."""
    try:
        parsed = make_url(url)
    except ArgumentError:
        raise StoreUnusable(f"{_NAMED} is no URL such as sqlite:////srv/evenbay.sqlite3") from None
    kind = parsed.drivername
    try:
        sqlite = parsed.get_backend_name() == "sqlite"
        return _open_sqlite(parsed) if sqlite else _open_postgres(parsed)
    except NoSuchModuleError:
        known = "use sqlite or postgresql+psycopg"
        raise StoreUnusable(
            f"{_NAMED} names a kind of database, {kind}, that is not known; {known}"
        ) from None
    except ModuleNotFoundError as error:
        extra = "pip install 'evenbay[postgres]'"
        raise StoreUnusable(f"{kind} needs {error.name}, which is missing; {extra}") from None
    except OSError as error:
        raise StoreUnusable(f"{error.filename} cannot be made: {error.strerror}") from None


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
    """Take the write lock at once: a read lock cannot be raised while another one writes.

    Who reads by one statement alone needs no transaction around it.
    """
    options = connection.get_execution_options()
    if not options.get("alone", False):
        connection.exec_driver_sql("BEGIN" if options.get("reading") else "BEGIN IMMEDIATE")
