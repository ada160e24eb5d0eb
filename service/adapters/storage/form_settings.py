"""The settings of a dealer's quote form, kept with the dealer's settings."""

from dataclasses import replace
from datetime import datetime

from service.adapters.storage.books import Books
from service.adapters.storage.dealer_settings import change_setting, read_setting
from service.usecases.conditions import Matches
from service.usecases.form_settings import FormSettings
from service.usecases.orders import Units

_KEY = "form"


class SqlForms:
    """The form settings of one dealer."""

    def __init__(self, books: Books) -> None:
        self._books = books

    def settings(self) -> FormSettings:
        """Give what was set, else settings that are not ready."""
        _, kept, revision = read_setting(self._books, _KEY)
        if not kept:
            return FormSettings()
        return FormSettings(kept["heading"], Units(kept["units"]), kept["fixed"], revision)

    def change(
        self, settings: FormSettings, at: datetime, matches: Matches | None = None
    ) -> FormSettings:
        """Keep other settings, unless they have changed since they were seen."""
        new = {
            "heading": settings.heading,
            "units": settings.units.value,
            "fixed": dict(settings.fixed),
        }
        revision = change_setting(
            self._books, _KEY, new, at, matches, action="form.changed", what="The quote form"
        )
        return replace(settings, revision=revision)
