"""What a screening says: one check of one kind on the elements it covers."""

from dataclasses import dataclass
from enum import StrEnum


class Unit(StrEnum):
    """What a figure is; the value is the unit it is held in."""

    FORCE = "N"
    LENGTH = "mm"
    STRESS = "MPa"
    MOMENT = "N mm"
    LINE_LOAD = "N/mm"
    PRESSURE = "Pa"
    AREA = "mm2"
    MODULUS = "mm3"
    SECOND_MOMENT = "mm4"
    SPEED = "m/s"
    ANGLE = "deg"
    NUMBER = "1"


class CheckOutcome(StrEnum):
    """Three outcomes; a check that could not be made says what is missing."""

    OK = "ok"
    OVER = "over"
    NOT_ASSESSED = "not_assessed"


@dataclass(frozen=True, slots=True)
class Figure:
    """A named value, such as h = 914.4 mm.

    Attributes:
        name: As the formula has it.
        meaning: In a few words.
    """

    name: str
    meaning: str
    value: float
    unit: Unit


@dataclass(frozen=True, slots=True)
class Check:
    """One formula held against one limit, for all the elements it covers.

    Attributes:
        name: What is checked, such as "post bending".
        load: The load it is made for, in words; "" where none enters.
        elements: Names of everything it covers.
        worst: Names of those the figures belong to, the worst of the elements.
        formula: Plain text, in the names of the inputs.
        inputs: What went in.
        result: What came out; None if it could not be computed.
        limit: What it is held against; None likewise.
        utilisation: Result over limit (or the reverse where more is better); None likewise.
        outcome: Over as soon as the utilisation passes one.
        source: Where formula and limit come from.
        assumptions: What was taken for granted.
        missing: What the request would have to say; "" if nothing.
        clauses: Load clauses it decides, such as "IRC 2021 load.guard.top"; empty for house
            checks, which no code in force asks for.
    """

    name: str
    load: str
    elements: tuple[str, ...]
    worst: tuple[str, ...]
    formula: str
    inputs: tuple[Figure, ...]
    result: Figure | None
    limit: Figure | None
    utilisation: float | None
    outcome: CheckOutcome
    source: str
    assumptions: tuple[str, ...] = ()
    missing: str = ""
    clauses: tuple[str, ...] = ()


def outcome_of(utilisation: float) -> CheckOutcome:
    """Judge a utilisation; exactly one is all right.

    Example:
        >>> outcome_of(1.0).value, outcome_of(1.0001).value
        ('ok', 'over')
    """
    return CheckOutcome.OK if utilisation <= 1 else CheckOutcome.OVER
