"""What a survey reports of itself: how well the tape readings of a level agree."""

from dataclasses import dataclass
from enum import StrEnum


class SurveyMethod(StrEnum):
    """How a level was taped."""

    SIDES = "sides"  # sides and the turns between them, closed by the compass rule
    TAPES = "tapes"  # sides and diagonals, adjusted by least squares


@dataclass(frozen=True, slots=True)
class DrawnOutline:
    """Corners and arcs of an outline.

    Attributes:
        vertices: (n, 2) in order, not closed. [nm]
        sagittas_nm: (n,) of the arc from each corner to the next, positive where it bulges away
            from the deck; empty where every edge is straight. [nm]
    """

    vertices: tuple[tuple[int, int], ...]
    sagittas_nm: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class TapeResidual:
    """How one tape agrees with the others.

    Attributes:
        tape: Its corners, such as "A-C".
        residual_nm: Taped minus adjusted length. [nm]
        standardised_nm: The residual at the size it would have if no tape checked another, so
            that tapes can be compared: the residual over the square root of its redundancy.
            None where no other tape checks this one. [nm]
        off_nm: Taped minus what the other tapes alone make of it; None as above. [nm]
    """

    tape: str
    residual_nm: int
    standardised_nm: int | None
    off_nm: int | None


@dataclass(frozen=True, slots=True)
class SurveyReport:
    """How well the readings of one level agree.

    Attributes:
        level: Name of the level.
        method: Sides and turns, or tapes.
        misclosure_nm: Of sides, how far the last one ends from the start; of tapes, the largest
            standardised residual. None where nothing checks anything. [nm]
        precision: n of "1 : n", the perimeter over the misclosure; None without a misclosure, or
            where it is less than a nanometre.
        residuals: One for each tape, in the caller's order; empty for sides.
    """

    level: str
    method: SurveyMethod
    misclosure_nm: int | None
    precision: int | None
    residuals: tuple[TapeResidual, ...] = ()


def precision_of(perimeter_nm: int, misclosure_nm: int) -> int | None:
    """Give n of the precision 1 : n; None where nothing is missing.

    Example:
        >>> precision_of(1_000_000, 250)
        4000
    """
    return round(perimeter_nm / misclosure_nm) if misclosure_nm else None
