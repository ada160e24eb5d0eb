"""Builds the application: adapters, resources and refusals."""

from collections.abc import Callable, Mapping
from datetime import timedelta
from functools import cache, partial
from threading import Semaphore
from typing import Any

import orjson
from flask import Flask, Response
from flask.json.provider import JSONProvider
from sqlalchemy import Engine
from sqlalchemy.exc import TimeoutError as PoolTimeout

from service.adapters.code_library import open_library
from service.adapters.documents import cut_bars_svg, drawing_dxf
from service.adapters.documents.drawing_svg import render
from service.adapters.documents.plan_sketch import sketch
from service.adapters.documents.prints import print_document
from service.adapters.dxf_outline import read_outline
from service.adapters.rates import CountedRates
from service.adapters.sheets import (
    csv_text,
    price_csv,
    price_workbook,
    quote_ubl,
    quote_xlsx,
    run_results,
    tables,
)
from service.adapters.sheets.edge_sheet import read_edges
from service.adapters.sheets.takeoff_sheet import read_takeoff
from service.adapters.solver.saw import Saw
from service.adapters.storage.books import Books
from service.adapters.storage.catalogue import SqlCatalogue
from service.adapters.storage.engine import connect
from service.adapters.storage.events import SqlEvents
from service.adapters.storage.form_settings import SqlForms
from service.adapters.storage.key_ring import SqlKeyRing
from service.adapters.storage.keys import SqlGate, dealer_of
from service.adapters.storage.letterheads import SqlLetterhead
from service.adapters.storage.page_origins import PageOrigins
from service.adapters.storage.price_tables import SqlPriceTables
from service.adapters.storage.quote_lives import SqlQuoteLives
from service.adapters.storage.readiness import check_ready
from service.adapters.storage.replays import SqlReplays
from service.adapters.storage.repositories import SqlQuotes
from service.adapters.storage.runs import SqlRuns
from service.adapters.storage.schedules import SqlSchedules
from service.adapters.storage.shelf import SqlShelf
from service.adapters.storage.webhooks import SqlWebhooks
from service.adapters.structure_library import open_structure_library
from service.adapters.telemetry import requests as telemetry
from service.adapters.telemetry.metrics import Metrics
from service.adapters.telemetry.stages import StageWatch
from service.adapters.telemetry.traces import open_traces
from service.adapters.workers.hints import open_hint
from service.api import (
    amendment_sets,
    bulk_quotes,
    code_checks,
    codes,
    cut_plans,
    document,
    documents_pdf,
    estimates,
    estimates_by_address,
    events,
    form_page,
    form_settings,
    health,
    keys,
    layouts,
    letterhead,
    manners,
    offcuts,
    price_comparisons,
    price_sheets,
    price_tables,
    price_versions,
    pricing_rules,
    problems,
    quote_documents,
    quote_lists,
    quote_revisions,
    quote_states,
    quotes,
    repricing_results,
    repricing_runs,
    repricing_schedule,
    sheets,
    systems,
    takeoffs,
    webhooks,
)
from service.api.context import Context, Sheet, Stores
from service.api.loaded import LoadedVersions, stored_table
from service.api.manners.cors import listed
from service.api.presenters.quote import QuotePress
from service.api.quote_forms import CSV, XLSX
from service.settings import Settings
from service.usecases.callers import Caller, Gate
from service.usecases.quote_railing import Press
from service.usecases.write_repriced import WholeQuotes

RESOURCES = (
    quotes,
    bulk_quotes,
    quote_lists,
    quote_states,
    quote_revisions,
    quote_documents,
    price_comparisons,
    layouts,
    code_checks,
    codes,
    takeoffs,
    sheets,
    cut_plans,
    offcuts,
    documents_pdf,
    letterhead,
    systems,
    pricing_rules,
    amendment_sets,
    price_tables,
    price_versions,
    price_sheets,
    repricing_runs,
    repricing_results,
    repricing_schedule,
    estimates,
    estimates_by_address,
    form_settings,
    keys,
    events,
    webhooks,
    health,
)

SHEETS: Mapping[str, Sheet] = {
    "lines.csv": lambda quote, _beside: csv_text.render(tables.lines_table(quote)),
    "estimate.csv": lambda estimate, _beside: csv_text.render(tables.estimate_table(estimate)),
    "takeoff.csv": lambda quote, _beside: csv_text.render(tables.takeoff_table(quote)),
    "cut-list.csv": lambda quote, _beside: csv_text.render(tables.cuts_table(quote)),
    "findings.csv": lambda quote, _beside: csv_text.render(tables.findings_sheet(quote)),
    "cut-bars.svg": lambda quote, _beside: cut_bars_svg.render(quote),
    "quote.xlsx": lambda quote, beside: quote_xlsx.render(quote, beside.standing.sentence),
    "quote.xml": lambda quote, beside: quote_ubl.render(quote, seller=beside.dealer),
}


