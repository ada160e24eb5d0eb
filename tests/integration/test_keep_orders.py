"""Orders of older quotes, read from their answers: as they would have been kept, or not at all."""

import orjson
import pytest
from sqlalchemy import delete, select, update

from service.__main__ import main
from service.adapters.storage.orders import read_order
from service.adapters.storage.tables import quote_orders, quote_rules, quoted_parts, quotes
from tests.integration.databases import BOTH, url_of
from tests.repriced import reprice, stocked
from tests.serving import books_of, client_of, key_for, migrated_app


@pytest.fixture(params=BOTH)
def app(request, tmp_path, monkeypatch):
    with url_of(request.param, tmp_path) as url:
        monkeypatch.setenv("EVENBAY_DATABASE_URL", url)
        app = migrated_app(url=url)
        yield app
        app.extensions["evenbay"].engine.dispose()


@pytest.fixture
def engine(app):
    return app.extensions["evenbay"].engine


def made(client, order):
    answer = client.post("/v1/quotes", data=orjson.dumps(order), content_type="application/json")
    assert answer.status_code == 201, answer.text
    return answer.json["id"]


def order_of(engine, quote_id, **dealer):
    books = books_of(engine, **dealer)
    with books.reading() as connection:
        return read_order(books, connection, quote_id)


def forget(engine):
    """Make the database one of the version before."""
    with engine.begin() as connection:
        for table in (quote_orders, quote_rules, quoted_parts):
            connection.execute(delete(table))


@pytest.mark.parametrize("example", ["quote", "ruled-quote", "metric-quote", "cable-quote"])
def test_orders_come_out_as_they_would_have_been_kept(app, engine, example, capsys):
    quote_id = made(client_of(app), stocked(engine, example))
    before = order_of(engine, quote_id)
    forget(engine)
    assert main(["keep-orders"]) == 0
    assert "Orders kept of 1 open quotes; 0 can" in capsys.readouterr().out
    assert order_of(engine, quote_id) == before


def test_a_quote_whose_prices_were_sent_is_kept_and_named_so(app, engine, order):
    quote_id = made(client_of(app), order)
    before = order_of(engine, quote_id)
    forget(engine)
    assert main(["keep-orders"]) == 0
    assert order_of(engine, quote_id) == before
    assert (before.material.table_id, before.material.version) == ("", 0)


@pytest.fixture
def order():
    from tests.api.replay import request_bytes

    return orjson.loads(request_bytes("quote"))


def changed(answer, change):
    quote = orjson.loads(answer)
    change(quote)
    return orjson.dumps(quote)


@pytest.mark.parametrize(
    "change",
    [
        pytest.param(lambda q: q["lines"][0]["amount"].update(amount="1.00"), id="an amount"),
        pytest.param(lambda q: q["lines"][0].update(quantity="999"), id="a quantity"),
        pytest.param(lambda q: q["totals"]["gross"].update(amount="1.00"), id="the total"),
        pytest.param(lambda q: q.pop("takeoff"), id="an answer of another shape"),
    ],
)
def test_an_answer_that_its_order_does_not_come_to_is_left(app, engine, order, change, capsys):
    quote_id = made(client_of(app), order)
    forget(engine)
    with engine.begin() as connection:
        answer = connection.execute(select(quotes.c.answer)).scalar_one()
        connection.execute(update(quotes).values(answer=changed(bytes(answer), change)))
    assert main(["keep-orders"]) == 0
    assert "0 open quotes; 1 can only be planned again" in capsys.readouterr().out
    assert order_of(engine, quote_id) is None


def test_what_is_closed_or_kept_is_left_alone(app, engine, capsys):
    client = client_of(app)
    first, kept, declined = (made(client, stocked(engine)) for _ in range(3))
    revision = reprice(engine, first, issued=True)
    client.post(f"/v1/quotes/{declined}/decline")
    with engine.begin() as connection:
        connection.execute(delete(quote_orders).where(quote_orders.c.quote_id == declined))
    assert main(["keep-orders"]) == 0
    assert "Orders kept of 0 open quotes; 0 can" in capsys.readouterr().out
    assert order_of(engine, revision).material_of == first
    assert order_of(engine, kept) is not None


def test_each_dealers_orders_are_kept_in_his_own_books(app, engine, order):
    other = made(client_of(app, key_for(app, "Fernhill Rails")), order)
    mine = made(client_of(app), order)
    forget(engine)
    assert main(["keep-orders"]) == 0
    assert order_of(engine, other, dealer="Fernhill Rails").material_of == other
    assert order_of(engine, other) is None
    assert order_of(engine, mine).material_of == mine
