"""How long to wait before an event is sent again, and before an endpoint is tried again.

A failure of one event says little; many one after another say that the endpoint is down. It then
rests as a whole, so that what waits for it uses up neither its attempts nor the room of others.
"""

from datetime import timedelta

from service.usecases.events import Receipt

# Over about two days: 5 s, 20 s, 80 s and so on, never more than twelve hours apart.
MOST_ATTEMPTS = 12
_FIRST, _FACTOR, _LONGEST = timedelta(seconds=5), 4, timedelta(hours=12)
MOST_FAILURES = 10
_LONGEST_REST = timedelta(minutes=5)
_LONGEST_ASKED = timedelta(hours=6)


def wait_after(attempts: int, chance: float, receipt: Receipt) -> timedelta | None:
    """Tell how long an event waits after a failed attempt, None to give it up.

    Args:
        attempts: How many have failed.
        chance: From 0 to 1; it spreads over half of the wait what failed at the same time.
        receipt: What the endpoint answered; it may ask for longer, never for less.

    Example:
        >>> down = Receipt(503)
        >>> [wait_after(n, 1.0, down).total_seconds() for n in (1, 2, 3)]
        [5.0, 20.0, 80.0]
        >>> wait_after(1, 0.0, down).total_seconds(), wait_after(MOST_ATTEMPTS, 1.0, down)
        (2.5, None)
        >>> wait_after(1, 0.0, Receipt(503, retry_after=timedelta(minutes=2))).total_seconds()
        120.0
    """
    if receipt.gone or attempts >= MOST_ATTEMPTS:
        return None
    full: timedelta = min(_FIRST * _FACTOR ** (attempts - 1), _LONGEST)
    return max(full * (0.5 + chance / 2), _asked(receipt))


def rest_after(failures: int, receipt: Receipt) -> timedelta:
    """Tell how long an endpoint is left alone after it did not take an event.

    Args:
        failures: How many there have been one after another, of any events.
        receipt: What it answered.

    Example:
        >>> down = Receipt(None, "It was not reached.")
        >>> [rest_after(n, down).total_seconds() for n in (1, 9, 10, 12, 99)]
        [0.0, 0.0, 5.0, 20.0, 300.0]
        >>> rest_after(1, Receipt(429, retry_after=timedelta(days=9))).total_seconds() / 3600
        6.0
    """
    over = min(failures - MOST_FAILURES, 10)
    own = min(_FIRST * 2**over, _LONGEST_REST) if over >= 0 else timedelta()
    return max(own, _asked(receipt))


def _asked(receipt: Receipt) -> timedelta:
    return min(receipt.retry_after or timedelta(), _LONGEST_ASKED)