class Service(Flask):
    """Leaves the logging of failures to the problems, which print the incident beside it."""

    def log_exception(self, exc_info: Any) -> None:
        """Log nothing here."""

    def ensure_sync(self, func: Callable[..., Any]) -> Callable[..., Any]:
        """Take every function as it is: none is a coroutine, and to look takes its time each."""
        return func


class FastJson(JSONProvider):
    """JSON by orjson, wherever Flask reads or writes it."""

    def dumps(self, obj: Any, **_kwargs: Any) -> str:
        """Write compact JSON."""
        return orjson.dumps(obj).decode()

    def loads(self, s: str | bytes, **_kwargs: Any) -> Any:
        """Read JSON, strictly."""
        return orjson.loads(s)


def create_app(settings: Settings) -> Flask:
    """Build one instance of the service; the database is not touched until it is asked."""
    app = Service("service", static_folder=None)
    app.logger.setLevel(settings.log_level)
    app.json = FastJson(app)
    looking_on = _telemetry(settings)
    app.extensions["evenbay"] = _context(settings, looking_on.watch)
    telemetry.register(app, looking_on)
    published = PageOrigins(app.extensions["evenbay"].engine)
    in_settings = listed(settings.cors_origins)
    manners.register(app, lambda origin: in_settings(origin) or published(origin))
    problems.register(app)
    # Every connection is at work for longer than a caller is let wait.
    app.register_error_handler(PoolTimeout, problems.refuse_unavailable)
    api = document.describe(app)
    for resource in RESOURCES:
        api.register_blueprint(resource.blueprint)
    app.register_blueprint(document.documentation(cache(partial(document.document, api))))
    app.register_blueprint(form_page.blueprint)
    app.extensions["openapi"] = api
    app.after_request(_protect)
    return app


def _telemetry(settings: Settings) -> telemetry.Telemetry:
    metrics = Metrics() if settings.metrics else None
    traces = open_traces(settings.otlp_endpoint) if settings.traces else None
    watch = StageWatch(metrics, traces)
    return telemetry.Telemetry(metrics, traces, watch, settings.server_timing)


def _context(settings: Settings, watch: StageWatch) -> Context:
    engine = connect(settings.database_url)
    gate, loaded = SqlGate(engine), LoadedVersions()
    press = QuotePress(render, drawing_dxf.render)
    lease = timedelta(seconds=settings.lease_seconds)
    return Context(
        settings=settings,
        engine=engine,
        codes=open_library(),
        materials=open_structure_library(),
        gate=_gate(gate, engine, settings),
        open_stores=partial(_open_stores, engine, lease, loaded, press),
        loaded=loaded,
        saw=Saw(settings.cut_seconds),
        press=press,
        printer=print_document,
        check_database=partial(check_ready, engine),
        read_outline=read_outline,
        sheets=SHEETS,
        read_edges=read_edges,
        read_takeoff=read_takeoff,
        price_readers={CSV: price_csv.read, XLSX: price_workbook.read},
        price_writers={CSV: price_csv.write, XLSX: price_workbook.write},
        sketch=sketch,
        write_results=run_results.write,
        hint=open_hint(settings.broker_url),
        watch=watch,
        rates=CountedRates(settings.rate_store) if settings.rate_per_minute else None,
        streams=Semaphore(max(1, settings.threads // 2)),
    )


def _gate(known: SqlGate, engine: Engine, settings: Settings) -> Gate:
    """Take keys, and tokens where somebody's are to be taken."""
    if settings.oidc is None:
        return known
    from service.adapters.tokens import TokenGate  # what it needs is installed for it alone

    return TokenGate(known, settings.oidc, partial(dealer_of, engine))


def _open_stores(
    engine: Engine, lease: timedelta, loaded: LoadedVersions, press: Press, caller: Caller
) -> Stores:
    """Open what is kept of a caller's dealer; nothing else reaches a database of dealers."""
    books = Books(engine, caller.dealer, caller.who)
    price_tables = SqlPriceTables(books)
    table_of = partial(stored_table, price_tables, loaded)
    return Stores(
        quotes=WholeQuotes(SqlQuotes(books), table_of, press),
        lives=SqlQuoteLives(books),
        shelf=SqlShelf(books),
        replays=SqlReplays(books, lease),
        keys=SqlKeyRing(books),
        letterheads=SqlLetterhead(books),
        catalogue=SqlCatalogue(books),
        price_tables=price_tables,
        table_of=table_of,
        forms=SqlForms(books),
        events=SqlEvents(books),
        webhooks=SqlWebhooks(books),
        runs=SqlRuns(books),
        schedules=SqlSchedules(books),
    )


def _protect(response: Response) -> Response:
    response.headers.setdefault("X-Content-Type-Options", "nosniff")
    return response
