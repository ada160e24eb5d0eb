"""What a run writes of one quote, as records; a run makes a million of them."""

from datetime import date
from typing import NamedTuple

from service.usecases.repricing.records import Outcome


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
    """What a revision is told and ordered by, beside its result.

    Attributes:
        decided, valid_until, version, series, revision: Of the quote it revises.
        rules, material_of: Likewise.
        lines: Of its order, with the new amounts.
    """

    result: Result
    decided: str
    valid_until: date | None
    version: int
    series: str
    revision: int
    rules: str
    material_of: str
    lines: str
