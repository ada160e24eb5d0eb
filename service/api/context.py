"""What the views work with: the ports, the bounds and the outside facts of a request."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any, Protocol, cast
from uuid import uuid4

from flask import current_app, request
from marshmallow import Schema

from service.api.body import JSON, read_json
from service.api.schemas.outlines import drawings_read_by
from service.domain.structure.materials import Materials
from service.settings import Settings
from service.usecases.callers import Caller, Gate
from service.usecases.letterhead import Letterheads
from service.usecases.ports import (
    CodeLibrary,
    OutlineReader,
    QuoteLives,
    Quotes,
    Replays,
    Saw,
    Shelf,
)
from service.usecases.print_quote import Printer
from service.usecases.quote_railing import Press
from service.usecases.sheets import DeckReader, TakeoffReader
from service.usecases.watching import UNWATCHED, Watch

Sheet = Callable[[Any, str], bytes]
"""Writes a document out of a quote as it was answered; the text is the dealer's name."""


class Database(Protocol):
    """The engine behind the ports, as far as health and the web server care."""

    def dispose(self, close: bool = True) -> None:
        """Forget the connections."""
        ...


@dataclass(frozen=True, slots=True)
class Stores:
    """What is kept of one dealer, opened for one caller.

    Attributes:
        lives: What is decided about quotes.
        shelf: Offcuts on hand.
        replays: Answers by idempotency key.
        letterheads: What the dealer's papers carry.
    """

    quotes: Quotes
    lives: QuoteLives
    shelf: Shelf
    replays: Replays
    letterheads: Letterheads


@dataclass(frozen=True, slots=True)
class Context:
    """Everything an instance of the service was built from.

    Attributes:
        materials: Alloys, timber and screws held.
        gate: Tells callers by their keys.
        open_stores: Opens what is kept of a caller's dealer.
        press: Writes quotes down.
        printer: Prints them.
        check_database: Raises when the database cannot serve.
        read_outline: Reads outlines from drawings.
        sheets: What writes documents, by their names.
        read_edges: Reads decks from sheets of edges.
        read_takeoff: Reads take-offs from sheets.
        watch: Looks on at the stages of a quote.
        now: The clock; the only one there is.
        new_id: Gives the id of what is stored next.
    """

    settings: Settings
    engine: Database
    codes: CodeLibrary
    materials: Materials
    gate: Gate
    open_stores: Callable[[Caller], Stores]
    saw: Saw
    press: Press
    printer: Printer
    check_database: Callable[[], None]
    read_outline: OutlineReader
    sheets: Mapping[str, Sheet]
    read_edges: DeckReader
    read_takeoff: TakeoffReader
    watch: Watch = UNWATCHED
    now: Callable[[], datetime] = lambda: datetime.now(UTC)
    new_id: Callable[[], str] = lambda: str(uuid4())


def context() -> Context:
    """Give the context of the application that answers."""
    return cast(Context, current_app.extensions["evenbay"])


def load(schema: Schema) -> tuple[bytes, Any]:
    """Read the request's body by a schema: its bytes and the order it makes."""
    raw, content = body()
    return raw, understand(schema, content)


def body(media_type: str = JSON) -> tuple[bytes, Any]:
    """Read the request's body: its bytes and what they say."""
    settings = context().settings
    return read_json(
        request,
        max_bytes=settings.max_body_bytes,
        max_nesting=settings.max_nesting,
        media_type=media_type,
    )


def understand(schema: Schema, content: Any) -> Any:
    """Give the order that a body's content makes, drawings in it read."""
    with drawings_read_by(context().read_outline):
        return schema.load(content)


def today() -> date:
    """Give the day of the clock, in UTC."""
    return context().now().date()
