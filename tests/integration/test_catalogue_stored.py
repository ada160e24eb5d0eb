"""Price tables and catalogue documents in real databases: versions, days, exactness, races."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from threading import Barrier

import pytest
from sqlalchemy import func, select, text

from service.adapters.storage import migrate
from service.adapters.storage.catalogue import SqlCatalogue
from service.adapters.storage.engine import connect
from service.adapters.storage.price_tables import SqlPriceTables
from service.adapters.storage.tables import audit, price_rows, price_table_versions
from service.domain.errors import NameTaken, NotKept, StaleState
from service.domain.pricing.price_table import PriceRow
from service.usecases.catalogue import Draft, Kind, Named, PriceDraft
from tests.integration.databases import BOTH, drift, url_of
from tests.serving import books_of

AT = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
SPRING, SUMMER = date(2026, 3, 1), date(2026, 6, 1)


@pytest.fixture(params=BOTH)
def engine(request, tmp_path):
    with url_of(request.param, tmp_path) as url:
        engine = connect(url)
        migrate.upgrade(engine)
        yield engine
        engine.dispose()


@pytest.fixture
def tables(engine):
    return SqlPriceTables(books_of(engine))


@pytest.fixture
def catalogue(engine):
    return SqlCatalogue(books_of(engine))


def named(name, number=1):
    return Named(f"00000000-0000-4000-8000-{number:012d}", name, AT, 1, 1)


def row(sku="POST", price="12.40", **more):
    return PriceRow(sku, None if price is None else Decimal(price), "C62", **more)


def draft(*rows, currency="USD"):
    return PriceDraft(currency, rows or (row(),))


T = named("Retail").id


def test_rows_come_back_exact_and_in_order(tables):
    rows = (
        row("Z", "999999999.999999", cost=Decimal("0.000001")),
        row("A", "0.1", min_quantity=Decimal("0.000001"), pack_size=25, tax_class="goods"),
        row("A", None, cost=Decimal(3), effective_from=SPRING),
    )
    tables.add(named("Retail"), draft(*rows))
    assert tuple(tables.rows(T, 1)) == rows
    assert tables.rows(T, 1, after=1, most=1) == [rows[1]]
    assert tables.rows(T, 1, after=3) == []


def test_more_rows_than_one_statement_takes(tables):
    rows = tuple(row(f"P{number:05d}", str(number)) for number in range(2500))
    tables.add(named("Retail"), draft(*rows))
    assert tuple(tables.rows(T, 1)) == rows
    assert tables.version(T, 1).row_count == 2500


def test_the_version_in_force_is_the_last_that_began_and_of_two_the_newer(tables):
    tables.add(named("Retail"), draft())
    assert tables.find("Retail", None, SUMMER) is None, "nothing is in force before it is activated"
    tables.activate(T, 1, SUMMER, 1, AT)
    tables.add_version(T, draft(row(price="13")), 2, AT)
    tables.activate(T, 2, SPRING, 3, AT)

    def in_force(day, which="Retail"):
        found = tables.find(which, None, day)
        return found and found.version.number

    assert in_force(date(2026, 2, 28)) is None
    assert in_force(SPRING) == 2
    assert in_force(date(2026, 5, 31), T) == 2
    assert in_force(SUMMER) == 1
    tables.activate(T, 2, SUMMER, 4, AT)
    assert in_force(SUMMER) == 2
    assert in_force(SPRING) is None


def test_a_named_version_needs_no_day(tables):
    tables.add(named("Retail"), draft())
    assert tables.find("Retail", 1, SPRING).active_from is None
    assert tables.find("Retail", 2, SPRING) is None
    assert tables.find("Wholesale", None, SPRING) is None


def test_an_id_goes_before_a_name_that_looks_like_it(tables):
    tables.add(named("Retail"), draft())
    tables.add(named(T, 2), draft(row(price="1")))
    assert tables.find(T, 1, SPRING).named.name == "Retail"


def test_the_same_content_makes_no_version_whatever_its_order(tables):
    rows = (row("A", "12.40"), row("B", "5"))
    tables.add(named("Retail"), draft(*rows))
    same = (row("B", "5.000"), row("A", "12.4"))
    assert not tables.add_version(T, draft(*same), 1, AT)
    assert (tables.table(T).latest, tables.table(T).revision) == (1, 1)
    assert tables.add_version(T, draft(*same, currency="CAD"), 1, AT)
    assert tables.add_version(T, draft(same[0]), 2, AT)
    assert [one.version.number for one in tables.versions(T, 99, 10)] == [3, 2, 1]
    assert [one.version.number for one in tables.versions(T, 3, 1)] == [2]


@pytest.mark.parametrize(
    "other",
    [
        row("A", "12.41"), row("B", "12.40"), row("A", None), row("A", cost=Decimal(0)),
        row("A", pack_size=1), row("A", tax_class="goods"), row("A", effective_from=SPRING),
        row("A", min_quantity=Decimal(1)), replace(row("A"), unit_of_measure="EA"),
    ],
)  # fmt: skip
def test_every_member_of_a_row_makes_a_version(tables, other):
    tables.add(named("Retail"), draft(row("A")))
    assert tables.add_version(T, draft(other), 1, AT)


def test_who_saw_an_older_state_changes_nothing(tables, engine):
    tables.add(named("Retail"), draft())
    tables.activate(T, 1, SPRING, 1, AT)
    for change in (
        lambda: tables.add_version(T, draft(row(price="2")), 1, AT),
        lambda: tables.add_version(T, draft(), 1, AT),
        lambda: tables.activate(T, 1, SUMMER, 1, AT),
    ):
        with pytest.raises(StaleState):
            change()
    assert tables.version(T, 1).active_from == SPRING
    assert tables.table(T).latest == 1
    with engine.connect() as connection:
        actions = connection.execute(select(audit.c.action)).scalars().all()
    assert sorted(actions) == ["price_table.activated", "price_table.added"]


def test_of_many_at_once_one_adds_its_version(tables, engine):
    tables.add(named("Retail"), draft())
    together = Barrier(6)

    def add(number):
        together.wait()
        try:
            return tables.add_version(T, draft(row(price=str(number))), 1, AT)
        except StaleState:
            return False

    with ThreadPoolExecutor(6) as pool:
        assert sum(pool.map(add, range(20, 26))) == 1
    assert tables.table(T).latest == 2
    with engine.connect() as connection:
        assert connection.execute(select(func.count()).select_from(price_rows)).scalar() == 2


def test_a_write_that_fails_half_way_keeps_nothing(tables, engine, monkeypatch):
    tables.add(named("Retail"), draft())
    broken = (*(row(f"P{number}", "1") for number in range(1500)), row("P0", "0.0000001"))
    monkeypatch.setattr("service.adapters.storage.price_tables._digest", lambda _: "d")
    with pytest.raises(ValueError, match="no amount"):
        tables.add_version(T, draft(*broken), 1, AT)
    assert (tables.table(T).latest, tables.table(T).revision) == (1, 1)
    with engine.connect() as connection:
        assert connection.execute(select(func.count()).select_from(price_rows)).scalar() == 1
        held = select(func.count()).select_from(price_table_versions)
        assert connection.execute(held).scalar() == 1


def test_names_are_taken_within_one_dealer_only(tables, catalogue, engine):
    tables.add(named("Retail"), draft())
    with pytest.raises(NameTaken):
        tables.add(named("Retail", 2), draft())
    catalogue.add(Kind.SYSTEM, named("Retail"), Draft(b"{}"))
    catalogue.add(Kind.PRICING, named("Retail", 2), Draft(b"{}"))
    with pytest.raises(NameTaken):
        catalogue.add(Kind.SYSTEM, named("Retail", 3), Draft(b"{}"))
    others = SqlPriceTables(books_of(engine, "Osprey Railing"))
    assert others.page(None, 10) == []
    others.add(named("Retail"), draft(row(price="1")))
    assert others.rows(T, 1) == [row(price="1")]
    assert tables.rows(T, 1) == [row()]


def test_what_is_not_kept_is_refused(tables, catalogue):
    tables.add(named("Retail"), draft())
    catalogue.add(Kind.SYSTEM, named("Level"), Draft(b"{}"))
    for ask in (
        lambda: tables.table("no"), lambda: tables.version(T, 2), lambda: tables.rows(T, 2),
        lambda: tables.versions("no", 9, 9), lambda: tables.add_version("no", draft(), 1, AT),
        lambda: tables.activate(T, 2, SPRING, 1, AT),
        lambda: catalogue.document(Kind.SYSTEM, "no"),
        lambda: catalogue.document(Kind.SYSTEM, T, 2),
        lambda: catalogue.document(Kind.PRICING, T),
        lambda: catalogue.versions(Kind.PRICING, T, 9, 9),
        lambda: catalogue.add_version(Kind.PRICING, T, Draft(b"{}"), 1, AT),
    ):  # fmt: skip
        with pytest.raises(NotKept):
            ask()


def test_lists_go_by_name_in_pages(tables, catalogue):
    for number, name in enumerate(("b", "a", "c"), start=1):
        tables.add(named(name, number), draft())
        catalogue.add(Kind.SYSTEM, named(name, number), Draft(b"{}"))
    for page in (tables.page, lambda after, most: catalogue.page(Kind.SYSTEM, after, most)):
        first = page(None, 2)
        assert [one.name for one in first] == ["a", "b"]
        assert [one.name for one in page((first[1].name, first[1].id), 2)] == ["c"]


def test_documents_have_versions_and_a_digest(catalogue):
    catalogue.add(Kind.SYSTEM, named("Level"), Draft(b'{"a": 1, "b": 2}', "first"))
    assert not catalogue.add_version(Kind.SYSTEM, T, Draft(b'{"b":2,"a":1}'), 1, AT)
    assert catalogue.add_version(Kind.SYSTEM, T, Draft(b'{"a":2}', "second"), 1, AT)
    with pytest.raises(StaleState):
        catalogue.add_version(Kind.SYSTEM, T, Draft(b'{"a":3}'), 1, AT)
    assert catalogue.document(Kind.SYSTEM, T).body == b'{"a":2}'
    first = catalogue.document(Kind.SYSTEM, T, 1)
    assert (first.body, first.version.note, first.named.latest) == (b'{"a": 1, "b": 2}', "first", 2)
    assert [one.number for one in catalogue.versions(Kind.SYSTEM, T, 99, 9)] == [2, 1]
    assert catalogue.find(Kind.SYSTEM, "Level", None).version.number == 2
    assert catalogue.find(Kind.SYSTEM, T, 1).body == first.body
    assert catalogue.find(Kind.PRICING, "Level", None) is None
    assert first.version.created_at == AT


def test_one_set_of_amendments_is_the_default_of_a_place(catalogue):
    catalogue.add(Kind.AMENDMENTS, named("Wexholm"), Draft(b"{}", "", "wexholm"))
    with pytest.raises(NameTaken, match="default of wexholm"):
        catalogue.add(Kind.AMENDMENTS, named("Other", 2), Draft(b"{}", "", "wexholm"))
    catalogue.add(Kind.AMENDMENTS, named("Other", 2), Draft(b"{}"))
    with pytest.raises(NameTaken):
        catalogue.add_version(Kind.AMENDMENTS, named("", 2).id, Draft(b"[]", "", "wexholm"), 1, AT)
    assert catalogue.default_for("Wexholm").named.name == "Wexholm"
    assert catalogue.default_for("Larch") is None
    catalogue.add_version(Kind.AMENDMENTS, T, Draft(b"{}"), 1, AT)
    assert catalogue.default_for("Wexholm") is None


def test_the_tables_are_those_of_the_migrations_both_ways(engine):
    migrate.downgrade(engine, "0004")
    with engine.connect() as connection:
        assert not connection.dialect.has_table(connection, "price_rows")
    migrate.upgrade(engine)
    assert drift(engine) == []


def test_quotes_there_were_before_were_made_with_nothing_stored(engine):
    migrate.downgrade(engine, "0004")
    with engine.begin() as connection:
        connection.execute(text("INSERT INTO dealers VALUES ('d', 'D', CURRENT_TIMESTAMP, '{}')"))
        connection.execute(
            text(
                "INSERT INTO quotes (dealer, id, created_at, reference, service_version, "
                "price_table, codes, currency, total_minor, request, answer) VALUES ('d', 'q', "
                "CURRENT_TIMESTAMP, '', '0', '', '', 'USD', 1, '', '')"
            )
        )
    migrate.upgrade(engine)
    with engine.connect() as connection:
        assert connection.execute(text("SELECT inputs FROM quotes")).scalar() == "{}"
