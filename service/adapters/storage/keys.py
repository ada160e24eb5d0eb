"""Keys and dealers: the one place that reads across dealers, because a key tells which one calls.

A key is 256 bits of chance behind a prefix. It is not a password that people choose, so that one
round of SHA-256 keeps it as well as a slow hash would.
"""

import hashlib
import hmac
import secrets
from datetime import datetime
from functools import lru_cache
from uuid import uuid4

from sqlalchemy import Connection, Engine, Row, bindparam, insert, select

from service.adapters.storage.moments import utc
from service.adapters.storage.tables import dealers, keys
from service.domain.errors import Unauthenticated
from service.usecases.callers import PUBLISHABLE_LEAD, Caller, KeyWish, Scope

SECRET_PREFIX, PUBLISHABLE_PREFIX = "evb_", PUBLISHABLE_LEAD
_ALPHABET = "abcdefghijkmnpqrstuvwxyz23456789"  # without l, o, 0 and 1, which people mix up
_NAMED = 8
_LONGEST = 200
_TELLING = ("dealer", "prefix", "hash", "scopes", "publishable", "origins", "per_minute")
_ENDING = ("expires_at", "revoked_at")
_BY_PREFIX = select(*(keys.c[name] for name in _TELLING + _ENDING)).where(
    keys.c.prefix == bindparam("prefix")
)


class SqlGate:
    """Tells callers by their keys."""

    def __init__(self, engine: Engine) -> None:
        self._reading = engine.execution_options(reading=True, alone=True)

    def caller(self, credential: str, at: datetime) -> Caller:
        """Give the caller that a key belongs to."""
        row = self._find(credential)
        given = hash_of(credential)
        # Compared even where no key has the prefix, so that the time tells nothing.
        right = hmac.compare_digest(given, row.hash if row else "0" * len(given))
        if row is None or not right:
            raise Unauthenticated("This key belongs to nobody.")
        if row.revoked_at is not None and utc(row.revoked_at) <= at:
            raise Unauthenticated("This key is revoked.")
        if row.expires_at is not None and utc(row.expires_at) <= at:
            raise Unauthenticated("This key has expired.")
        return Caller(
            dealer=row.dealer,
            who=f"key {row.prefix}",
            scopes=_scopes_in(row.scopes),
            publishable=row.publishable,
            origins=tuple(row.origins.split()),
            per_minute=row.per_minute,
        )

    def _find(self, credential: str) -> Row[tuple[object, ...]] | None:
        if len(credential) > _LONGEST or not credential.isascii() or "\0" in credential:
            return None
        with self._reading.connect() as connection:
            return connection.execute(_BY_PREFIX, {"prefix": prefix_of(credential)}).one_or_none()


@lru_cache(maxsize=1_000)
def _scopes_in(text: str) -> frozenset[Scope]:
    return frozenset(Scope(one) for one in text.split())


def new_key(connection: Connection, dealer: str, wish: KeyWish, at: datetime) -> tuple[str, str]:
    """Make a key for a dealer.

    Returns:
        Its id, and the key itself, which is shown this once and kept nowhere.
    """
    lead = PUBLISHABLE_PREFIX if wish.publishable else SECRET_PREFIX
    named = "".join(secrets.choice(_ALPHABET) for _ in range(_NAMED))
    key = f"{lead}{named}_{secrets.token_urlsafe(32)}"
    key_id = str(uuid4())
    row = {
        "id": key_id,
        "dealer": dealer,
        "prefix": prefix_of(key),
        "hash": hash_of(key),
        "label": wish.label,
        "scopes": "\n".join(sorted(wish.scopes)),
        "publishable": wish.publishable,
        "origins": "\n".join(wish.origins),
        "per_minute": wish.per_minute,
        "created_at": at,
        "expires_at": wish.expires_at,
    }
    connection.execute(insert(keys), row)
    return key_id, key


def dealer_named(connection: Connection, name: str, at: datetime) -> str:
    """Give the id of the dealer of this name, who is entered if there is none."""
    found = connection.execute(select(dealers.c.id).where(dealers.c.name == name)).scalar()
    if found is not None:
        return str(found)
    dealer = str(uuid4())
    row = {"id": dealer, "name": name, "created_at": at, "settings": "{}"}
    connection.execute(insert(dealers), row)
    return dealer


def dealer_of(engine: Engine, named: str) -> str | None:
    """Give the id of a dealer who is named by id or name, None if there is none."""
    mine = (dealers.c.id == named) | (dealers.c.name == named)
    with engine.execution_options(reading=True).connect() as connection:
        found = connection.execute(select(dealers.c.id).where(mine)).scalar()
    return None if found is None else str(found)


def prefix_of(key: str) -> str:
    """Give the part of a key that people may see.

    Example:
        >>> prefix_of("evb_ab12cd34_the-secret")
        'evb_ab12cd34'
    """
    lead = PUBLISHABLE_PREFIX if key.startswith(PUBLISHABLE_PREFIX) else SECRET_PREFIX
    return key[: len(lead) + _NAMED]


def hash_of(key: str) -> str:
    """Give what is kept of a key."""
    return hashlib.sha256(key.encode("utf-8", "surrogateescape")).hexdigest()
