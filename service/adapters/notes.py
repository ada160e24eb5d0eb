"""What the layout and the take-off have to say of themselves, on paper and in tables."""

from collections.abc import Mapping
from typing import Any

from service.spoken_lengths import all_in_units

Json = Mapping[str, Any]


def notes_of(quote: Json) -> tuple[str, ...]:
    """Give what the layout and the take-off have to say, in the quote's units."""
    said = (*quote["layout"]["notes"], *quote["takeoff"]["notes"])
    return tuple(all_in_units(said, quote["units"]))
