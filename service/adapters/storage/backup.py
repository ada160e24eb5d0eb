"""A copy of the embedded database, whole even while it is written to.

A plain copy of the file would miss what still lies in the write-ahead log, or catch a page half
written. Source: SQLite documentation, "Using the SQLite Online Backup API".
"""

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy import make_url


class NoCopy(Exception):
    """There is nothing to copy, or nowhere to put it."""


def back_up(url: str, target: Path) -> None:
    """Copy the embedded database into one file that only its owner reads.

    Args:
        url: SQLAlchemy URL of the database.
        target: The copy; it must not be there yet, but its directory must.

    Raises:
        NoCopy: There is none to copy, the copy is there already, or it cannot be written.
    """
    source = _file_of(url)
    try:
        # Made here and not by SQLite, so that nobody else can read the customers in it.
        os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    except FileExistsError:
        raise NoCopy(f"{target} is there already; name a file that is not.") from None
    except OSError as error:
        raise NoCopy(f"{target} cannot be written: {error.strerror}.") from None
    try:
        _copy(source, target)
    except sqlite3.Error as error:
        target.unlink()
        raise NoCopy(f"{source} could not be copied: {error}.") from None


def _copy(source: Path, target: Path) -> None:
    reading = f"{source.absolute().as_uri()}?mode=ro"
    with (
        closing(sqlite3.connect(reading, uri=True)) as held,
        closing(sqlite3.connect(target)) as copy,
    ):
        held.backup(copy)
        # The copy takes over the source's mode; alone it needs no log beside it.
        copy.execute("PRAGMA journal_mode = DELETE")


def _file_of(url: str) -> Path:
    parsed = make_url(url)
    if parsed.get_backend_name() != "sqlite":
        raise NoCopy("This copies the embedded database; for PostgreSQL use pg_dump.")
    if parsed.database in (None, "", ":memory:"):
        raise NoCopy("The database lies in memory; there is no file to copy.")
    file = Path(str(parsed.database))
    if not file.is_file():
        raise NoCopy(f"There is no database at {file}.")
    return file
