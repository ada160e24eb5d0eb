"""Quotes from a CSV of edges."""

import csv
import io

import orjson
import pytest

from service.api.quote_forms import XLSX
from tests.api.replay import request_bytes

EDGES = """kind,length,turn,fall_height,unit,name,width,offset,risers,unit_run,nosing,bottom
stair,20,90,49,,garden stair,4 ft,12 ft,7,10 in,1 in,slab
open,8 ft,90,49 in,,,,,,,,
open,8 ft,-90,49 in,,,,,,,,
open,6 ft,90,49 in,,,,,,,,
wall,12 ft,90,,,,,,,,,
open,14 ft,90,46-1/2 in,,,,,,,,
"""
EDGES = EDGES.replace("stair,20,90,49,,", "stair,20 ft,90,49 in,,")


@pytest.fixture
def settings():
    request = orjson.loads(request_bytes("quote"))
    del request["deck"]
    return request


@pytest.fixture
def send(client, settings):
    def send(edges=EDGES, settings=settings, accept="*/*"):
        body = {"edges": (io.BytesIO(edges.encode()), "deck.csv"),
                "settings": orjson.dumps(settings).decode()}  # fmt: skip
        return client.post("/v1/sheets/quotes", data=body, headers={"Accept": accept},
                           content_type="multipart/form-data")  # fmt: skip

    return send


def test_a_sheet_is_quoted_as_the_same_deck_in_json(client, post, send):
    priced = send()
    assert (priced.status_code, priced.mimetype) == (201, "text/csv")
    rows = list(csv.DictReader(io.StringIO(priced.text)))
    by_json = post("/v1/quotes", request_bytes("quote")).json
    assert [row["net"] for row in rows] == [line["net"]["amount"] for line in by_json["lines"]]
    assert [row["sku"] for row in rows] == [line["sku"] for line in by_json["lines"]]
    kept = client.get(priced.headers["Location"]).json
    assert kept["totals"] == by_json["totals"]


def test_the_quote_is_kept_and_computed_again_like_any_other(client, send):
    address = send().headers["Location"]
    assert client.get(f"{address}.dxf").status_code == 200
    assert client.post(f"{address}/recompute").json["same"] is True


@pytest.mark.parametrize("kind", ["application/json", XLSX, "text/csv"])
def test_the_answer_is_in_the_form_asked_for(send, kind):
    answer = send(accept=kind)
    assert (answer.status_code, answer.mimetype) == (201, kind)


@pytest.mark.parametrize(("separator", "name"), [(";", "semicolons"), ("\t", "tabs")])
def test_a_sheet_saved_with_another_separator_is_told_so(send, separator, name):
    refused = send("\ufeff" + EDGES.replace(",", separator))
    assert refused.status_code == 422
    (error,) = refused.json["errors"]
    assert f"parted by {name}; save the sheet as CSV with commas" in error["detail"]


@pytest.mark.parametrize(
    ("old", "new", "pointer", "words"),
    [
        ("open,8 ft,-90", "open,eight,-90", "#/edges/4/length", "Row 4, column length"),
        ("garden stair,4 ft", "garden stair,", "#/edges/2/width", "Row 2, column width"),
        (",7,10 in", ",many,10 in", "#/edges/2/risers", "Row 2, column risers"),
        ("wall,12 ft,90,,", "wall,12 ft,90,1 ft,", "#/edges/6/fall_height", "Row 6, column fall"),
        ("wall,", "fence,", "#/edges/6/kind", "Row 6, column kind"),
        ("kind,length", "sort,length", "#/edges/1/sort", "Row 1, column sort"),
    ],
)
def test_what_is_wrong_in_a_sheet_is_told_by_row_and_column(send, old, new, pointer, words):
    assert old in EDGES
    refused = send(EDGES.replace(old, new, 1))
    assert (refused.status_code, refused.mimetype) == (422, "application/problem+json")
    found = {error["pointer"]: error["detail"] for error in refused.json["errors"]}
    assert words in found[pointer]


def test_several_rows_are_complained_about_at_once(send):
    wrong = EDGES.replace("open,8 ft,90", "open,?,90").replace("open,6 ft", "open,!")
    pointers = [error["pointer"] for error in send(wrong).json["errors"]]
    assert pointers == ["#/edges/3/length", "#/edges/5/length"]


