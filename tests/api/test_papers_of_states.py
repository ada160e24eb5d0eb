"""Papers and workbooks of a quote that is no offer say so; those of one that is say nothing."""

from io import BytesIO

import orjson
import pytest
from openpyxl import load_workbook
from pypdf import PdfReader

PAPERS = ("quote", "site-sheets", "code-report")
WORDS = {
    "draft": "Draft: not an offer",
    "declined": "Declined: no longer an offer",
    "replaced": "Replaced by quote {later}: no longer an offer",
}


@pytest.fixture
def make(post, order):
    def make(**change):
        made = post("/v1/quotes", orjson.dumps(order | change))
        assert made.status_code == 201, made.json
        return made.json["id"]

    return make


@pytest.fixture
def become(client, make):
    """Give a quote that has become something, and the quote that took its place, if one did."""

    def become(state):
        quote = make(draft=state == "draft")
        if state not in ("draft", "replaced", "issued"):
            step = {"declined": "decline", "accepted": "accept"}[state]
            assert client.post(f"/v1/quotes/{quote}/{step}").status_code == 200
        later = ""
        if state == "replaced":
            merge = {"Content-Type": "application/merge-patch+json"}
            address = f"/v1/quotes/{quote}/revisions"
            revised = client.post(address, data=b'{"draft": false}', headers=merge)
            assert revised.status_code == 201, revised.json
            later = revised.json["id"]
            client.post(f"/v1/quotes/{later}/issue")
        assert client.get(f"/v1/quotes/{quote}/state").json["state"] == state
        return quote, later

    return become


def pages(client, quote, paper):
    answer = client.get(f"/v1/quotes/{quote}/{paper}.pdf")
    assert answer.status_code == 200, answer.json
    read = PdfReader(BytesIO(answer.data)).pages
    return [" ".join(page.extract_text().split()) for page in read], answer


@pytest.mark.parametrize("state", WORDS)
def test_every_paper_says_on_every_page_that_it_is_no_offer(client, become, state):
    quote, later = become(state)
    for paper in PAPERS:
        read, _ = pages(client, quote, paper)
        assert WORDS[state].format(later=later) in read[0]
        assert all(state.upper() in page for page in read[1:]), paper


@pytest.mark.parametrize("state", WORDS)
def test_there_is_no_room_to_sign_what_is_no_offer(client, become, state):
    read, _ = pages(client, become(state)[0], "quote")
    assert not any("Signature" in page for page in read)


@pytest.mark.parametrize("state", ["issued", "accepted"])
def test_what_is_an_offer_is_printed_as_ever(client, become, state):
    read, _ = pages(client, become(state)[0], "quote")
    assert any("Signature" in page for page in read)
    said = " ".join(read)
    assert "no longer an offer" not in said
    assert "not an offer" not in said


def test_a_quote_past_its_last_day_says_when_that_was(client, make, monkeypatch):
    quote = make(valid_until="2027-06-30")
    here = client.application.extensions["evenbay"]
    later = here.now().replace(year=2027, month=7, day=1)
    monkeypatch.setattr(type(here), "now", staticmethod(lambda: later))
    read, _ = pages(client, quote, "quote")
    assert "Expired: it was valid until 2027-06-30 and is no longer an offer" in read[0]


def test_a_state_has_its_own_bytes_and_tag_and_keeps_them(client, make):
    quote = make(draft=True)
    _, draft = pages(client, quote, "quote")
    _, again = pages(client, quote, "quote")
    assert (again.data, again.headers["ETag"]) == (draft.data, draft.headers["ETag"])
    held = {"If-None-Match": draft.headers["ETag"]}
    assert client.get(f"/v1/quotes/{quote}/quote.pdf", headers=held).status_code == 304
    assert client.post(f"/v1/quotes/{quote}/issue").status_code == 200
    issued = client.get(f"/v1/quotes/{quote}/quote.pdf", headers=held)
    assert issued.status_code == 200
    assert issued.data != draft.data


def test_a_workbook_says_so_too(client, become):
    quote, _ = become("draft")
    told = texts(client, quote)
    assert told.count("Draft: not an offer.") == 2, "beside the title, and in the notes"
    client.post(f"/v1/quotes/{quote}/issue")
    assert not any("not an offer" in text for text in texts(client, quote))


def texts(client, quote):
    book = load_workbook(BytesIO(client.get(f"/v1/quotes/{quote}.xlsx").data))
    sheets = (book["Quote lines"], book["Notes"])
    return [str(cell) for sheet in sheets for row in sheet.values for cell in row if cell]
