"""The nightly run of one dealer, kept with the dealer's settings."""

from datetime import datetime, time

from service.adapters.storage.books import Books
from service.adapters.storage.dealer_settings import change_setting, read_setting
from service.usecases.conditions import Matches
from service.usecases.repricing.schedule import Schedule

KEY = "nightly_run"


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
