"""Quotes on a real SQLite file."""

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from sqlalchemy import inspect, select, text
from sqlalchemy.exc import IntegrityError

from service.adapters.storage import migrate
from service.adapters.storage.engine import connect
from service.adapters.storage.repositories import SqlQuotes
from service.adapters.storage.tables import quotes
from service.domain.errors import QuoteNotFound
from service.domain.money import Money
from service.domain.pricing.life import QuoteLife
from service.usecases.ports import StoredQuote
from tests.integration.databases import drift
from tests.serving import books_of

QUOTE = StoredQuote(
    id="00000000-0000-4000-8000-000000000001",
    created_at=datetime(2026, 11, 25, 9, 30, tzinfo=UTC),
    reference="Larch Lane",
    service_version="0.1.0",
    price_table="spring",
    codes=("IRC 2021",),
    total=Money(Decimal("1234.50"), "USD"),
    request=b'{"deck": {}}',
    answer='{"id": "…"}'.encode(),
    life=QuoteLife("00000000-0000-4000-8000-000000000001"),
)


@pytest.fixture
def engine(tmp_path):
    engine = connect(f"sqlite:///{tmp_path / 'nested' / 'quotes.sqlite3'}")
    migrate.upgrade(engine)
    yield engine
    engine.dispose()


def test_a_quote_comes_back_byte_for_byte(engine):
    store = SqlQuotes(books_of(engine))
    store.add(QUOTE)
    assert store.answer(QUOTE.id) == QUOTE.answer
    assert store.request(QUOTE.id) == QUOTE.request


def test_a_drawing_is_kept_once(engine):
    store = SqlQuotes(books_of(engine))
    store.add(QUOTE)
    assert store.drawing(QUOTE.id) is None
    store.keep_drawing(QUOTE.id, b"<svg>first</svg>")
    store.keep_drawing(QUOTE.id, b"<svg>second</svg>")
    assert store.drawing(QUOTE.id) == b"<svg>first</svg>"


def test_money_is_kept_in_whole_minor_units(engine):
    SqlQuotes(books_of(engine)).add(replace(QUOTE, total=Money(Decimal("12345"), "JPY")))
    with engine.connect() as connection:
        row = connection.execute(select(quotes)).one()
    assert (row.total_minor, row.currency, row.request) == (12345, "JPY", QUOTE.request)


def test_an_unknown_id_is_refused(engine):
    with pytest.raises(QuoteNotFound, match="No quote has the id nowhere"):
        SqlQuotes(books_of(engine)).answer("nowhere")


def test_a_second_quote_of_one_id_changes_nothing(engine):
    store = SqlQuotes(books_of(engine))
    store.add(QUOTE)
    with pytest.raises(IntegrityError):
        store.add(replace(QUOTE, answer=b"other"))
    assert store.answer(QUOTE.id) == QUOTE.answer


def test_writers_at_once_all_succeed(engine):
    store = SqlQuotes(books_of(engine))
    ids = [f"{number:036d}" for number in range(200)]
    with ThreadPoolExecutor(8) as pool:
        list(pool.map(lambda key: store.add(replace(QUOTE, id=key, life=QuoteLife(key))), ids))
    with engine.connect() as connection:
        kept = connection.execute(select(quotes.c.id).order_by(quotes.c.id)).scalars().all()
    assert kept == ids


def test_a_reader_is_not_held_up_by_a_writer(engine):
    store = SqlQuotes(books_of(engine))
    store.add(QUOTE)
    with engine.begin() as writing:
        writing.execute(text("UPDATE quotes SET answer = request"))
        assert store.answer(QUOTE.id) == QUOTE.answer


def test_sqlite_runs_with_the_pragmas_that_make_it_safe(engine):
    with engine.connect() as connection:
        mode = connection.execute(text("PRAGMA journal_mode")).scalar()
        keys = connection.execute(text("PRAGMA foreign_keys")).scalar()
    assert (mode, keys) == ("wal", 1)


def test_migrations_go_up_and_down(engine):
    assert migrate.is_current(engine)
    migrate.downgrade(engine, "base")
    assert not migrate.is_current(engine)
    assert "quotes" not in inspect(engine).get_table_names()
    migrate.upgrade(engine)
    migrate.upgrade(engine)
    assert migrate.is_current(engine)


def test_migrations_make_the_tables_the_code_uses(engine):
    assert drift(engine) == []


def test_two_processes_that_start_at_once_migrate_in_turn(tmp_path):
    url = f"sqlite:///{tmp_path / 'fresh.sqlite3'}"
    program = (
        "from service.adapters.storage import engine, migrate;"
        f"migrate.upgrade(engine.connect({url!r}))"
    )
    starts = [subprocess.Popen([sys.executable, "-c", program]) for _ in range(2)]
    assert [start.wait(timeout=30) for start in starts] == [0, 0]
    engine = connect(url)
    assert migrate.is_current(engine)
    engine.dispose()
