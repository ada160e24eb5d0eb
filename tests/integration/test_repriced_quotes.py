"""Quotes that were re-priced, read in every form: written when first read, the same ever after.

What they say is held against a quote made whole by the new prices. All prices rise by the same
factor, so that the cheapest way to cut stays what it was and both come to the same.
"""

from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from threading import Barrier

import orjson
import pytest
from sqlalchemy import select, update

from service.adapters.documents.quote_text import render
from service.adapters.storage.backup import back_up
from service.adapters.storage.price_tables import SqlPriceTables
from service.adapters.storage.repositories import SqlQuotes
from service.adapters.storage.tables import quote_orders, quotes
from service.app import create_app
from service.settings import Settings
from tests.api.test_examples import strict, validator_of
from tests.integration.databases import BOTH, url_of
from tests.repriced import DAY, NIGHT, by_new_prices, reprice, stocked
from tests.serving import books_of, client_of, key_for, migrated_app

PATCH = "application/merge-patch+json"
# What tells two quotes of one order apart that were made at different times.
OF_THE_QUOTE = ("id", "series", "revision", "revises", "created_on", "links", "cut_plans")
EXAMPLES = ["quote", "ruled-quote", "metric-quote"]


@pytest.fixture(params=BOTH, scope="module")
def app(request, tmp_path_factory):
    with url_of(request.param, tmp_path_factory.mktemp("data")) as url:
        app = migrated_app(url=url)
        yield app
        app.extensions["evenbay"].engine.dispose()


@pytest.fixture(scope="module")
def client(app):
    return client_of(app)


@pytest.fixture
def engine(app):
    return app.extensions["evenbay"].engine


def made(client, order):
    answer = client.post("/v1/quotes", data=orjson.dumps(order), content_type="application/json")
    assert answer.status_code == 201, answer.text
    return answer.json


@pytest.fixture
def order(engine):
    return stocked(engine)


@pytest.fixture
def first(client, order):
    return made(client, order)


def get(client, quote_id, rest="", **headers):
    answer = client.get(f"/v1/quotes/{quote_id}{rest}", headers=headers)
    assert answer.status_code == 200, answer.text
    return answer


def kept(engine, quote_id):
    with engine.connect() as connection:
        query = select(quotes.c.request, quotes.c.answer, quotes.c.costs, quotes.c.inputs)
        return tuple(connection.execute(query.where(quotes.c.id == quote_id)).one())


def without(quote, *members):
    return {name: value for name, value in quote.items() if name not in members}


@pytest.mark.parametrize("example", EXAMPLES)
def test_it_says_what_a_quote_made_whole_by_the_new_prices_says(client, engine, example):
    order = stocked(engine, example)
    first = made(client, order)
    light = get(client, reprice(engine, first["id"])).json
    whole = made(client, by_new_prices(order))
    assert without(light, *OF_THE_QUOTE) == without(whole, *OF_THE_QUOTE)
    assert light["totals"]["gross"] != first["totals"]["gross"]
    assert [plan["bars"] for plan in light["cut_plans"]] == [
        plan["bars"] for plan in whole["cut_plans"]
    ]
    assert (light["series"], light["revision"], light["revises"]) == (first["id"], 2, first["id"])
    assert light["created_on"] == light["on"] == DAY.isoformat()
    assert light["links"]["self"] == f"/v1/quotes/{light['id']}"
    assert light["links"]["revises"] == f"/v1/quotes/{first['id']}"


@pytest.mark.parametrize("example", EXAMPLES)
def test_its_costs_are_those_of_a_quote_made_whole(client, engine, example):
    order = stocked(engine, example)
    light = reprice(engine, made(client, order)["id"])
    whole = made(client, by_new_prices(order))
    costs = get(client, light, "/costs").json
    assert costs["quote"] == light
    assert without(costs, "quote") == without(get(client, whole["id"], "/costs").json, "quote")


