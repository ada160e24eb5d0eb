"""Many quotes in one request, line by line."""

import gzip
import sqlite3
import zlib
from collections import Counter
from dataclasses import replace
from threading import Semaphore

import orjson
import pytest
from sqlalchemy import func, select, text

from service.adapters.storage.tables import events, quotes
from service.api import bulk_quotes
from service.api import quotes as quotes_module
from service.api.lines import MOST_BYTES
from service.usecases.outages import StoreUnavailable
from service.usecases.rates import Allowance
from tests.api.replay import names, request_bytes, response_path, settled
from tests.api.test_examples import strict, validator_of
from tests.integration.databases import BOTH, url_of
from tests.serving import client_of, key_for, migrated_app

NDJSON = "application/x-ndjson"
ORDER = orjson.dumps(orjson.loads(request_bytes("quote")))
LONGEST = 40_000


@pytest.fixture(params=BOTH, scope="module")
def app(request, tmp_path_factory):
    with url_of(request.param, tmp_path_factory.mktemp("bulk")) as url:
        app = migrated_app(url=url, max_body_bytes=LONGEST, cors_origins=("https://crm.example",))
        yield app
        app.extensions["evenbay"].engine.dispose()


@pytest.fixture
def dealer():
    """A dealer of its own for each test."""
    dealer.number = getattr(dealer, "number", 0) + 1
    return f"dealer {dealer.number}"


@pytest.fixture
def client(app, dealer):
    return client_of(app, key_for(app, dealer))


@pytest.fixture
def here(app, monkeypatch):
    """Change the context for one test."""

    def change(**members):
        changed = replace(app.extensions["evenbay"], **members)
        monkeypatch.setitem(app.extensions, "evenbay", changed)

    return change


def body_of(*lines):
    return b"\n".join(lines) + b"\n"


def named(reference, **more):
    return orjson.dumps(orjson.loads(ORDER) | {"reference": reference} | more)


def send(client, body, content_type=NDJSON, key="", **headers):
    headers |= {"Idempotency-Key": key} if key else {}
    return client.post(
        "/v1/quotes/bulk", data=body, content_type=content_type, headers=headers, buffered=False
    )


def told(answer):
    assert answer.status_code == 200, answer.data
    return [orjson.loads(line) for line in answer.data.splitlines()]


def count(app, table, *where):
    with app.extensions["evenbay"].engine.connect() as connection:
        return connection.execute(select(func.count()).select_from(table).where(*where)).scalar()


def references(app, prefix):
    query = select(quotes.c.reference).where(quotes.c.reference.startswith(prefix))
    with app.extensions["evenbay"].engine.connect() as connection:
        return Counter(connection.execute(query).scalars())


def test_every_example_is_quoted_as_it_is_alone(client):
    examples = [name for name in names() if name.endswith("quote")]
    lines = [orjson.dumps(orjson.loads(request_bytes(name))) for name in examples]
    answer = send(client, body_of(*lines))
    assert answer.headers["Content-Type"] == NDJSON
    for number, (name, line) in enumerate(zip(examples, told(answer), strict=True), start=1):
        assert (line["line"], line["status"]) == (number, 201)
        committed = orjson.loads(response_path(name).read_bytes())
        assert settled(orjson.dumps(line["quote"])) == committed


def test_a_quote_is_answered_byte_for_byte_as_it_is_kept(client):
    (line,) = send(client, ORDER).data.splitlines()
    kept = client.get(orjson.loads(line)["quote"]["links"]["self"]).data
    assert line == b'{"line":1,"status":201,"quote":' + kept + b"}"


WRONG = {
    2: (b"{", 400, "The line is not JSON"),
    3: (b"\xff{}", 400, "The line is not JSON"),
    5: (b"x" * (LONGEST + 1), 413, f"The line is larger than {LONGEST} bytes"),
    6: (b"{}", 422, "The request is not right"),
    7: (b"[1, 2]", 422, "The request is not right"),
    8: (b'{"a": 1, "a": 2}', 400, "stands twice"),
    9: (b"[" * 100 + b"]" * 100, 400, "nests more deeply"),
    10: (b"null", 422, "The request is not right"),
}


