"""Lengths within sentences, for people who tape in inches.

The core tells lengths in millimetres, exactly. Whatever leaves the service, an answer, a refusal
or a paper, tells them in the units of the job, with the exact millimetres behind.
"""

import re
from collections.abc import Iterable
from decimal import Decimal

from service.domain.lengths import MILLIMETRE
from service.quantities import length_text
from service.usecases.orders import Units

# None that stands in brackets behind a length in inches: it was told in the units before.
_MILLIMETRES = re.compile(r"(?<![0-9.])(?<![\"'] \()([0-9]{1,9}(?:\.[0-9]{1,6})?) mm\b")


def in_units(sentence: str, units: str) -> str:
    """Give the lengths of a sentence as people tape them, the millimetres behind them.

    A sentence that was told so before stays as it is.

    Example:
        >>> print(in_units("It is 9.5 mm from the edge.", "imperial"))
        It is 3/8" (9.5 mm) from the edge.
        >>> print(in_units('It is 3/8" (9.5 mm) from the edge.', "imperial"))
        It is 3/8" (9.5 mm) from the edge.
        >>> in_units("It is 9.5 mm from the edge.", "metric")
        'It is 9.5 mm from the edge.'
    """
    if units != Units.IMPERIAL.value or " mm" not in sentence:
        return sentence

    def taped(found: re.Match[str]) -> str:
        length_nm = round(Decimal(found[1]) * MILLIMETRE)
        return f"{length_text(length_nm, Units.IMPERIAL)} ({found[0]})"

    return _MILLIMETRES.sub(taped, sentence)


def all_in_units(sentences: Iterable[str], units: str) -> list[str]:
    """Give sentences with their lengths as people tape them."""
    return [in_units(sentence, units) for sentence in sentences]
