"""Requests counted by key in each minute."""

import logging
import math
import time

from limits import RateLimitItemPerMinute
from limits.storage import storage_from_string
from limits.strategies import FixedWindowRateLimiter

from service.adapters.rate_counts import ProcessCounts
from service.usecases.rates import WINDOW, Allowance

_log = logging.getLogger("service")
_IN_PROCESS = "memory://"


class CountedRates:
    """Counts in memory, for one process, or in a store that processes share.

    A store that does not answer lets requests through: a quote late is worse than one too many.
    """

    def __init__(self, store: str) -> None:
        self._limiter = FixedWindowRateLimiter(
            ProcessCounts(wrap_exceptions=True)
            if store == _IN_PROCESS
            else storage_from_string(store, wrap_exceptions=True)
        )

    def spend(self, who: str, most: int) -> tuple[bool, Allowance]:
        """Count one request."""
        item = RateLimitItemPerMinute(most)
        try:
            allowed = self._limiter.hit(item, who)
            stats = self._limiter.get_window_stats(item, who)
        except Exception:
            _log.exception("requests are not counted: the store of rates does not answer")
            return True, Allowance(most, most, WINDOW)
        seconds = max(1, math.ceil(stats.reset_time - time.time()))
        return allowed, Allowance(most, max(0, stats.remaining), min(WINDOW, seconds))