def test_a_wrong_line_stops_no_other_and_empty_ones_are_only_counted(app, client, dealer):
    lines = [named(f"{dealer}:a"), *(WRONG[n][0] if n in WRONG else b" \t\r" for n in range(2, 11))]
    answers = told(send(client, body_of(*lines, named(f"{dealer}:b"))))
    assert [one["line"] for one in answers] == [1, *WRONG, 11]
    assert [answers[0]["status"], answers[-1]["status"]] == [201, 201]
    for one in answers[1:-1]:
        _, status, detail = WRONG[one["line"]]
        assert (one["status"], one["problem"]["status"]) == (status, status)
        assert detail in one["problem"]["detail"]
        assert "quote" not in one
    assert references(app, f"{dealer}:") == {f"{dealer}:a": 1, f"{dealer}:b": 1}


def test_pointers_lead_into_their_line(client):
    order = orjson.loads(ORDER)
    order["price_table"]["currency"] = 7
    _, wrong = told(send(client, body_of(ORDER, orjson.dumps(order))))
    assert [error["pointer"] for error in wrong["problem"]["errors"]] == ["#/price_table/currency"]


@pytest.mark.parametrize(
    "body",
    [
        pytest.param(ORDER, id="no end of line at the end"),
        pytest.param(ORDER + b"\r\n", id="ended as on Windows"),
        pytest.param(b"\xef\xbb\xbf" + ORDER + b"\n", id="a byte order mark before the first"),
        pytest.param(b"\n\n" + ORDER + b"\n\n\n", id="empty lines around"),
    ],
)
def test_files_of_every_habit_are_read(client, body):
    (line,) = told(send(client, body, "application/jsonl; charset=utf-8"))
    assert line["status"] == 201


def test_no_line_gives_no_line(client):
    assert send(client, b"").data == b""


def test_lines_are_as_the_document_says(app, client):
    document = strict(app.test_client().get("/v1/openapi.json").json)
    content = document["paths"]["/v1/quotes/bulk"]["post"]["responses"]["200"]["content"]
    assert set(content) == {NDJSON, "application/jsonl"}
    validator = validator_of(document, content[NDJSON]["schema"]["contentSchema"])
    body = body_of(ORDER, b"{}", b"?")
    for line in [*told(send(client, body)), *told(send(client, body, Prefer="return=minimal"))]:
        validator.validate(line)
        assert ("problem" in line) == (line["status"] != 201)


@pytest.mark.parametrize(
    ("wish", "heard"),
    [
        ("return=minimal", True),
        ('respond-async, Return="minimal"; foo=bar', True),
        ("return=representation", False),
        ("return=representation, return=minimal", False),
        ("wait=10", False),
    ],
)
def test_a_short_answer_is_given_to_who_prefers_it(client, wish, heard):
    # RFC 7240, section 2: of a preference that stands twice the first counts.
    answer = send(client, ORDER, Prefer=wish)
    (line,) = told(answer)
    assert answer.headers.get("Preference-Applied") == ("return=minimal" if heard else None)
    assert ("kept" in line) is heard
    if heard:
        quote = client.get(line["kept"]["links"]["self"]).json
        assert line["kept"]["gross"] == quote["totals"]["gross"]
        assert {"id", "reference", "links"} <= set(line["kept"])
        assert len(answer.data) < 3000  # of a quote of 150 000


def test_what_is_no_body_of_lines_is_refused(client):
    assert send(client, ORDER, "application/json").status_code == 415
    assert send(client, ORDER, Accept="application/json").status_code == 406
    coded = send(client, gzip.compress(ORDER), **{"Content-Encoding": "gzip"})
    assert (coded.status_code, coded.headers["Accept-Encoding"]) == (415, "identity")
    assert send(client, ORDER, key='""').status_code == 400
    told_length = {"CONTENT_LENGTH": str(MOST_BYTES + 1)}
    large = client.post("/v1/quotes/bulk", content_type=NDJSON, environ_overrides=told_length)
    assert large.status_code == 413
    assert client.get("/v1/quotes/bulk").status_code == 405


def test_a_body_that_ends_too_early_is_not_begun(app, client):
    before = count(app, quotes)
    environ = {"CONTENT_LENGTH": str(2 * len(ORDER))}
    answer = client.post(
        "/v1/quotes/bulk", data=ORDER, content_type=NDJSON, environ_overrides=environ
    )
    (line,) = told(answer)
    assert (line["line"], line["status"]) == (1, 400)
    assert count(app, quotes) == before


def test_the_answer_is_of_the_type_that_is_asked_for(client):
    assert send(client, b"{}", Accept="application/jsonl").mimetype == "application/jsonl"


