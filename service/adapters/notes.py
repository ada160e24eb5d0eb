"""What the layout and the take-off have to say of themselves, for people who tape in inches."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from service.domain.lengths import MILLIMETRE
from service.quantities import length_text
from service.usecases.orders import Units

Json = Mapping[str, Any]

_MILLIMETRES = re.compile(r"(?<![0-9.])([0-9]{1,9}(?:\.[0-9]{1,6})?) mm\b")


def in_units(sentence: str, units: str) -> str:
    """Give the lengths of a sentence as people tape them, the millimetres behind them.

    Sentences of the layout tell lengths in millimetres; a tape in feet and inches has none.

    Example:
        >>> print(in_units("It is 9.5 mm from the edge.", "imperial"))
        It is 3/8" (9.5 mm) from the edge.
        >>> in_units("It is 9.5 mm from the edge.", "metric")
        'It is 9.5 mm from the edge.'
    """
    if units != Units.IMPERIAL.value:
        return sentence

    def taped(found: re.Match[str]) -> str:
        length_nm = round(Decimal(found[1]) * MILLIMETRE)
        return f"{length_text(length_nm, Units.IMPERIAL)} ({found[0]})"

    return _MILLIMETRES.sub(taped, sentence)


def notes_of(quote: Json) -> tuple[str, ...]:
    """Give what the layout and the take-off have to say, in the quote's units."""
    said = (*quote["layout"]["notes"], *quote["takeoff"]["notes"])
    return tuple(in_units(sentence, quote["units"]) for sentence in said)
