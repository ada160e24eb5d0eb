"""The settings of a dealer's quote form, kept with the dealer's settings."""

from datetime import datetime

import orjson

from service.adapters.storage.books import Books
from service.usecases.form_settings import FormSettings
from service.usecases.orders import Units

_KEY = "form"


class SqlForms:
    """The form settings of one dealer."""

    def __init__(self, books: Books) -> None:
        self._books = books

    def settings(self) -> FormSettings:
        """Give what was set, else settings that are not ready."""
        with self._books.reading() as connection:
            row = connection.execute(self._books.select_dealer()).one()
        kept = orjson.loads(row.settings).get(_KEY)
        if not kept:
            return FormSettings()
        return FormSettings(kept["heading"], Units(kept["units"]), kept["fixed"])

    def change(self, settings: FormSettings, at: datetime) -> None:
        """Keep other settings; the audit trail says so."""
        new = {"heading": settings.heading, "units": settings.units.value}
        with self._books.writing() as connection:
            row = connection.execute(self._books.select_dealer().with_for_update()).one()
            kept = orjson.loads(row.settings) | {_KEY: {**new, "fixed": dict(settings.fixed)}}
            written = orjson.dumps(kept).decode()
            connection.execute(self._books.update_dealer().values(settings=written))
            self._books.note(connection, at, "form.changed", _KEY)
