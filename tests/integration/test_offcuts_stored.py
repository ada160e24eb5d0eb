"""Offcuts and the lives of quotes in real databases, with many at once."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from functools import partial
from threading import Barrier

import pytest
from sqlalchemy import func, inspect, select, text
from sqlalchemy.exc import IntegrityError

from service.adapters.storage import migrate
from service.adapters.storage.engine import connect
from service.adapters.storage.quote_lives import SqlQuoteLives
from service.adapters.storage.repositories import SqlQuotes
from service.adapters.storage.shelf import SqlShelf
from service.adapters.storage.tables import offcut_claims
from service.domain.errors import OffcutNotFound, OffcutTaken, QuoteClosed, QuoteNotFound
from service.domain.money import Money
from service.domain.pricing.life import QuoteLife, State, accept, decline, saw_bars, state_on
from service.usecases.decide_quote import decide_quote
from service.usecases.ports import LeftOver, StoredOffcut, StoredQuote
from tests.integration.databases import BOTH, drift, url_of
from tests.serving import books_of

AT = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
TODAY = AT.date()
LAST = date(2026, 12, 24)
LATER = datetime(2026, 12, 25, 8, 0, tzinfo=UTC)


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


@pytest.fixture
def quotes(books):
    return SqlQuotes(books)


@pytest.fixture
def lives(books):
    return SqlQuoteLives(books)


@pytest.fixture
def shelf(books):
    return SqlShelf(books)


def quote(number, *offcuts, valid_until=None, remnants=()):
    return StoredQuote(
        id=f"quote-{number:04d}",
        created_at=AT,
        reference="Larch Lane",
        service_version="0.1.0",
        price_table="spring",
        codes=("IRC 2021",),
        total=Money(Decimal("1234.50"), "USD"),
        request=b"{}",
        answer=b"{}",
        life=QuoteLife(f"quote-{number:04d}", valid_until=valid_until),
        offcuts=offcuts,
        remnants=remnants,
    )


def offcut(number, sku="LK-TR", length_nm=1_000, **more):
    return StoredOffcut(f"offcut-{number:03d}", sku, length_nm, None, Decimal("2.50"), "", **more)


def decide(lives, number, step, at=AT):
    return decide_quote(f"quote-{number:04d}", step, lives=lives, at=at)


def free(shelf, day=TODAY):
    return [one.id for one in shelf.free(["LK-TR"], 100, day)]


def test_migrations_go_up_and_down_and_keep_what_was_there(engine, quotes):
    quotes.add(quote(1))
    migrate.downgrade(engine, "0001")
    assert set(inspect(engine).get_table_names()) == {"alembic_version", "quotes"}
    migrate.upgrade(engine)
    lives = SqlQuoteLives(books_of(engine, "first dealer"))
    assert state_on(lives.life("quote-0001"), TODAY) is State.ISSUED
    assert drift(engine) == []
    migrate.downgrade(engine, "base")
    assert inspect(engine).get_table_names() == ["alembic_version"]


def test_an_offcut_comes_back_as_it_was_put(shelf):
    put = replace(offcut(1), first_picket_nm=7, note="rack 2")
    shelf.add(put, AT)
    assert shelf.offcut(put.id, TODAY) == put
    shelf.remove(put.id, AT)
    with pytest.raises(OffcutNotFound, match="No offcut has the id offcut-001"):
        shelf.offcut(put.id, TODAY)


def test_pages_meet_without_gap_or_overlap(shelf):
    for number in range(23):
        shelf.add(offcut(number, sku=f"LK-{number % 3}", length_nm=1_000 + number % 5), AT)
    seen, after = [], None
    while page := shelf.page("", after, 5, TODAY):
        seen += page
        after = (page[-1].sku, page[-1].length_nm, page[-1].id)
    keys = [(one.sku, one.length_nm, one.id) for one in seen]
    assert keys == sorted(keys)
    assert len(set(keys)) == 23
    assert {one.sku for one in shelf.page("LK-1", None, 50, TODAY)} == {"LK-1"}


def test_an_accepted_quote_reserves_and_a_declined_one_releases(quotes, lives, shelf):
    shelf.add(offcut(1), AT)
    quotes.add(quote(1, "offcut-001"))
    assert free(shelf) == ["offcut-001"]
    decide(lives, 1, accept)
    assert free(shelf) == []
    assert shelf.offcut("offcut-001", TODAY).held_by == "quote-0001"
    with pytest.raises(OffcutTaken, match="reserved for a quote"):
        shelf.remove("offcut-001", AT)
    assert [one.id for one in shelf.free(["LK-TR"], 9, TODAY, ["quote-0001"])] == ["offcut-001"]
    decide(lives, 1, decline)
    assert free(shelf) == ["offcut-001"]


def test_an_expired_quote_releases_and_another_may_claim(quotes, lives, shelf):
    shelf.add(offcut(1), AT)
    quotes.add(quote(1, "offcut-001", valid_until=LAST))
    quotes.add(quote(2, "offcut-001"))
    decide(lives, 1, accept)
    assert free(shelf, LAST) == []
    assert free(shelf, LAST + timedelta(days=1)) == ["offcut-001"]
    with pytest.raises(OffcutTaken, match="claimed by another quote"):
        decide(lives, 2, accept)
    decide(lives, 2, accept, LATER)
    assert shelf.offcut("offcut-001", LATER.date()).held_by == "quote-0002"
    with pytest.raises(QuoteClosed, match="is expired"):
        decide(lives, 1, accept, LATER)


def test_an_expired_claim_does_not_keep_an_offcut_on_the_shelf(quotes, lives, shelf):
    shelf.add(offcut(1), AT)
    quotes.add(quote(1, "offcut-001", valid_until=LAST))
    decide(lives, 1, accept)
    shelf.remove("offcut-001", LATER)
    assert free(shelf, LATER.date()) == []


def test_a_refused_claim_leaves_the_quote_and_its_other_offcuts_alone(quotes, lives, shelf):
    for number in (1, 2):
        shelf.add(offcut(number), AT)
    quotes.add(quote(1, "offcut-002"))
    quotes.add(quote(2, "offcut-001", "offcut-002"))
    decide(lives, 1, accept)
    with pytest.raises(OffcutTaken, match="offcut-002"):
        decide(lives, 2, accept)
    assert lives.life("quote-0002").decided is State.ISSUED
    assert free(shelf) == ["offcut-001"]


def test_an_offcut_that_is_gone_cannot_be_reserved(quotes, lives, shelf):
    shelf.add(offcut(1), AT)
    quotes.add(quote(1, "offcut-001"))
    shelf.remove("offcut-001", AT)
    with pytest.raises(OffcutTaken, match="or gone"):
        decide(lives, 1, accept)


def test_sawn_offcuts_are_used_up_and_remnants_come_on_the_shelf_once(quotes, lives, shelf):
    shelf.add(offcut(1), AT)
    left = (LeftOver("LK-TR", 700, 3, "rail remnant 1"), LeftOver("LK-BR", 900, None, "rest"))
    quotes.add(quote(1, "offcut-001", valid_until=LAST, remnants=left))
    decide(lives, 1, accept)
    keep = partial(saw_bars, keep_remnants=True)
    decide(lives, 1, keep)
    decide(lives, 1, keep)
    assert shelf.offcut("offcut-001", LATER.date()).used
    on_hand = shelf.page("", None, 10, LATER.date())
    assert [(o.sku, o.length_nm, o.first_picket_nm, o.from_quote) for o in on_hand] == [
        ("LK-BR", 900, None, "quote-0001"),
        ("LK-TR", 700, 3, "quote-0001"),
    ]
    with pytest.raises(OffcutTaken, match="used by one"):
        shelf.remove("offcut-001", LATER)


def test_an_unknown_quote_has_no_life(lives):
    with pytest.raises(QuoteNotFound, match="quote-0009"):
        decide(lives, 9, accept)


def attempts(lives, ids, at=AT):
    """Accept many quotes at the same moment; give those that went through."""
    together = Barrier(len(ids))

    def attempt(number):
        together.wait(timeout=30)
        try:
            decide(lives, number, accept, at)
        except OffcutTaken:
            return None
        return number

    with ThreadPoolExecutor(len(ids)) as pool:
        return [number for number in pool.map(attempt, ids) if number is not None]


def test_of_many_quotes_at_once_one_gets_the_offcut(engine, quotes, lives, shelf):
    shelf.add(offcut(1), AT)
    for number in range(8):
        quotes.add(quote(number, "offcut-001"))
    (winner,) = attempts(lives, range(8))
    assert shelf.offcut("offcut-001", TODAY).held_by == f"quote-{winner:04d}"
    accepted = [n for n in range(8) if lives.life(f"quote-{n:04d}").decided is State.ACCEPTED]
    assert accepted == [winner]


def test_quotes_that_want_the_same_two_the_other_way_round_do_not_block_each_other(
    engine, quotes, lives, shelf
):
    for number in range(10):
        shelf.add(offcut(number), AT)
    for number in range(8):
        wanted = [f"offcut-{(number + step) % 10:03d}" for step in range(3)]
        quotes.add(quote(number, *(wanted if number % 2 else wanted[::-1])))
    winners = attempts(lives, range(8))
    assert winners
    with engine.connect() as connection:
        claims = connection.execute(select(func.count()).select_from(offcut_claims)).scalar()
    assert claims == 3 * len(winners)


def test_of_many_at_once_one_takes_over_an_expired_claim(quotes, lives, shelf):
    shelf.add(offcut(1), AT)
    quotes.add(quote(0, "offcut-001", valid_until=LAST))
    decide(lives, 0, accept)
    for number in range(1, 7):
        quotes.add(quote(number, "offcut-001"))
    assert len(attempts(lives, range(1, 7), LATER)) == 1


def test_the_key_itself_refuses_a_second_claim(engine, quotes, lives, shelf):
    """Even a program with a fault in it cannot claim an offcut twice."""
    shelf.add(offcut(1), AT)
    quotes.add(quote(1, "offcut-001"))
    decide(lives, 1, accept)
    twice = text(
        "INSERT INTO offcut_claims (dealer, offcut_id, quote_id, used) "
        "SELECT dealer, 'offcut-001', 'quote-0001', false FROM offcuts"
    )
    with engine.connect() as connection, pytest.raises(IntegrityError):
        connection.execute(twice)