def test_the_same_body_under_the_same_key_is_quoted_once(app, client, dealer):
    body = body_of(named(f"{dealer}:a"), b"{}", named(f"{dealer}:b"))
    first, again = (send(client, body, key="night").data for _ in range(2))
    assert first == again
    assert references(app, f"{dealer}:") == {f"{dealer}:a": 1, f"{dealer}:b": 1}
    short = told(send(client, body, key="night", Prefer="return=minimal"))
    full = [orjson.loads(line) for line in first.splitlines()]
    assert [one["kept"]["id"] for one in (short[0], short[2])] == [
        one["quote"]["id"] for one in (full[0], full[2])
    ]
    told(send(client, body))
    assert references(app, f"{dealer}:") == {f"{dealer}:a": 2, f"{dealer}:b": 2}


def test_a_line_that_came_back_changed_is_refused_and_one_put_right_is_quoted(client):
    told(send(client, body_of(ORDER, b"{}", ORDER), key="k"))
    changed, righted, same = told(send(client, body_of(named("other"), ORDER, ORDER), key="k"))
    assert (changed["status"], changed["problem"]["type"]) == (422, "/problems/key-used-otherwise")
    assert (righted["status"], same["status"]) == (201, 201)


def test_a_key_of_lines_is_no_key_of_a_single_quote_nor_of_another_dealer(app, client):
    (line,) = told(send(client, ORDER, key="k"))
    headers = {"Idempotency-Key": "k"}
    alone = client.post("/v1/quotes", data=ORDER, content_type="application/json", headers=headers)
    assert alone.status_code == 201
    theirs = client_of(app, key_for(app, "Osprey Railing, lines"))
    (other,) = told(send(theirs, ORDER, key="k"))
    assert len({line["quote"]["id"], alone.json["id"], other["quote"]["id"]}) == 3


def test_each_quote_is_told_of_as_one_made_alone(app, client):
    before = count(app, events)
    answers = told(send(client, body_of(ORDER, b"{}", ORDER)))
    page = client.get("/v1/events").json["events"]
    issued = [event["subject"] for event in page if event["type"] == "evenbay.quote.issued"]
    assert issued == [one["quote"]["id"] for one in answers if one["status"] == 201]
    assert count(app, events) == before + 2


def test_a_failure_is_of_its_line_alone(app, client, dealer, monkeypatch):
    right, failures = quotes_module.quote_railing, [RuntimeError("a"), StoreUnavailable("b")]

    def shaky(order, *arguments, **named):
        made = right(order, *arguments, **named)
        if order.reference.endswith("?"):
            raise failures.pop(0)
        return made

    monkeypatch.setattr(quotes_module, "quote_railing", shaky)
    lines = (named(f"{dealer}:{name}") for name in ("a", "b?", "c", "d?", "e"))
    answers = told(send(client, body_of(*lines), key="k"))
    assert [one["status"] for one in answers] == [201, 500, 201, 503, 201]
    assert answers[1]["problem"]["incident"]
    assert answers[3]["retry_after"] >= 1
    # What was written in the transactions of the two that failed is gone with them.
    assert set(references(app, f"{dealer}:")) == {f"{dealer}:{name}" for name in "ace"}


