"""The dealer's letterhead, kept with the dealer's settings."""

import base64
from datetime import datetime
from typing import Any

import orjson

from service.adapters.storage.books import Books
from service.usecases.letterhead import Letterhead

_KEY = "letterhead"


class SqlLetterhead:
    """The letterhead of one dealer."""

    def __init__(self, books: Books) -> None:
        self._books = books

    def letterhead(self) -> Letterhead:
        """Give what was set, else the dealer's name alone."""
        with self._books.reading() as connection:
            row = connection.execute(self._books.select_dealer()).one()
        kept = orjson.loads(row.settings).get(_KEY)
        return _read(kept) if kept else Letterhead(row.name)

    def change(self, head: Letterhead, at: datetime) -> None:
        """Keep another letterhead; the audit trail says so, without its words."""
        with self._books.writing() as connection:
            row = connection.execute(self._books.select_dealer().with_for_update()).one()
            settings = orjson.loads(row.settings) | {_KEY: _written(head)}
            written = orjson.dumps(settings).decode()
            connection.execute(self._books.update_dealer().values(settings=written))
            self._books.note(connection, at, "letterhead.changed", _KEY)


def _written(head: Letterhead) -> dict[str, Any]:
    return {
        "name": head.name,
        "address": list(head.address),
        "contact": list(head.contact),
        "registration": head.registration,
        "footer": head.footer,
        "logo": base64.b64encode(head.logo).decode(),
    }


def _read(kept: dict[str, Any]) -> Letterhead:
    return Letterhead(
        name=kept["name"],
        address=tuple(kept["address"]),
        contact=tuple(kept["contact"]),
        registration=kept["registration"],
        footer=kept["footer"],
        logo=base64.b64decode(kept["logo"]),
    )
