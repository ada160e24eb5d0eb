"""Many rows that have values in common come out of the database as they went in."""

import string
from datetime import UTC, datetime

import orjson
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import select

from service.adapters.storage import migrate
from service.adapters.storage.cloud_events import cloud_event
from service.adapters.storage.engine import connect
from service.adapters.storage.ids import Ids
from service.adapters.storage.repriced_events import alike
from service.adapters.storage.tables import events, repricings
from service.usecases.events import EventType
from tests.integration.databases import BOTH, url_of
from tests.repricing import DAY, NOON, Shop

NASTY = [
    "plain",
    "tab\there",
    "line\nbreak",
    "back\\slash",
    "\\N",
    "\\.",
    "100 %s",
    "é ✓",
    "",
    "\r",
]


@pytest.fixture(params=BOTH)
def shop(request, tmp_path):
    with url_of(request.param, tmp_path) as url:
        engine = connect(url)
        migrate.upgrade(engine)
        yield Shop(engine)
        engine.dispose()


@pytest.mark.parametrize("fixed", ["plain", "a\tb\\c\n% %s"])
def test_texts_with_marks_of_their_own(shop, fixed):
    run = shop.begin(shop.table(), on=DAY, version=1)
    of_each = {
        "quote_id": [f"quote-{n}" for n in range(len(NASTY))],
        "outcome": NASTY,
        "total_after": [None, *range(1, len(NASTY))],
        "revision_id": [*NASTY[:-1], None],
        "under_floor": [n % 2 == 0 for n in range(len(NASTY))],
    }
    same = {"run_id": run.id, "currency": "USD", "total_before": 2**60, "detail": fixed}
    with shop.books.writing() as connection:
        shop.books.insert_alike(connection, repricings, same, of_each)
        rows = connection.execute(select(repricings).order_by(repricings.c.quote_id)).all()
    for place, row in enumerate(rows):
        assert {name: getattr(row, name) for name in same} == same
        assert {name: getattr(row, name) for name in of_each} == {
            name: values[place] for name, values in of_each.items()
        }
    assert len(rows) == len(NASTY)


@pytest.mark.parametrize(
    "bodies",
    [
        pytest.param([b'{"plain": 1}', b"{}"], id="plain text"),
        pytest.param([b'{"back": "\\u0041"}', b"{}"], id="a backslash"),
        pytest.param(["{'é'}".encode(), b"\x00\xff\t\n"], id="no text"),
        pytest.param([b"\\x41", b"x"], id="what looks like hex"),
    ],
)
def test_bytes_stay_the_same(shop, bodies):
    same = {"entered": 7, "at": NOON, "type": "t", "subject": "s"}
    with shop.books.writing() as connection:
        shop.books.insert_alike(
            connection, events, same, {"id": [str(n) for n in range(len(bodies))], "body": bodies}
        )
        rows = connection.execute(
            select(events).where(events.c.type == "t").order_by(events.c.id)
        ).all()
    assert [bytes(row.body) for row in rows] == bodies
    assert [row.at.replace(tzinfo=UTC) for row in rows] == [NOON] * len(bodies)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.text(min_size=1, max_size=8),
            st.text(alphabet=string.printable, max_size=8),
            st.integers(-(2**40), 2**40),
        ),
        min_size=1,
        max_size=4,
    )
)
def test_events_made_alike_are_the_bytes_of_events_made_singly(every):
    at = datetime(2026, 11, 25, 18, 30, tzinfo=UTC)
    subjects, texts, numbers = (list(column) for column in zip(*every, strict=True))
    detail = {"first": "100 %s", "state": texts, "revision": numbers, "last": None}
    made = alike(
        "D%s", EventType.QUOTE_ISSUED, at, subjects, detail, {"state", "revision"}, Ids(at)
    )
    for place, subject in enumerate(subjects):
        own = {**detail, "state": texts[place], "revision": numbers[place]}
        whole = cloud_event(made["id"][place], "D%s", EventType.QUOTE_ISSUED, at, subject, own)
        assert made["body"][place] == whole
        assert orjson.loads(whole)["data"]["revision"] == numbers[place]
    assert made["subject"] == subjects
