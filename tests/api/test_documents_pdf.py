"""Printed documents over HTTP, and the letterhead they carry."""

import base64
from io import BytesIO

import pytest
from PIL import Image
from pypdf import PdfReader

from tests.api.replay import request_bytes
from tests.serving import ANY, client_of, key_for

DOCUMENTS = ("quote", "site-sheets", "code-report")
HEAD = {
    "name": "Larkmere Deck & Rail of Wexholm",
    "address": ["3 Quay Street", "Wexholm"],
    "contact": ["Tel. 555 0100"],
    "registration": "Licence 0000",
    "footer": "Thank you for asking us.",
}


@pytest.fixture(scope="module")
def made(app, key):
    answer = client_of(app, key).post(
        "/v1/quotes", data=request_bytes("quote"), content_type="application/json"
    )
    assert answer.status_code == 201
    return answer.json


def address(made, document):
    return f"/v1/quotes/{made['id']}/{document}.pdf"


def words(answer):
    return " ".join(page.extract_text() for page in PdfReader(BytesIO(answer.data)).pages)


def png(wide=40, high=10):
    file = BytesIO()
    Image.new("RGB", (wide, high), "navy").save(file, "PNG")
    return base64.b64encode(file.getvalue()).decode()


@pytest.mark.parametrize("document", DOCUMENTS)
def test_a_quote_is_printed_the_same_each_time(client, made, document):
    answer = client.get(address(made, document))
    assert (answer.status_code, answer.mimetype) == (200, "application/pdf")
    assert answer.headers["Content-Disposition"] == (
        f'inline; filename="{made["id"]}-{document}.pdf"'
    )
    assert made["id"] in words(answer)
    again = client.get(address(made, document))
    assert again.data == answer.data
    assert again.headers["ETag"] == answer.headers["ETag"]
    held = client.get(address(made, document), headers={"If-None-Match": answer.headers["ETag"]})
    assert (held.status_code, held.data) == (304, b"")


@pytest.mark.parametrize("document", DOCUMENTS)
def test_what_is_not_there_is_not_printed(client, document):
    missing = client.get(f"/v1/quotes/00000000-0000-4000-8000-00000000abcd/{document}.pdf")
    assert missing.status_code == 404


@pytest.mark.parametrize("document", DOCUMENTS)
def test_printing_needs_the_scope_of_reading(app, made, document):
    estimates = client_of(app, key_for(app, scopes=("estimates",)))
    assert estimates.get(address(made, document)).status_code == 403
    reader = client_of(app, key_for(app, scopes=("quotes:read",)))
    assert reader.get(address(made, document)).status_code == 200


def test_sums_on_paper_are_those_of_the_answer(client, made):
    text = words(client.get(address(made, "quote")))
    gross = made["totals"]["gross"]["amount"]
    assert f"{float(gross):,.2f}" in text


def test_where_the_layout_comes_out_differently_only_pictures_are_missing(
    client, made, monkeypatch
):
    press = client.application.extensions["evenbay"].press
    monkeypatch.setattr(type(press), "shows", lambda *_: False)
    text = words(client.get(address(made, "quote")))
    assert "so no plan is drawn" in " ".join(text.split())
    refused = client.get(address(made, "site-sheets"))
    assert (refused.status_code, refused.json["type"]) == (409, "/problems/not-reproducible")
    assert client.get(address(made, "code-report")).status_code == 200


def test_a_dealer_signs_by_name_until_a_letterhead_is_set(app):
    client = client_of(app, key_for(app, "Osprey Railing"))
    assert client.get("/v1/letterhead").json == {
        "name": "Osprey Railing",
        "address": [],
        "contact": [],
        "registration": "",
        "footer": "",
        "logo": "",
    }


def test_a_letterhead_is_on_every_document_and_no_other_dealers(app):
    client = client_of(app, key_for(app, "Heron Rail"))
    made = client.post(
        "/v1/quotes", data=request_bytes("quote"), content_type="application/json"
    ).json
    before = client.get(address(made, "quote"))
    changed = client.put("/v1/letterhead", json={**HEAD, "logo": png()}, headers=ANY)
    assert changed.status_code == 200
    assert client.get("/v1/letterhead").json == changed.json == {**HEAD, "logo": png()}
    after = client.get(address(made, "quote"))
    assert after.headers["ETag"] != before.headers["ETag"]
    for document in DOCUMENTS:
        answer = client.get(address(made, document))
        text = words(answer)
        for line in (HEAD["name"], *HEAD["address"], *HEAD["contact"], HEAD["registration"]):
            assert line in text, document
        assert PdfReader(BytesIO(answer.data)).metadata.author == HEAD["name"]
        assert len(PdfReader(BytesIO(answer.data)).pages[0].images) == 1
    other = client_of(app, key_for(app, "Osprey Railing"))
    assert other.get("/v1/letterhead").json["name"] == "Osprey Railing"


def test_setting_a_letterhead_needs_the_scope_of_settings(app):
    writer = client_of(app, key_for(app, scopes=("quotes:read", "quotes:write")))
    assert writer.put("/v1/letterhead", json=HEAD, headers=ANY).status_code == 403


@pytest.mark.parametrize(
    ("logo", "why"),
    [
        pytest.param("####", "PNG in base64", id="no base64"),
        pytest.param("QUJD", "no PNG file", id="no PNG"),
        pytest.param(base64.b64encode(b"\x89PNG\r\n\x1a\n" + b"\0" * 40).decode(), "no PNG file",
                     id="cut short"),
        pytest.param(png(3000, 3000), "9000000|3000 x 3000", id="too large"),
    ],
)  # fmt: skip
def test_a_logo_that_cannot_be_printed_is_refused_beside_its_member(client, logo, why):
    refused = client.put("/v1/letterhead", json={**HEAD, "logo": logo}, headers=ANY)
    assert refused.status_code == 422
    (error,) = refused.json["errors"]
    assert error["pointer"] == "#/logo"
    assert any(part in error["detail"] for part in why.split("|"))


def test_a_picture_with_a_broken_body_is_refused_before_it_reaches_paper(client):
    whole = base64.b64decode(png())
    broken = base64.b64encode(whole[:45]).decode()
    refused = client.put("/v1/letterhead", json={**HEAD, "logo": broken}, headers=ANY)
    assert refused.status_code == 422