def test_what_was_proven_by_the_old_prices_is_claimed_no_longer(client, engine, first):
    light = get(client, reprice(engine, first["id"])).json
    assert first["cut_plans"]
    for plan, before in zip(light["cut_plans"], first["cut_plans"], strict=True):
        assert before["cost"] is not None
        assert (plan["cost"], plan["lower_bound"]) == (None, None)
        assert (plan["proven_optimal"], plan["proven"]) == (False, [])
        assert plan["method"] == (
            f"{before['method']}; as quoted on {first['on']}, not cut anew for these prices"
        )


def test_it_fits_the_document(client, engine, first):
    document = strict(client.get("/v1/openapi.json").json)
    light = reprice(engine, first["id"])
    for rest, name in (("", "Quote"), ("/costs", "QuoteCosts")):
        answer = get(client, light, rest)
        validator_of(document, {"$ref": f"#/components/schemas/{name}"}).validate(answer.json)


@pytest.mark.parametrize(
    "form", [".json", ".csv", ".xlsx", ".xml", ".svg", ".dxf", ".pdf", "/takeoff.csv",
             "/cut-list.csv", "/findings.csv", "/cut-bars.svg", "/site-sheets.pdf",
             "/code-report.pdf", "/drawing.svg", "/costs"],
)  # fmt: skip
def test_each_form_may_be_the_first_that_is_read(client, engine, first, form):
    light = reprice(engine, first["id"])
    assert kept(engine, light) == (b"", b"", None, "{}")
    answer = get(client, light, form)
    assert kept(engine, light)[1]
    assert get(client, light, form).data == answer.data


@pytest.mark.parametrize("form", [".csv", ".xml", "/takeoff.csv", "/cut-list.csv", ".dxf"])
def test_forms_are_those_of_a_quote_made_whole(client, engine, order, first, form):
    light = reprice(engine, first["id"])
    whole = made(client, by_new_prices(order))["id"]
    day = get(client, whole).json["created_on"]
    mine = get(client, light, form).text.replace(light, whole)
    for made_on in ("IssueDate", "StartDate"):
        mine = mine.replace(f"{made_on}>{DAY}<", f"{made_on}>{day}<")
    assert mine == get(client, whole, form).text


def test_its_paper_says_that_its_bars_were_not_planned_by_these_prices(client, engine, first):
    light = get(client, reprice(engine, first["id"])).json
    text = " ".join(render(light).split())
    assert "not cut anew for these prices" in text
    assert "proven" not in text.partition("CUT PLAN")[2].partition("INSTALLATION")[0]


def test_its_drawing_is_the_one_that_was_drawn(client, engine, first):
    drawn = get(client, first["id"], "/drawing.svg").data
    light = reprice(engine, first["id"])
    assert get(client, light, "/drawing.svg").data == drawn


def test_nothing_that_was_answered_changes(client, engine, first):
    before = kept(engine, first["id"])
    light = reprice(engine, first["id"], issued=True)
    get(client, light)
    assert kept(engine, first["id"]) == before
    assert client.get(f"/v1/quotes/{first['id']}/state").json["replaced_by"] == light


def test_what_was_read_stays_when_its_prices_come_into_force_later(client, engine, order, first):
    light = reprice(engine, first["id"], issued=True)
    read = get(client, light).data
    assert orjson.loads(read)["price_table"]["active_from"] is None
    tables = SqlPriceTables(books_of(engine))
    table_id = order["price_table"]["stored"]
    tables.activate(table_id, 2, DAY, tables.table(table_id).revision, NIGHT)
    assert get(client, light).data == read
    later = reprice(engine, reprice(engine, light, version=1, issued=True))
    assert get(client, later).json["price_table"]["active_from"] == DAY.isoformat()


