"""Ids of many rows made at once, which follow each other, so that indexes grow at their end.

Source: RFC 9562, version 7, with a counter in its last bits (section 6.2, method 1).
"""

import secrets
from datetime import datetime
from uuid import UUID

_COUNTER_BITS = 30
_DIGITS = 12  # the last, which hold the counter
_LAST_DIGITS = 12  # those after the last hyphen hold the counter


class Ids:
    """Gives UUIDs of one moment, each after the one before.

    Example:
        >>> from datetime import UTC
        >>> ids = Ids(datetime(2026, 11, 25, tzinfo=UTC))
        >>> first, second = ids.take(2)
        >>> first < second, UUID(first).version
        (True, 7)
    """

    def __init__(self, at: datetime) -> None:
        chance = secrets.randbits(12 + 32)
        milliseconds = int(at.timestamp() * 1000) & (2**48 - 1)
        led = milliseconds << 80 | 7 << 76 | (chance >> 32) << 64 | 2 << 62
        led |= (chance & (2**32 - 1)) << _COUNTER_BITS
        self._led = str(UUID(int=led))[:-_DIGITS]
        self._begin = led & (16**_DIGITS - 1)
        self._count = 0

    def take(self, count: int) -> list[str]:
        """Give the next ids."""
        first = self._count + 1
        self._count += count
        if self._count >> _COUNTER_BITS:
            raise OverflowError("so many ids cannot be made of one moment")
        led, begin = self._led, self._begin
        return [f"{led}{begin | n:012x}" for n in range(first, first + count)]
