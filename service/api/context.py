"""What the views work with: the ports, the bounds and the outside facts of a request."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from threading import Semaphore
from time import sleep
from typing import Any, Protocol, cast
from uuid import uuid4

import orjson
from flask import current_app, g, request
from marshmallow import Schema

from service.api.body import JSON, read_json
from service.api.loaded import LoadedVersions
from service.api.references import Pinned, pin
from service.api.schemas.outlines import drawings_read_by
from service.api.schemas.requests import Prices
from service.api.schemas.stored import kept_is
from service.api.scopes import guard_costs
from service.api.units import note_units, units_sent
from service.domain.layout.records import Layout
from service.domain.structure.materials import Materials
from service.settings import Settings
from service.usecases.callers import Caller, Gate
from service.usecases.catalogue import Catalogue, PriceTables
from service.usecases.events import Events, Webhooks
from service.usecases.form_settings import Forms
from service.usecases.key_ring import KeyRing
from service.usecases.letterhead import Letterheads
from service.usecases.orders import QuoteOrder, Units
from service.usecases.ports import (
    CodeLibrary,
    OutlineReader,
    QuoteLives,
    Quotes,
    Replays,
    Saw,
    Shelf,
)
from service.usecases.price_repriced import TableOf
from service.usecases.price_sheets import PriceReader, PriceWriter
from service.usecases.print_quote import Printer
from service.usecases.quote_railing import Press
from service.usecases.rates import Rates
from service.usecases.repricing.ports import Runs
from service.usecases.repricing.records import RunResult
from service.usecases.repricing.schedule import Schedules
from service.usecases.sheets import DeckReader, TakeoffReader
from service.usecases.standing import OFFERED, Standing
from service.usecases.watching import UNWATCHED, Watch


@dataclass(frozen=True, slots=True)
class Beside:
    """What documents tell of a quote that is not in its answer."""

    dealer: str = ""
    standing: Standing = OFFERED


Sheet = Callable[[Any, Beside], bytes]
"""Writes a document out of a quote as it was answered; the text is the dealer's name."""


class ResultWriter(Protocol):
    """Writes results of a re-pricing run."""

    def __call__(self, results: Sequence[RunResult], *, costs: bool, heading: bool) -> bytes:
        """Give rows, with or without what tells of costs, and with or without headings."""
        ...


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
        keys: The dealer's keys, and the trail of changes.
        letterheads: What the dealer's papers carry.
        catalogue: Railing systems, pricing rules and amendments.
        table_of: Gives a version of a price table, perhaps loaded before.
        forms: What the dealer's quote form works with.
        webhooks: Endpoints that events are sent to.
        runs: Re-pricing runs.
        schedules: The run that begins every night.
    """

    quotes: Quotes
    lives: QuoteLives
    shelf: Shelf
    replays: Replays
    keys: KeyRing
    letterheads: Letterheads
    catalogue: Catalogue
    price_tables: PriceTables
    table_of: TableOf
    forms: Forms
    events: Events
    webhooks: Webhooks
    runs: Runs
    schedules: Schedules


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
        price_readers: Reads prices from sheets, by media type.
        price_writers: Writes them.
        sketch: Draws a small plan, SVG.
        write_results: Writes results of re-pricing runs.
        hint: Tells workers, by dealer and id, that a run waits for them; nobody waits for it.
        watch: Looks on at the stages of a quote.
        loaded: What stored versions loaded into before.
        rates: Counts requests, None to count none.
        now: The clock; the only one there is.
        new_id: Gives the id of what is stored next.
        pause: Waits for some seconds.
        leaving: Tells that this process is asked to end soon.
        streams: How many requests may stream at once, so that threads are left to others.
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
    price_readers: Mapping[str, PriceReader]
    price_writers: Mapping[str, PriceWriter]
    sketch: Callable[[Layout, Units], bytes]
    write_results: ResultWriter
    hint: Callable[[str, str], None]
    watch: Watch = UNWATCHED
    loaded: LoadedVersions = field(default_factory=LoadedVersions)
    rates: Rates | None = None
    now: Callable[[], datetime] = lambda: datetime.now(UTC)
    new_id: Callable[[], str] = lambda: str(uuid4())
    pause: Callable[[float], None] = sleep
    leaving: Callable[[], bool] = lambda: False
    streams: Semaphore = field(default_factory=lambda: Semaphore(1))


def context() -> Context:
    """Give the context of the application that answers."""
    return cast(Context, current_app.extensions["evenbay"])


def load(schema: Schema) -> tuple[bytes, Any]:
    """Read the request's body by a schema: its bytes and the order it makes.

    A body that names what is kept is given with the versions pinned that it was read with.
    """
    return load_sent(schema, *body())


def load_sent(schema: Schema, raw: bytes, content: Any) -> tuple[bytes, Any]:
    """Give the bytes and the order of JSON that was sent, by its bytes and what they say."""
    pinned = pin(content, g.get("stores"), context().loaded, today())
    return orjson.dumps(pinned.content) if pinned.inputs else raw, _asked(schema, pinned)


def load_content(schema: Schema, content: Any) -> tuple[bytes, Any]:
    """Give the bytes and the order of content that came in another form than a JSON body."""
    pinned = pin(content, g.get("stores"), context().loaded, today())
    return orjson.dumps(pinned.content), _asked(schema, pinned)


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
    """Give the order that a body makes which was read before, and pinned then."""
    return _order(schema, _pinned_before(content))


def reread(schema: Schema, content: Any, *, defaults: bool) -> tuple[bytes, Any]:
    """Give the bytes and the order of a body that was pinned before and was changed since.

    Args:
        schema: Of the body.
        content: The body.
        defaults: Whether its place is another one, whose default amendments apply.
    """
    pinned = _pinned_before(content, defaults=defaults)
    return orjson.dumps(pinned.content), _asked(schema, pinned)


def reordered(schema: Schema, content: Any) -> tuple[bytes, Any]:
    """Give the bytes and the order of a body pinned before and changed at no caller's wish."""
    pinned = _pinned_before(content)
    return orjson.dumps(pinned.content), _order(schema, pinned)


def _pinned_before(content: Any, *, defaults: bool = False) -> Pinned:
    return pin(content, g.get("stores"), context().loaded, today(), defaults=defaults)


def _asked(schema: Schema, body: Pinned) -> Any:
    """Load a body that a caller sends, who may see what comes of it."""
    order = _order(schema, body)
    if isinstance(order, QuoteOrder | Prices):
        guard_costs(order.pricing, {kind for kind, _, _ in body.things})
    return order


def _order(schema: Schema, body: Pinned) -> Any:
    """Load a body, drawings in it read and references found."""
    note_units(units_sent(schema, body.content))
    with drawings_read_by(context().read_outline), kept_is(body.things):
        order = schema.load(body.content)
    if isinstance(order, QuoteOrder):
        note_units(order.units)
    return replace(order, stored=tuple(body.things)) if isinstance(order, QuoteOrder) else order


def today() -> date:
    """Give the day of the clock, in UTC."""
    return context().now().date()
