"""The nightly run of one dealer, kept with the dealer's settings."""

from datetime import date, datetime, time

import orjson

from service.adapters.storage.books import Books
from service.adapters.storage.dealer_settings import Kept, change_setting, read_setting
from service.usecases.conditions import Matches
from service.usecases.repricing.schedule import Attempt, Schedule

KEY = "nightly_run"
_LAST = "nightly_attempt"  # beside the schedule, whose tag it leaves alone


class SqlSchedules:
    """The schedule of one dealer."""

    def __init__(self, books: Books) -> None:
        self._books = books

    def schedule(self) -> Schedule | None:
        """Give the schedule, None where there is none."""
        _, kept, revision = read_setting(self._books, KEY)
        if "at" not in kept:
            return None
        return Schedule(
            at=time.fromisoformat(kept["at"]),
            time_zone=kept["time_zone"],
            run=kept["run"],
            set_at=datetime.fromisoformat(kept["set_at"]),
            revision=revision,
        )

    def revision(self) -> int:
        """Count the changes of what is or was there."""
        return read_setting(self._books, KEY)[2]

    def change(self, new: Schedule | None, at: datetime, matches: Matches | None) -> None:
        """Keep another schedule, or none."""
        kept = (
            {}
            if new is None
            else {
                "at": new.at.isoformat(timespec="minutes"),
                "time_zone": new.time_zone,
                "run": dict(new.run),
                "set_at": new.set_at.isoformat(),
            }
        )
        action = "nightly_run.set" if new else "nightly_run.removed"
        change_setting(self._books, KEY, kept, at, matches, action=action, what="The nightly run")

    def last(self) -> Attempt | None:
        """Give the last attempt to begin a run."""
        return _attempt(read_setting(self._books, _LAST)[1])

    def tried(self, new: Attempt) -> bool:
        """Note an attempt, unless the run of that night has begun or is known to fail already.

        Whoever listens is told of one that failed, so once a night; whether it was noted is given.
        """
        if _settled(self.last(), new):
            return False
        with self._books.writing() as connection:
            connection.execute(self._books.lock_dealer())
            row = connection.execute(self._books.select_dealer()).one()
            settings = orjson.loads(row.settings)
            if _settled(_attempt(settings.get(_LAST, {})), new):
                return False
            settings[_LAST] = {
                "day": new.day.isoformat(),
                "at": new.at.isoformat(),
                "run_id": new.run_id,
                "problem": new.problem,
                "revision": new.revision,
            }
            written = orjson.dumps(settings).decode()
            connection.execute(self._books.update_dealer().values(settings=written))
            if new.problem:
                told = {"problem": new.problem}
                self._books.note(connection, new.at, "nightly_run.failed", new.run_id, **told)
        return True


def _attempt(kept: Kept) -> Attempt | None:
    if not kept:
        return None
    return Attempt(
        date.fromisoformat(kept["day"]),
        datetime.fromisoformat(kept["at"]),
        kept["run_id"],
        kept["problem"],
        kept["revision"],
    )


def _settled(before: Attempt | None, new: Attempt) -> bool:
    """Tell whether an attempt says nothing that is not known of its night."""
    if before is None or before.day < new.day:
        return False
    if before.day > new.day or not before.problem:
        return True
    return before.revision == new.revision and bool(new.problem)
