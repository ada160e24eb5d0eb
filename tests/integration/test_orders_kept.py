"""Orders kept to be priced again, in real databases: written with the quote or not at all."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from threading import Barrier

import pytest
from sqlalchemy import func, select, update

from service.adapters.storage import migrate
from service.adapters.storage.engine import connect
from service.adapters.storage.orders import read_order
from service.adapters.storage.parts import part_id
from service.adapters.storage.repositories import SqlQuotes
from service.adapters.storage.tables import quote_orders, quote_rules, quoted_parts, quotes
from service.domain.errors import StaleState
from service.domain.money import Money
from service.domain.pricing.life import QuoteLife
from service.domain.pricing.material import MaterialLine, Part
from service.domain.pricing.settings import PricingSettings, Tax
from service.usecases.ports import KeptMaterial, Material, StoredQuote
from tests.integration.databases import BOTH, url_of
from tests.serving import books_of

AT = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
TOTAL = Money(Decimal("1234.50"), "USD")
POST = Part("goods", "P-1", "", "post", "C62", 1, "")
HOURS = Part("labour", "", "set posts", "", "HUR", None, "")
CARRIAGE = Part("charge", "", "Carriage", "freight", "C62", None, "charge")
LINES = (
    MaterialLine(POST, Decimal(4), Decimal("153.00")),
    MaterialLine(HOURS, Decimal("1.25"), Decimal("82.50")),
    MaterialLine(CARRIAGE, Decimal(1), Decimal("75.00")),
)
RULES = PricingSettings(Decimal("66.00"), (Tax("Sales", Decimal("0.08"), frozenset({"goods"})),))
MATERIAL = Material(LINES, RULES, date(2026, 11, 25), "table-1", 3)


def quote(name, material=MATERIAL, **life):
    return StoredQuote(
        id=name,
        created_at=AT,
        reference="Larch Lane",
        service_version="0.1.0",
        price_table="spring",
        codes=("IRC 2021",),
        total=TOTAL,
        request=b"{}",
        answer=b"{}",
        life=QuoteLife(name, series=life.pop("series", name), **life),
        material=material,
    )


@pytest.fixture(params=BOTH)
def engine(request, tmp_path):
    with url_of(request.param, tmp_path) as url:
        engine = connect(url)
        migrate.upgrade(engine)
        yield engine
        engine.dispose()


@pytest.fixture
def books(engine):
    return books_of(engine)


def read(books, name):
    with books.reading() as connection:
        return read_order(books, connection, name)


def count(engine, table):
    with engine.connect() as connection:
        return connection.execute(select(func.count()).select_from(table)).scalar_one()


def test_an_order_comes_back_as_it_was_priced(books):
    SqlQuotes(books).add(quote("q1"))
    assert read(books, "q1") == KeptMaterial(MATERIAL, TOTAL, "q1")


def test_quotes_of_the_same_parts_and_rules_share_them(engine, books):
    quotes = SqlQuotes(books)
    for n in range(3):
        quotes.add(quote(f"q{n}"))
    assert (count(engine, quote_orders), count(engine, quoted_parts)) == (3, 3)
    assert count(engine, quote_rules) == 1


def test_another_process_finds_the_parts_that_are_kept(engine, books):
    SqlQuotes(books).add(quote("q1"))
    books.known.clear()
    SqlQuotes(books).add(quote("q2"))
    assert read(books, "q2") == KeptMaterial(MATERIAL, TOTAL, "q2")
    assert count(engine, quoted_parts) == 3


def test_parts_of_a_quote_that_was_not_kept_are_written_with_the_next(engine, books):
    quotes = SqlQuotes(books)
    quotes.add(quote("q1", None))
    twice = quote("q2", series="q1", revision=1)
    with pytest.raises(StaleState):
        quotes.add(twice)
    assert count(engine, quoted_parts) == 0
    quotes.add(quote("q3"))
    assert read(books, "q3") == KeptMaterial(MATERIAL, TOTAL, "q3")


def test_parts_of_a_transaction_that_is_undone_as_a_whole_are_written_with_the_next(books):
    quotes = SqlQuotes(books)

    def undone():
        with books.together():
            quotes.add(quote("q1"))
            raise InterruptedError

    with pytest.raises(InterruptedError):
        undone()
    quotes.add(quote("q2"))
    assert read(books, "q2") == KeptMaterial(MATERIAL, TOTAL, "q2")


def test_parts_of_an_undone_step_within_a_transaction_are_written_with_the_next(books):
    quotes = SqlQuotes(books)
    quotes.add(quote("q1", None))
    with books.together():
        with pytest.raises(StaleState):
            quotes.add(quote("q2", series="q1", revision=1))
        quotes.add(quote("q3", None))
    quotes.add(quote("q4"))
    assert read(books, "q4") == KeptMaterial(MATERIAL, TOTAL, "q4")


def test_a_part_whose_number_another_one_has_is_refused(engine, books):
    SqlQuotes(books).add(quote("q1"))
    with engine.begin() as connection:
        other = update(quoted_parts).where(quoted_parts.c.id == part_id(POST))
        connection.execute(other.values(sku="P-2"))
    books.known.clear()
    with pytest.raises(RuntimeError, match="two parts have the number"):
        SqlQuotes(books).add(quote("q2"))
    assert count(engine, quotes) == 1


def test_a_number_that_does_not_fit_leaves_the_order_to_be_planned_again(books):
    fine = replace(LINES[0], quantity=Decimal("0.00000025"))
    SqlQuotes(books).add(quote("q1", replace(MATERIAL, lines=(fine, *LINES[1:]))))
    assert read(books, "q1") is None


def test_an_order_without_material_is_not_kept(books):
    SqlQuotes(books).add(quote("q1", None))
    assert read(books, "q1") is None


def test_many_who_write_the_same_new_parts_at_once(engine, books):
    together = Barrier(6)

    def add(n):
        mine = books_of(engine)
        together.wait()
        mine.known.clear()
        SqlQuotes(mine).add(quote(f"q{n}"))

    with ThreadPoolExecutor(6) as pool:
        list(pool.map(add, range(6)))
    assert count(engine, quoted_parts) == 3
    assert {read(books, f"q{n}").material for n in range(6)} == {MATERIAL}


def test_dealers_keep_the_same_parts_apart(engine, books):
    other = books_of(engine, "Fernhill Rails")
    SqlQuotes(books).add(quote("q1"))
    SqlQuotes(other).add(quote("q1"))
    assert count(engine, quoted_parts) == 6
    assert read(other, "q1") == read(books, "q1")
    SqlQuotes(books).add(quote("q2"))
    assert read(other, "q2") is None
