"""What a dealer's quote form on the web works with."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Protocol

from service.usecases.conditions import Matches
from service.usecases.orders import Units

FIXED = ("system", "price_table", "pricing", "code")


@dataclass(frozen=True, slots=True)
class FormSettings:
    """The dealer's part of every order that the form makes; the visitor's part is the deck.

    Attributes:
        heading: Over the form, in the dealer's words; empty for the service's own.
        units: How lengths are printed.
        fixed: The members of an order that the dealer settles, as they would be sent; what is
            kept is named, and its version left open unless the dealer pins it.
        revision: Counts their changes; 0 before the first.
    """

    heading: str = ""
    units: Units = Units.IMPERIAL
    fixed: Mapping[str, Any] = field(default_factory=dict)
    revision: int = 0

    @property
    def ready(self) -> bool:
        """Tell whether the form can estimate anything."""
        return bool(self.fixed)


class Forms(Protocol):
    """Where a dealer's form settings are kept."""

    def settings(self) -> FormSettings:
        """Give what was set, else settings that are not ready."""
        ...

    def change(
        self, settings: FormSettings, at: datetime, matches: Matches | None = None
    ) -> FormSettings:
        """Keep other settings, and give them with their revision.

        Raises:
            StaleState: Those there are are not those that were seen.
        """
        ...
