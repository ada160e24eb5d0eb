"""The dealer's letterhead, kept with the dealer's settings."""

import base64
from dataclasses import replace
from datetime import datetime
from typing import Any

from service.adapters.storage.books import Books
from service.adapters.storage.dealer_settings import Kept, change_setting, read_setting
from service.usecases.conditions import Matches
from service.usecases.letterhead import Letterhead

_KEY = "letterhead"


class SqlLetterhead:
    """The letterhead of one dealer."""

    def __init__(self, books: Books) -> None:
        self._books = books

    def letterhead(self) -> Letterhead:
        """Give what was set, else the dealer's name alone."""
        dealer, kept, revision = read_setting(self._books, _KEY)
        return _read(kept, revision) if kept else Letterhead(dealer)

    def change(self, head: Letterhead, at: datetime, matches: Matches | None = None) -> Letterhead:
        """Keep another letterhead, unless it has changed since it was seen."""
        revision = change_setting(
            self._books,
            _KEY,
            _written(head),
            at,
            matches,
            action="letterhead.changed",
            what="The letterhead",
        )
        return replace(head, revision=revision)


def _written(head: Letterhead) -> dict[str, Any]:
    return {
        "name": head.name,
        "address": list(head.address),
        "contact": list(head.contact),
        "registration": head.registration,
        "footer": head.footer,
        "logo": base64.b64encode(head.logo).decode(),
    }


def _read(kept: Kept, revision: int) -> Letterhead:
    return Letterhead(
        name=kept["name"],
        address=tuple(kept["address"]),
        contact=tuple(kept["contact"]),
        registration=kept["registration"],
        footer=kept["footer"],
        logo=base64.b64decode(kept["logo"]),
        revision=revision,
    )
