"""Counters of requests in one process, held against the library's own store in memory."""

import threading

import pytest
from limits import RateLimitItemPerMinute
from limits.storage import MemoryStorage
from limits.strategies import FixedWindowRateLimiter

from service.adapters import rate_counts
from service.adapters.rate_counts import ProcessCounts

THREE = RateLimitItemPerMinute(3)


class Clock:
    """A clock that goes when told to."""

    def __init__(self):
        self.now = 1_000_000.0

    def time(self):
        return self.now


@pytest.fixture
def clock(monkeypatch):
    clock = Clock()
    monkeypatch.setattr(rate_counts, "time", clock)
    return clock


def test_counting_goes_as_in_the_librarys_store():
    ours, theirs = (FixedWindowRateLimiter(s) for s in (ProcessCounts(), MemoryStorage()))
    for who in ["a", "b", "a", "a", "a", "b", "c", "a"]:
        assert ours.hit(THREE, who) == theirs.hit(THREE, who)
        one, other = ours.get_window_stats(THREE, who), theirs.get_window_stats(THREE, who)
        assert one.remaining == other.remaining
        assert one.reset_time == pytest.approx(other.reset_time, abs=0.5)


def test_a_counter_begins_anew_when_its_minute_is_over(clock):
    counts = ProcessCounts()
    limiter = FixedWindowRateLimiter(counts)
    assert [limiter.hit(THREE, "a") for _ in range(4)] == [True, True, True, False]
    clock.now += 59.9
    assert not limiter.hit(THREE, "a")
    clock.now += 0.1
    assert counts.get(THREE.key_for("a")) == 0
    assert limiter.hit(THREE, "a")
    assert limiter.get_window_stats(THREE, "a").reset_time == clock.now + 60


def test_counters_of_callers_who_went_are_dropped(clock):
    counts = ProcessCounts()
    limiter = FixedWindowRateLimiter(counts)
    for number in range(1_000):
        limiter.hit(THREE, f"caller {number}")
    clock.now += 61
    limiter.hit(THREE, "one who stays")
    assert counts.reset() == 1


def test_counts_of_threads_are_not_lost():
    counts = ProcessCounts()

    def work():
        for _ in range(2_000):
            counts.incr("all", 600)

    threads = [threading.Thread(target=work) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert counts.get("all") == 8_000


def test_a_counter_can_be_cleared():
    counts = ProcessCounts()
    counts.incr("a", 60)
    counts.clear("a")
    assert counts.get("a") == 0
    assert counts.check()


def test_counting_starts_no_thread():
    counts, before = ProcessCounts(), threading.active_count()
    counts.incr("a", 60)
    assert threading.active_count() == before