@pytest.mark.parametrize("first_read", ["", "/costs", "/quote.pdf"])
def test_two_that_read_it_first_at_once_read_the_same(app, client, engine, first, first_read):
    first_read = first_read if first_read != "/quote.pdf" else ".pdf"
    light = reprice(engine, first["id"])
    clients = [client_of(app, key) for key in [key_for(app)] * 6]
    together = Barrier(len(clients))

    def read(one):
        together.wait()
        return get(one, light, first_read).data

    with ThreadPoolExecutor(len(clients)) as pool:
        answers = set(pool.map(read, clients))
    assert len(answers) == 1
    assert {get(client, light, first_read).data} == answers
    assert kept(engine, light)[1] == get(client, light).data


def test_costs_are_read_though_somebody_writes_them_just_then(
    app, client, engine, first, monkeypatch
):
    light = reprice(engine, first["id"])
    reads = SqlQuotes.answer

    def late(quotes, quote_id):
        monkeypatch.setattr(SqlQuotes, "answer", reads)
        get(client_of(app), light)  # writes all of its documents
        return reads(quotes, quote_id)

    monkeypatch.setattr(SqlQuotes, "answer", late)
    assert get(client, light, "/costs").json["quote"] == light


def test_lists_find_it_before_anybody_reads_it(client, engine, order):
    order = {**order, "reference": "Alder Reach", "outside_reference": "CRM-9",
             "customer": {"name": "Ann Larch"}}  # fmt: skip
    first = made(client, order)
    light = reprice(engine, first["id"])
    for query in (f"series={first['id']}", "reference=Alder+Reach", "outside_reference=CRM-9"):
        found = client.get(f"/v1/quotes?{query}").json["quotes"]
        assert light in [one["id"] for one in found]
    one = next(one for one in found if one["id"] == light)
    assert (one["state"]["state"], one["customer"]) == ("draft", "Ann Larch")
    assert kept(engine, light)[1] == b""
    whole = get(client, light).json
    assert one["gross"] == whole["totals"]["gross"]
    assert whole["customer"]["name"] == "Ann Larch"


def test_it_is_issued_accepted_and_declined_like_any(client, engine, first):
    light = reprice(engine, first["id"])
    for step, state in (("issue", "issued"), ("accept", "accepted"), ("decline", "declined")):
        answer = client.post(f"/v1/quotes/{light}/{step}")
        assert (answer.status_code, answer.json["state"]) == (200, state)
    assert client.get(f"/v1/quotes/{first['id']}/state").json["state"] == "replaced"
    assert kept(engine, light)[1] == b"", "no step needs its documents"


def test_its_changes_are_told_in_prices_alone(client, engine, first):
    light = reprice(engine, first["id"])
    told = get(client, light, "/changes").json
    assert told["before"] == first["id"]
    assert {fact["name"] for fact in told["facts"]} == set()
    priced = [line for line in told["lines"] if line["sku"]]
    assert priced
    for line in priced:
        before, after = line["before"], line["after"]
        assert before["quantity"] == after["quantity"]
        risen = Decimal(before["unit_price"]["amount"]) * Decimal("1.1")
        assert Decimal(after["unit_price"]["amount"]) == risen


def test_it_is_computed_again_to_the_same(client, engine, first):
    light = reprice(engine, first["id"])
    told = client.post(f"/v1/quotes/{light}/recompute").json
    assert told["same"] is True, told
    assert told["on"] == DAY.isoformat()
    assert (
        told["gross"]["kept"] == told["gross"]["now"] == get(client, light).json["totals"]["gross"]
    )


def test_an_answer_that_differs_from_what_is_computed_is_told(client, engine, first):
    light = reprice(engine, first["id"])
    answer = get(client, light).json
    answer["lines"][0]["net"]["amount"] = "0.01"
    with engine.begin() as connection:
        mine = update(quotes).where(quotes.c.id == light)
        connection.execute(mine.values(answer=orjson.dumps(answer)))
    told = client.post(f"/v1/quotes/{light}/recompute").json
    assert told["same"] is False
    assert [line["sku"] for line in told["changes"]["lines"]] == [answer["lines"][0]["sku"]]


