"""What runs need from outside, as protocols."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from service.usecases.repricing.records import Outcome, Run, RunResult

Since = tuple[datetime, str]  # (created at, id): where a page of runs ended
Stop = Callable[[], bool]  # tells whether to stop before the next piece of work


@dataclass(frozen=True, slots=True)
class ResultsWanted:
    """Which results are asked for; what is empty does not count."""

    outcomes: frozenset[Outcome] = frozenset()
    under_floor: bool | None = None


class Runs(Protocol):
    """Where the runs of a dealer are kept.

    Each method that takes an id raises RunNotFound where no run has it.
    """

    def add(self, run: Run) -> Run:
        """Keep a new run, unless one of this id is kept; give what is kept."""
        ...

    def run(self, run_id: str) -> Run:
        """Give one run as it stands, its summary as far as it has come."""
        ...

    def page(self, after: Since | None, most: int) -> list[Run]:
        """Give runs, newest first."""
        ...

    def change(self, run_id: str, step: Callable[[Run], Run], at: datetime) -> Run:
        """Take one step in the life of a run; nobody else takes one at the same time."""
        ...

    def results(
        self, run_id: str, wanted: ResultsWanted, after: str | None, most: int
    ) -> list[RunResult]:
        """Give results that fit in the order of their quotes' ids, from behind one on."""
        ...


class RunWork(Protocol):
    """Does the work of runs, one piece at a time; any number may do it at once, on any host."""

    def step(self, owner: str) -> bool:
        """Do one piece of work: plan a run, do one chunk, or finish a run.

        Args:
            owner: Who does it; a name of its own for every process or thread.

        Returns:
            Whether there was any to do.
        """
        ...

    def work(self, stop: Stop) -> int:
        """Do pieces of work until there is none, or until told to stop; give how many."""
        ...
