"""Begins the nightly runs whose hour has struck; any number may look, each run begins once."""

import logging
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import Engine

from service.adapters.storage.books import Books
from service.adapters.storage.price_tables import SqlPriceTables
from service.adapters.storage.rounds import dealers_with_schedule
from service.adapters.storage.runs import SqlRuns
from service.adapters.storage.schedules import SqlSchedules
from service.usecases.outages import StoreUnavailable
from service.usecases.repricing.records import Run, RunWish
from service.usecases.repricing.schedule import (
    Attempt,
    Schedule,
    due_day,
    problem_of,
    run_id_of,
)
from service.usecases.repricing.steer import begin_run

WHO = "nightly run"
ReadWish = Callable[[Mapping[str, Any], date], RunWish]
Night = tuple[date, int]  # and the revision of the schedule
_log = logging.getLogger("service")


@dataclass
class Nights:
    """Looks at the schedules of every dealer.

    Attributes:
        engine: The database.
        read: Reads what a schedule asks for, for a day.
        now: The clock.
    """

    engine: Engine
    read: ReadWish
    now: Callable[[], datetime] = lambda: datetime.now(UTC)
    _seen: dict[str, Night] = field(default_factory=dict)

    def begin_due(self) -> int:
        """Begin what is due, and give how many runs this looker saw begin.

        A run that cannot begin is told of once a night, to its dealer too, and keeps no other
        dealer's.
        """
        begun = 0
        for dealer in dealers_with_schedule(self.engine):
            try:
                begun += self._begin(dealer)
            except StoreUnavailable:
                raise
            except Exception as error:
                _log.error("a nightly run of %s cannot begin: %s", dealer, type(error).__name__)
        return begun

    def _begin(self, dealer: str) -> bool:
        books, at = Books(self.engine, dealer, WHO), self.now()
        schedules = SqlSchedules(books)
        schedule = schedules.schedule()
        day = due_day(schedule, at) if schedule else None
        if schedule is None or day is None or self._seen.get(dealer) == (day, schedule.revision):
            return False
        self._seen[dealer] = (day, schedule.revision)
        tried = Attempt(day, at, run_id_of(dealer, day), "", schedule.revision)
        try:
            try:
                run = self._run(books, schedule, tried)
            except StoreUnavailable:
                raise
            except Exception as error:
                schedules.tried(replace(tried, problem=problem_of(error)))
                raise
            schedules.tried(replace(tried, at=run.created_at))
        except StoreUnavailable:
            del self._seen[dealer]  # tried again
            raise
        return run.created_at == at

    def _run(self, books: Books, schedule: Schedule, tried: Attempt) -> Run:
        return begin_run(
            self.read(schedule.run, tried.day),
            run_id=tried.run_id,
            runs=SqlRuns(books),
            price_tables=SqlPriceTables(books),
            at=tried.at,
        )
