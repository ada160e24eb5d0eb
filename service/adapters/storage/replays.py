"""Answers that are given again to the same request, by its idempotency key.

A key is claimed in a transaction of its own, before the work begins. The answer is kept in the
transaction of the work itself: either both are kept or neither is, whenever the process dies.
"""

from contextlib import AbstractContextManager
from datetime import datetime, timedelta
from uuid import uuid4

import orjson
from sqlalchemy import Connection
from sqlalchemy.exc import IntegrityError

from service.adapters.storage.books import Books
from service.adapters.storage.moments import utc
from service.adapters.storage.tables import replays
from service.domain.errors import KeyUsedOtherwise, StillAtWork
from service.usecases.ports import Replay

# How long answers are kept to be given again; common practice.
KEPT = timedelta(hours=24)


class SqlReplays:
    """Keeps claims and answers of one dealer."""

    def __init__(self, books: Books, lease: timedelta) -> None:
        self._books = books
        self._lease = lease

    def claim(self, key: str, fingerprint: str, at: datetime) -> str | Replay:
        """Claim a key, or give the answer it has had."""
        token = str(uuid4())
        claim = {
            "key": key,
            "fingerprint": fingerprint,
            "token": token,
            "begun_at": at,
            "lease_until": at + self._lease,
        }
        try:
            with self._books.writing() as connection:
                self._forget(connection, at)
                self._books.insert(connection, replays, [claim])
        except IntegrityError:
            return self._found(key, fingerprint, token, at)
        return token

    def together(self) -> AbstractContextManager[None]:
        """Make what is stored meanwhile, and the answer kept with it, one transaction."""
        return self._books.together()

    def keep(self, key: str, token: str, replay: Replay) -> None:
        """Keep the answer of a claimed key."""
        mine = self._books.update(replays).where(replays.c.key == key, replays.c.token == token)
        answer = {
            "status": replay.status,
            "headers": orjson.dumps(dict(replay.headers)).decode(),
            "body": replay.body,
        }
        with self._books.writing() as connection:
            if not connection.execute(mine.values(**answer)).rowcount:
                raise StillAtWork("This request took so long that another one took its place.")

    def drop(self, key: str, token: str) -> None:
        """Give a claim up."""
        mine = self._books.delete(replays).where(replays.c.key == key, replays.c.token == token)
        with self._books.writing() as connection:
            connection.execute(mine)

    def _found(self, key: str, fingerprint: str, token: str, at: datetime) -> str | Replay:
        """Give the answer, or take a claim over that has run out."""
        query = self._books.select(replays).where(replays.c.key == key).with_for_update()
        with self._books.writing() as connection:
            row = connection.execute(query).one_or_none()
            if row is None:  # given up between the two
                raise StillAtWork("The first request with this key was just refused; send again.")
            if row.fingerprint != fingerprint:
                raise KeyUsedOtherwise(
                    "This idempotency key came with another request before.",
                    advice="Send a new key with each new request, the same key only to try again.",
                )
            if row.status is not None:
                return Replay(row.status, orjson.loads(row.headers), bytes(row.body))
            if utc(row.lease_until) > at:
                raise StillAtWork("The first request with this key is still at work.")
            taken = self._books.update(replays).where(replays.c.key == key)
            until = at + self._lease
            connection.execute(taken.values(token=token, begun_at=at, lease_until=until))
        return token

    def _forget(self, connection: Connection, at: datetime) -> None:
        old = self._books.delete(replays).where(replays.c.begun_at < at - KEPT)
        connection.execute(old)
