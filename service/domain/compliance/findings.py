"""Clauses of a code as data, and the findings they give on one deck."""

from collections.abc import Mapping
from dataclasses import field
from enum import StrEnum

from service.domain.record import record


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
    OUTSIDE = "outside"  # clear of the band between two limits, which belong to the band
    REQUIRED = "required"  # something must be there: measured is 1 or 0


class Dimension(StrEnum):
    """What a limit is a limit of, and so what one step of its base is."""

    LENGTH = "length"  # nanometres
    COUNT = "count"
    ANGLE = "angle"  # seconds of arc
    SLOPE = "slope"  # parts in 3 600 000, so that 1:48, 1:20 and 1:12 are whole
    FORCE = "force"  # millinewtons, rounded
    LINE_LOAD = "line_load"  # millinewtons per metre, rounded
    PRESSURE = "pressure"  # pascals, rounded
    SHARE = "share"  # millionths


@record(frozen=True, slots=True)
class Limit:
    """A limit as enacted and as it is compared.

    Attributes:
        value: The number as printed in its original unit, such as "4-3/8".
        unit: Original unit: "in", "mm", "count", ...
        base: The same in the whole steps of its dimension: nanometres, a plain count, ...
            Never from a printed conversion.
        or_less: Attribute of the element that takes the limit's place where it is less, such as
            the width of a stair; "" if none does.
    """

    value: str
    unit: str
    base: int
    dimension: Dimension = Dimension.LENGTH
    or_less: str = ""


@record(frozen=True, slots=True)
class Condition:
    """A number an element must have for a clause to bind it, such as a tread under 11 in."""

    attribute: str
    compare: Comparison
    limits: tuple[Limit, ...]


@record(frozen=True, slots=True)
class Clause:
    """One requirement of one edition.

    Attributes:
        key: Stable key within the file, such as "guard.opening.level".
        section: Section number as that edition prints it.
        rule: The rule in our own words.
        measure: Name of the function that measures it.
        limits: One limit, two for WITHIN and OUTSIDE, none for REQUIRED.
        applies_when: Attributes an element must have for the clause to bind it.
        how_measured: Where and how the value is taken.
        reading: How an unclear text was read.
        source: Where the text was read.
        from_memory: True when the value was not read in any copy.
        named_text_seen: False when only a text built on this code was read, not the code itself.
        editions_seen: Editions whose text was read; another edition is taken as the same.
        conditions: Numbers an element must have, beside the words of applies_when.
        decides: What a need clause decides for the others: "guard" or "handrail", else "".
        decides_by: The attribute it decides by, such as "drop".
        missing: What a request would have to say before the clause could be measured; set
            where the layout can never decide it.
        amended: Who changed the clause from the model code and how, "" if nobody did.
        deleted: True where that change struck it out, so that it binds nothing.
        adopted: Which place adopted it from which day, and how that is known.
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
    editions_seen: tuple[str, ...] = ()
    conditions: tuple[Condition, ...] = ()
    decides: str = ""
    decides_by: str = ""
    missing: str = ""
    amended: str = ""
    deleted: bool = False
    adopted: str = ""


@record(frozen=True, slots=True)
class Amendment:
    """A change of one clause that a place or a caller makes.

    Attributes:
        clause: Key of the clause; it may stand in several of the codes asked for.
        limits: Number and unit of each new limit; empty where the clause is struck out.
        deleted: True to strike it out.
        source: Who says so, in the caller's words.
        code: Code whose clause is meant, "" for any that has it.
        by: Stored set it is from, "" for one sent with a request.
    """

    clause: str
    limits: tuple[tuple[str, str], ...]
    deleted: bool
    source: str
    code: str = ""
    by: str = ""


@record(frozen=True, slots=True)
class Finding:
    """One clause held against one element.

    Attributes:
        element: Name of the section, post, run, stair or "deck".
        measured: In the base of the clause's limits; None if it could not be measured. A value
            between two steps of the base is rounded away from the limit.
        margin: How far inside the limit (negative: outside), same base; 0 just meets a limit
            that includes its own value and just misses one that does not. None if not measured,
            and where nothing is measured against a limit but something must be there.
        note: What the reader should know, such as what is missing.
        limits: The limits this element was held to; empty where they are the clause's own.
    """

    clause: Clause
    element: str
    outcome: Outcome
    measured: int | None
    margin: int | None
    note: str = ""
    limits: tuple[Limit, ...] = ()

    @property
    def held_to(self) -> tuple[Limit, ...]:
        """Limits this element was held to."""
        return self.limits or self.clause.limits
