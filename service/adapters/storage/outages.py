"""Tells a database that is away for now from a mistake in what it was asked.

Source: SQLite documentation, "Result and Error Codes"; PostgreSQL documentation, appendix A
(SQLSTATE codes).
"""

import sqlite3

from sqlalchemy import ExceptionContext
from sqlalchemy.exc import OperationalError

from service.usecases.outages import StoreUnavailable

# Primary result codes, which are the low eight bits of the extended ones.
_SQLITE_AWAY = frozenset(
    {
        sqlite3.SQLITE_BUSY,
        sqlite3.SQLITE_LOCKED,
        sqlite3.SQLITE_READONLY,
        sqlite3.SQLITE_IOERR,
        sqlite3.SQLITE_FULL,
        sqlite3.SQLITE_CANTOPEN,
        sqlite3.SQLITE_NOTADB,
    }
)
# Transaction to be tried again, out of resources, lock not had in time, stopped by an operator,
# failure of the machine; a standby that takes no writes; tables not made yet.
_CLASSES_AWAY = ("08", "40", "53", "55", "57", "58")
_STATES_AWAY = ("25006", "42P01")


def notice(context: ExceptionContext) -> StoreUnavailable | None:
    """Give what is to be raised in place of a driver's error; None leaves it as it is.

    A ping that fails is no error: the pool then opens a new connection.
    """
    if context.is_pre_ping:
        return None
    unreached = context.connection is None and isinstance(
        context.sqlalchemy_exception, OperationalError
    )
    away = context.is_disconnect or unreached or _is_away(context.original_exception)
    return StoreUnavailable("The database does not answer.") if away else None


def _is_away(error: BaseException) -> bool:
    if isinstance(error, sqlite3.Error):
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF
        return code in _SQLITE_AWAY or "no such table" in str(error)
    state = str(getattr(error, "sqlstate", None) or "")
    return state.startswith(_CLASSES_AWAY) or state in _STATES_AWAY
