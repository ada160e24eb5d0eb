"""The origins of pages that publishable keys stand in, for browsers that ask before they call.

A browser's question carries no key, so that it is answered from the good keys of all dealers;
whether the call itself may come from that page its own key decides (``service.api.auth``).
"""

import time
from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, datetime

from sqlalchemy import Engine, or_, select
from sqlalchemy.exc import SQLAlchemyError

from service.adapters.storage.tables import keys
from service.usecases.outages import StoreUnavailable

REMEMBERED = 10.0  # so that a page that asks often costs nothing [s]


class PageOrigins:
    """Tells the origins of good publishable keys, as they were some seconds ago at most."""

    def __init__(self, engine: Engine, clock: Callable[[], float] = time.monotonic) -> None:
        self._reading = engine.execution_options(reading=True)
        self._clock = clock
        self._known: frozenset[str] = frozenset()
        self._until = float("-inf")

    def __call__(self, origin: str) -> bool:
        """Tell whether a page of this origin may call."""
        if self._clock() >= self._until:
            # While the database is away, pages known before still hear of it: the call is 503.
            with suppress(SQLAlchemyError, StoreUnavailable):
                self._known = self._read()
            self._until = self._clock() + REMEMBERED
        return origin in self._known

    def _read(self) -> frozenset[str]:
        now = datetime.now(UTC)
        good = select(keys.c.origins).where(
            keys.c.publishable.is_(True),
            keys.c.revoked_at.is_(None),
            or_(keys.c.expires_at.is_(None), keys.c.expires_at > now),
        )
        with self._reading.connect() as connection:
            rows = connection.execute(good).scalars().all()
        return frozenset(origin for row in rows for origin in row.split())
