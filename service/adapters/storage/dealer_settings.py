"""Settings of a dealer that are replaced whole, each counting its changes."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

import orjson

from service.adapters.storage.books import Books
from service.usecases.conditions import Matches, demand_seen

Kept = Mapping[str, Any]


def read_setting(books: Books, name: str) -> tuple[str, Kept, int]:
    """Give the dealer's name, and a setting with its revision: nothing and 0 before the first."""
    with books.reading() as connection:
        row = connection.execute(books.select_dealer()).one()
    kept = orjson.loads(row.settings).get(name, {})
    return row.name, kept, revision_of(kept)


def change_setting(
    books: Books,
    name: str,
    new: Kept,
    at: datetime,
    matches: Matches | None,
    *,
    action: str,
    what: str,
) -> int:
    """Replace a setting, and give its new revision; the audit trail says so, without its words.

    Raises:
        StaleState: It is not as it was seen.
    """
    with books.writing() as connection:
        row = connection.execute(books.select_dealer().with_for_update()).one()
        settings = orjson.loads(row.settings)
        seen = revision_of(settings.get(name, {}))
        demand_seen(matches, str(seen), what)
        settings[name] = {**new, "revision": seen + 1}
        written = orjson.dumps(settings).decode()
        connection.execute(books.update_dealer().values(settings=written))
        books.note(connection, at, action, name)
    return seen + 1


def revision_of(kept: Kept) -> int:
    """Give the revision of a setting; those of before revisions were counted have the first."""
    return int(kept.get("revision", 1)) if kept else 0