def test_what_geometry_refuses_names_the_row(send):
    refused = send(EDGES.replace("open,14 ft,90", "open,99 ft,90"))
    assert refused.status_code == 422
    (error,) = refused.json["errors"]
    assert error["pointer"].startswith("#/edges")
    assert error["detail"].startswith("Row ")


def test_what_is_wrong_in_the_settings_is_told_by_its_member(send, settings):
    settings["price_table"]["currency"] = 7
    (error,) = send(settings=settings).json["errors"]
    assert error["pointer"] == "#/settings/price_table/currency"
    settings = {**settings, "deck": {}}
    assert send(settings=settings).json["errors"][0]["pointer"] == "#/settings"


@pytest.mark.parametrize(
    ("body", "status"),
    [
        ({"edges": EDGES}, 400),
        ({"edges": EDGES, "settings": "no json"}, 422),
        ({"edges": EDGES, "settings": '{"units": 1, "units": 2}'}, 422),
        ({"edges": (io.BytesIO(b"\xff\xfe"), "x.csv"), "settings": "{}"}, 422),
    ],
)
def test_a_form_that_cannot_be_read_is_refused(client, body, status):
    refused = client.post("/v1/sheets/quotes", data=body, content_type="multipart/form-data")
    assert (refused.status_code, refused.mimetype) == (status, "application/problem+json")


def test_a_form_past_the_bound_is_refused(post):
    sent = post("/v1/sheets/quotes", b"x" * 1_000_001, "multipart/form-data; boundary=b")
    assert sent.status_code == 413


def test_the_form_must_be_one(post):
    assert post("/v1/sheets/quotes", "{}").status_code == 415


@pytest.mark.parametrize(("path", "status"), [("quotes", 201), ("takeoffs", 200)])
def test_the_examples_of_the_document_are_priced(client, path, status):
    document = client.get("/v1/openapi.json").json
    body = document["paths"][f"/v1/sheets/{path}"]["post"]["requestBody"]["content"]
    example = body["multipart/form-data"]["examples"]["demo"]["value"]
    made = client.post(f"/v1/sheets/{path}", data=example, content_type="multipart/form-data")
    assert (made.status_code, made.mimetype) == (status, "text/csv"), made.text


@pytest.fixture
def price_sheet(client, settings):
    def price_sheet(takeoff, **changes):
        prices = {key: settings[key] for key in ("price_table", "pricing", "on")} | changes
        body = {"takeoff": takeoff, "settings": orjson.dumps(prices).decode()}
        return client.post("/v1/sheets/takeoffs", data=body, content_type="multipart/form-data")

    return price_sheet


def test_the_take_off_of_a_quote_is_priced_as_the_quote_was(client, post, price_sheet):
    address = post("/v1/quotes", request_bytes("quote")).headers["Location"]
    takeoff = client.get(f"{address}/takeoff.csv").text
    priced = price_sheet(takeoff)
    assert (priced.status_code, priced.mimetype) == (200, "text/csv")
    assert priced.data == client.get(f"{address}.csv").data


def test_a_take_off_that_was_changed_is_priced_anew(price_sheet):
    takeoff = "kind,sku,description,ordered,unit_of_measure\ngoods,LK-P40,Post,2,C62\n"
    (row,) = csv.DictReader(io.StringIO(price_sheet(takeoff).text))
    assert (row["quantity"], row["unit_price"], row["amount"]) == ("2", "46.80", "93.60")


def test_what_is_wrong_in_a_take_off_is_told_by_row_and_column(price_sheet):
    takeoff = "kind,sku,description,ordered,unit_of_measure\ngoods,LK-P40,Post,two,C62\n"
    (error,) = price_sheet(takeoff).json["errors"]
    assert (error["pointer"], error["detail"][:24]) == (
        "#/takeoff/2/ordered", "Row 2, column ordered: W",
    )  # fmt: skip
    takeoff = "kind,sku,description,ordered,unit_of_measure\ngoods,NO-SUCH,Post,2,C62\n"
    refused = price_sheet(takeoff)
    assert refused.json["skus"] == ["NO-SUCH"]
    assert refused.json["errors"][0]["pointer"] == "#/settings/price_table/rows"
    (error,) = price_sheet(takeoff, pricing={"labour_rate": 62}).json["errors"]
    assert error["pointer"] == "#/settings/pricing/labour_rate"
