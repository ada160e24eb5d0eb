"""Clauses of a code as data, and the findings they give on one deck."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class Outcome(StrEnum):
    """Silence never reads as approval: what could not be judged says so."""

    MET = "met"
    NOT_MET = "not_met"
    NOT_APPLICABLE = "not_applicable"
    NOT_ASSESSED = "not_assessed"


class Comparison(StrEnum):
    """How a measured value must stand to its limit, strict or not as enacted."""

    AT_LEAST = "at_least"
    AT_MOST = "at_most"
    MORE_THAN = "more_than"
    LESS_THAN = "less_than"
    WITHIN = "within"  # between two limits, both included
    REQUIRED = "required"  # something must be there: measured is 1 or 0


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit as enacted and as it is compared.

    Attributes:
        value: The number as printed in its original unit, such as "4-3/8".
        unit: Original unit: "in", "mm", "count", ...
        base: The same in nanometres, or a plain count. Never from a printed conversion.
    """

    value: str
    unit: str
    base: int


@dataclass(frozen=True, slots=True)
class Clause:
    """One requirement of one edition.

    Attributes:
        key: Stable key within the file, such as "guard.opening.level".
        section: Section number as that edition prints it.
        rule: The rule in our own words.
        measure: Name of the function that measures it.
        limits: One limit, two for WITHIN, none for REQUIRED.
        applies_when: Attributes an element must have for the clause to bind it.
        how_measured: Where and how the value is taken.
        reading: How an unclear text was read.
        source: Where the text was read.
        from_memory: True when the value was not read in any copy.
    """

    key: str
    code: str
    edition: str
    section: str
    rule: str
    measure: str
    compare: Comparison
    limits: tuple[Limit, ...]
    source: str
    from_memory: bool
    applies_when: Mapping[str, str] = field(default_factory=dict)
    exceptions: str = ""
    how_measured: str = ""
    reading: str = ""
    named_text_seen: bool = True


@dataclass(frozen=True, slots=True)
class Finding:
    """One clause held against one element.

    Attributes:
        element: Name of the section, post, run, stair or "deck".
        measured: In the clause's base (nanometres or count); None if it could not be measured.
        margin: How far inside the limit (negative: outside), same base; None if not measured.
        note: What the reader should know, such as what is missing.
    """

    clause: Clause
    element: str
    outcome: Outcome
    measured: int | None
    margin: int | None
    note: str = ""
