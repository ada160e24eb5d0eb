"""Candidates of a run told apart: those it may revise, and those that were closed meanwhile."""

from collections.abc import Iterator, Sequence
from datetime import datetime

from sqlalchemy import Connection

from service.adapters.storage.books import Books
from service.adapters.storage.light_records import Candidate
from service.adapters.storage.run_candidates import made_since
from service.usecases.repricing.records import Run


def sorted_out(
    books: Books, connection: Connection, run: Run, rows: Sequence[Candidate], at: datetime
) -> Iterator[tuple[Candidate, str]]:
    """Give each candidate with what closed it since the run began, "" where it is open.

    One that was revised before the run began is none of its candidates.
    """
    newer = [row.newer for row in rows if row.newer is not None]
    overtaken = made_since(books, connection, newer, run.planned_to)
    states = {state.value for state in run.wish.which.states}
    today = at.date()
    for row in rows:
        if row.newer is not None:
            if row.newer in overtaken:
                yield row, "revised"
        elif row.decided not in states:
            yield row, row.decided
        elif row.valid_until is not None and row.valid_until < today:
            yield row, "expired"
        else:
            yield row, ""