def test_one_that_comes_to_another_total_than_was_told_is_refused(client, engine, first):
    light = reprice(engine, first["id"])
    with engine.begin() as connection:
        mine = update(quote_orders).where(quote_orders.c.quote_id == light)
        connection.execute(mine.values(total_minor=quote_orders.c.total_minor + 1))
    answer = client.get(f"/v1/quotes/{light}")
    assert (answer.status_code, answer.json["type"]) == (409, "/problems/not-reproducible")
    assert kept(engine, light)[1] == b""


def test_a_revision_of_it_is_made_whole_from_its_order(client, engine, order, first):
    light = reprice(engine, first["id"], issued=True)
    answer = client.post(
        f"/v1/quotes/{light}/revisions", data=b'{"reference": "Third"}', content_type=PATCH
    )
    assert answer.status_code == 201, answer.text
    third = answer.json
    assert (third["revision"], third["revises"]) == (3, light)
    assert third["totals"] == get(client, light).json["totals"]
    assert third["price_table"]["version"] == 2
    assert all(plan["cost"] is not None for plan in third["cut_plans"])
    told = get(client, third["id"], "/changes").json
    assert [fact["name"] for fact in told["facts"]] == ["reference"]


@pytest.mark.parametrize("issued", [False, True])
@pytest.mark.parametrize("drafted", [False, True])
def test_a_revision_of_it_is_a_draft_where_it_was_made_one(client, engine, order, issued, drafted):
    begun = made(client, {**order, "draft": drafted})
    light = reprice(engine, begun["id"], issued=issued)
    expected = "issued" if issued and not drafted else "draft"
    assert get(client, light, "/state").json["state"] == expected
    answer = client.post(
        f"/v1/quotes/{light}/revisions", data=b'{"reference": "Third"}', content_type=PATCH
    )
    assert get(client, answer.json["id"], "/state").json["state"] == expected


def test_one_that_is_re_priced_again_comes_from_the_quote_that_was_made_whole(
    client, engine, first
):
    second = reprice(engine, first["id"], issued=True)
    third = reprice(engine, second, version=1, issued=True)
    quote = get(client, third).json
    assert (quote["series"], quote["revision"], quote["revises"]) == (first["id"], 3, second)
    assert quote["totals"] == first["totals"]
    assert quote["cut_plans"][0]["method"].count("as quoted on") == 1
    assert kept(engine, second)[1] == b"", "it is not read to write the third"
    assert client.post(f"/v1/quotes/{third}/recompute").json["same"] is True


def test_it_is_cut_on_a_shop_day(client, engine, order, first):
    light = reprice(engine, first["id"])
    whole = made(client, by_new_prices(order))["id"]

    def day(quote_id):
        body = {"units": "imperial", "quotes": [quote_id]}
        answer = client.post("/v1/cut-plans", json=body)
        assert answer.status_code == 200, answer.text
        return answer.text.replace(quote_id, "")

    assert day(light) == day(whole)


def test_nobody_else_reads_it(app, client, engine, first):
    light = reprice(engine, first["id"])
    other = client_of(app, key_for(app, "Fernhill Rails"))
    for rest in ("", ".pdf", "/costs", "/state", "/drawing.svg", "/changes"):
        assert other.get(f"/v1/quotes/{light}{rest}").status_code == 404
    assert other.post(f"/v1/quotes/{light}/recompute").status_code == 404
    assert kept(engine, light)[1] == b""


def test_a_copy_of_the_database_writes_the_same(tmp_path):
    url = f"sqlite:///{tmp_path / 'first.db'}"
    app = migrated_app(url=url)
    client, engine = client_of(app), app.extensions["evenbay"].engine
    light = reprice(engine, made(client, stocked(engine))["id"])
    back_up(url, tmp_path / "copy.db")
    copy = create_app(Settings(f"sqlite:///{tmp_path / 'copy.db'}"))
    key = client.environ_base["HTTP_AUTHORIZATION"].removeprefix("Bearer ")
    assert get(client_of(copy, key), light).data == get(client, light).data
    for one in (app, copy):
        one.extensions["evenbay"].engine.dispose()
