"""The local worker: what it does, when it rests, and that it ends when told to."""

import threading

import pytest

from service.adapters.workers import local
from service.adapters.workers.local import NIGHTS_SECONDS, LocalWorker
from service.usecases.outages import StoreUnavailable


class Told(threading.Event):
    """An event that is set after so many waits, and knows how long they would have been."""

    def __init__(self, waits):
        super().__init__()
        self.left, self.waited = waits, []

    def wait(self, timeout=None):
        self.waited.append(timeout)
        self.left -= 1
        if self.left <= 0:
            self.set()
        return self.is_set()


class Work:
    """Work of so many pieces; a failure stands for what is raised."""

    def __init__(self, *steps):
        self.steps, self.owners = list(steps), set()

    def step(self, owner):
        self.owners.add(owner)
        found = self.steps.pop(0) if self.steps else False
        if isinstance(found, Exception):
            raise found
        return found

    def work(self, stop):
        return len(self.steps)


class Nights:
    """Counts the looks at the hours."""

    def __init__(self):
        self.looks = 0

    def begin_due(self):
        self.looks += 1
        return 0


def test_pieces_follow_each_other_and_then_it_looks_again_each_second():
    work, stop = Work(True, True, False, True), Told(3)
    LocalWorker(work, Nights()).run(stop)
    assert work.steps == []
    assert stop.waited == [local.LOOK_SECONDS] * 3
    assert len(work.owners) == 1


@pytest.mark.parametrize("failure", [StoreUnavailable("away"), ValueError("odd")])
def test_a_failure_is_slept_on_and_then_it_goes_on(failure, caplog):
    work, stop = Work(failure, True), Told(2)
    LocalWorker(work, Nights()).run(stop)
    assert work.steps == []
    assert stop.waited[0] > local.LOOK_SECONDS
    assert [record.message for record in caplog.records] == [
        f"no work can be done now: {type(failure).__name__}"
    ]


def test_told_to_end_it_begins_no_other_piece():
    stop = threading.Event()

    class Ending(Work):
        def step(self, owner):
            stop.set()
            return super().step(owner)

    work = Ending(True, True, True)
    LocalWorker(work, Nights()).run(stop)
    assert len(work.steps) == 2


def test_hours_are_looked_at_now_and_then_and_after_a_failure_at_once():
    seconds, nights = iter(range(1000)), Nights()
    pieces = int(2 * NIGHTS_SECONDS) + 1
    worker = LocalWorker(Work(*[True] * pieces), nights, ticks=lambda: float(next(seconds)))
    worker.run(Told(1))
    assert nights.looks == 3


def test_once_looks_at_the_hours_and_does_all_there_is():
    nights = Nights()
    assert LocalWorker(Work(True, True), nights).once() == 2
    assert nights.looks == 1
