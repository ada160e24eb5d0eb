"""Refusals and notes speak the units of the job, with the exact millimetres behind."""

import re
from io import BytesIO

import orjson
import pytest
from pypdf import PdfReader

from service.api.schemas.requests import QUOTE_REQUEST
from service.usecases.take_off_railing import lay_out_to_order
from tests.api.replay import request_bytes

BARE = re.compile(r"(?<![\"'] \()(?<![0-9.])[0-9.]+ mm\b")  # not in brackets behind inches
BOTH = re.compile(r"[\"'] \([0-9.]+ mm\)")


def too_long(order, units=None):
    """Ask for a rail that is longer than its stock."""
    rail = next(i for i, part in enumerate(order["system"]["parts"]) if part.get("stock"))
    order["system"]["parts"][rail]["stock"][0]["length"] = "1 ft"
    del order["system"]["parts"][rail]["stock"][1:]
    order.pop("units", None)
    return order | ({"units": units} if units else {})


def said(problem):
    entry = problem["errors"][0]
    assert problem["detail"] == entry["detail"]
    return f"{entry['detail']} {entry['advice']}"


@pytest.mark.parametrize("units", ["imperial", None])
def test_a_job_in_feet_and_inches_is_refused_in_them(post, order, units):
    told = said(post("/v1/quotes", orjson.dumps(too_long(order, units))).json)
    assert BOTH.search(told)
    assert not BARE.search(told)


def test_a_job_in_millimetres_is_refused_in_them(post, order):
    told = said(post("/v1/quotes", orjson.dumps(too_long(order, "metric"))).json)
    assert BARE.search(told)
    assert not BOTH.search(told)


def test_of_many_jobs_each_is_refused_in_its_own(client, order):
    asked = [orjson.dumps(too_long(order, units)) for units in ("imperial", "metric", "imperial")]
    answer = client.post(
        "/v1/quotes/bulk", data=b"\n".join(asked), content_type="application/x-ndjson"
    )
    lines = [orjson.loads(line) for line in answer.data.splitlines() if line.strip()]
    told = [text for line in lines if "piece-too-long" in (text := orjson.dumps(line).decode())]
    assert [bool(BOTH.search(text.replace('\\"', '"'))) for text in told] == [True, False, True]


def notes_of(layout):
    return [*layout["notes"], *(note for one in layout["supports"] for note in one["notes"])]


@pytest.mark.parametrize("name", ["framed-layout", "surveyed-layout"])
def test_notes_of_a_layout_speak_the_units_of_the_job(post, name):
    order = orjson.loads(request_bytes(name))
    taped, metric = (
        notes_of(post("/v1/layouts", orjson.dumps(order | {"units": units})).json["layout"])
        for units in ("imperial", "metric")
    )
    assert any(BARE.search(note) for note in metric)
    assert not any(BOTH.search(note) for note in metric)
    assert [bool(BOTH.search(note)) for note in taped] == [bool(BARE.search(n)) for n in metric]
    assert not any(BARE.search(note) for note in taped)


def test_an_order_that_is_no_body_is_refused_all_the_same(post):
    for body in (b"[]", b'{"units": 7}', b'{"units": {}}', b'{"units": []}'):
        assert post("/v1/quotes", body).status_code == 422


def test_paper_tells_a_length_once(post, client):
    made = post("/v1/quotes", request_bytes("cable-quote")).json
    notes = made["layout"]["notes"]
    assert any(BOTH.search(note) for note in notes)
    book = client.get(f"/v1/quotes/{made['id']}/quote.pdf")
    assert book.status_code == 200
    text = " ".join(
        " ".join(page.extract_text().split()) for page in PdfReader(BytesIO(book.data)).pages
    )
    assert "(186 mm)" in text
    assert text.count("(186 mm)") == sum(note.count("(186 mm)") for note in notes)


def test_a_plan_is_still_drawn_of_what_was_kept_with_notes_in_millimetres(post, app):
    """Before, notes told millimetres to everybody; such quotes are kept."""
    made = post("/v1/quotes", request_bytes("cable-quote")).json
    press = app.extensions["evenbay"].press
    order = QUOTE_REQUEST.load(orjson.loads(request_bytes("cable-quote")))
    layout = lay_out_to_order(order, order.on)
    kept = orjson.loads(orjson.dumps(made))
    kept["layout"]["notes"] = list(layout.notes)
    assert any(BARE.search(note) for note in layout.notes)
    assert press.shows(orjson.dumps(kept), layout, order)
    kept["layout"]["notes"].append("Another note.")
    assert not press.shows(orjson.dumps(kept), layout, order)