def test_lines_go_on_after_the_database_was_away(app, client):
    """It is away for good reasons: another one writes for longer than is waited, or it is moved."""
    engine = app.extensions["evenbay"].engine
    answers = iter(send(client, body_of(*[ORDER] * 4), Prefer="return=minimal").response)
    statuses = [orjson.loads(next(answers))["status"]]
    if engine.dialect.name == "sqlite":
        other = sqlite3.connect(engine.url.database, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        statuses.append(orjson.loads(next(answers))["status"])
        other.execute("ROLLBACK")
        other.close()
    else:
        with engine.connect() as connection:
            schema = connection.execute(text("SELECT current_schema()")).scalar()
        with engine.begin() as connection:
            connection.execute(text(f"ALTER SCHEMA {schema} RENAME TO {schema}_moved"))
        statuses.append(orjson.loads(next(answers))["status"])
        with engine.begin() as connection:
            connection.execute(text(f"ALTER SCHEMA {schema}_moved RENAME TO {schema}"))
    statuses += [orjson.loads(line)["status"] for line in answers]
    assert statuses == [201, 503, 201, 201]


def test_nothing_is_done_for_who_has_gone_away(app, client, dealer):
    lines = [named(f"{dealer}:{number}") for number in range(5)]
    answer = send(client, body_of(*lines))
    answers = iter(answer.response)
    next(answers)
    next(answers)
    answer.close()
    assert set(references(app, f"{dealer}:")) == {f"{dealer}:0", f"{dealer}:1"}


def test_a_key_that_is_revoked_meanwhile_ends_the_stream(client):
    made = client.post("/v1/keys", json={"label": "night", "scopes": ["quotes:write"]}).json
    night = client_of(client.application, made["key"])
    answers = iter(send(night, body_of(*[ORDER] * 4)).response)
    assert orjson.loads(next(answers))["status"] == 201
    assert client.delete(f"/v1/keys/{made['id']}").status_code in (200, 204)
    assert [orjson.loads(line)["status"] for line in answers] == [401]


def test_a_service_that_ends_says_which_line_comes_next(client, here):
    asked = []

    def leaving():
        asked.append(True)
        return len(asked) > 2

    here(leaving=leaving)
    *made, last = told(send(client, body_of(ORDER, b"", ORDER, ORDER, ORDER)))
    assert [one["line"] for one in made] == [1, 3]
    assert (last["line"], last["status"]) == (4, 503)
    assert last["retry_after"] >= 1


def test_there_is_an_end_to_lines(client, monkeypatch):
    monkeypatch.setattr(bulk_quotes, "MOST_LINES", 3)
    answers = told(send(client, b"{}\n" * 3 + ORDER))
    assert [(one["line"], one["status"]) for one in answers] == [
        (1, 422),
        (2, 422),
        (3, 422),
        (4, 413),
    ]


def test_streams_leave_room_for_others(client, here):
    here(streams=Semaphore(1))
    first = send(client, body_of(ORDER, ORDER))
    refused = send(client, ORDER)
    assert (refused.status_code, refused.mimetype) == (503, "application/problem+json")
    assert int(refused.headers["Retry-After"]) >= 1
    first.close()
    assert len(told(send(client, ORDER))) == 1
    assert len(told(send(client, ORDER))) == 1


class Minutes:
    """Counts as the service does, in minutes that pass when it is waited for."""

    def __init__(self):
        self.spent, self.waits = 0, []

    def spend(self, _who, most):
        self.spent += 1
        return self.spent <= most, Allowance(most, max(0, most - self.spent), 40)

    def pause(self, seconds):
        self.waits.append((self.spent, seconds))
        self.spent = 0


def test_lines_count_as_requests_and_wait_for_the_next_minute(app, dealer, here):
    minutes = Minutes()
    here(rates=minutes, pause=minutes.pause)
    client = client_of(app, key_for(app, dealer, per_minute=8))
    here(settings=replace(app.extensions["evenbay"].settings, rate_per_minute=600))
    answers = told(send(client, b"{}\n" * 14))
    assert [one["status"] for one in answers] == [422] * 14  # none is refused for coming too soon
    # One for the request and six lines leave less than a quarter of eight, then seven lines do.
    assert minutes.waits == [(7, 40), (7, 40)]


def test_lines_wait_where_others_have_spent_the_minute(app, dealer, here):
    minutes = Minutes()
    here(rates=minutes, pause=minutes.pause)
    here(settings=replace(app.extensions["evenbay"].settings, rate_per_minute=1))
    client = client_of(app, key_for(app, dealer))
    assert [one["status"] for one in told(send(client, b"{}\n" * 2))] == [422, 422]
    assert minutes.waits == [(2, 40), (2, 40)]


def test_each_line_can_be_read_when_it_comes_compressed_too(client):
    answer = send(client, body_of(ORDER, b"{}", ORDER), **{"Accept-Encoding": "gzip"})
    assert answer.headers["Content-Encoding"] == "gzip"
    assert "Accept-Encoding" in answer.headers["Vary"]
    reader = zlib.decompressobj(16 + zlib.MAX_WBITS)
    pieces = list(answer.response)
    lines = [reader.decompress(piece) for piece in pieces]
    assert [orjson.loads(line)["status"] for line in lines[:3]] == [201, 422, 201]
    assert lines[3:] == [b""]
    assert reader.eof
    assert len(pieces[0]) < len(lines[0]) / 5


def test_pages_of_other_origins_may_ask_and_hear(client):
    page = {"Origin": "https://crm.example"}
    asked = client.options(
        "/v1/quotes/bulk", headers=page | {"Access-Control-Request-Method": "POST"}
    )
    assert "Prefer" in asked.headers["Access-Control-Allow-Headers"]
    answer = send(client, b"{}", **page)
    assert answer.headers["Access-Control-Allow-Origin"] == "https://crm.example"
    assert "Preference-Applied" in answer.headers["Access-Control-Expose-Headers"]
    assert len(answer.headers["X-Request-Id"]) == 32
