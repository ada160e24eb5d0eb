"""What a run reads and writes of one quote, as records; a run makes a million of them."""

from datetime import date
from typing import NamedTuple

from service.usecases.repricing.records import Outcome


class Candidate(NamedTuple):
    """A quote that a run looks at.

    Attributes:
        total_minor: In minor units.
        decided, valid_until, version, series, revision: Of its life.
        newer: Id of the revision after it, None for none.
        rules, material_of, lines: Of its order, None where none is kept.
        material: Lines of the order whose material it has, None where that is its own.
    """

    id: str
    currency: str
    total_minor: int
    decided: str
    valid_until: date | None
    version: int
    series: str
    revision: int
    newer: str | None
    rules: str
    material_of: str
    lines: str
    material: str | None


class Result(NamedTuple):
    """What came of one quote, in minor units.

    Attributes:
        revision_id: None where no revision is written.
        margin_ppm: None where no cost is known.
    """

    quote_id: str
    outcome: Outcome
    before: int
    currency: str
    after: int | None = None
    revision_id: str | None = None
    margin_ppm: int | None = None
    under_floor: bool = False
    detail: str = ""


class Revised(NamedTuple):
    """A revision that a run writes.

    Attributes:
        quote: Which it revises.
        amounts: Of the lines of its order, as text.
    """

    result: Result
    quote: Candidate
    amounts: str = ""
