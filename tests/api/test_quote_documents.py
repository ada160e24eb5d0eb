"""One quote in every form, by suffix and by Accept."""

import csv
import io
from xml.etree import ElementTree

import ezdxf
import pytest

from service.api.quote_forms import CSV, DXF, OF_QUOTE, PARTS, SVG, XLSX, XML
from tests.api.replay import request_bytes
from tests.integration.databases import served
from tests.serving import ANY, client_of, key_for
from tests.unit.adapters.sheets.workbooks import sheets

FORMS = [*OF_QUOTE, *PARTS]
by_suffix = pytest.mark.parametrize("form", FORMS, ids=lambda form: form.suffix)


@pytest.fixture(scope="module")
def made(app, key):
    response = client_of(app, key).post(
        "/v1/quotes", data=request_bytes("quote"), content_type="application/json"
    )
    assert response.status_code == 201, response.text
    return response


def get(client, made, suffix="", **headers):
    return client.get(made.headers["Location"] + suffix, headers=headers)


@by_suffix
def test_every_form_has_an_address_and_a_tag(client, made, form):
    first = get(client, made, form.suffix)
    assert (first.status_code, first.mimetype) == (200, form.media_type)
    again = get(client, made, form.suffix, **{"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")
    assert get(client, made, form.suffix).data == first.data


@by_suffix
def test_head_tells_what_get_would(client, made, form):
    whole = get(client, made, form.suffix)
    head = client.head(made.headers["Location"] + form.suffix)
    assert (head.status_code, head.data) == (200, b"")
    for name in ("Content-Type", "Content-Length", "ETag"):
        assert head.headers[name] == whole.headers[name]


@pytest.mark.parametrize("form", OF_QUOTE, ids=lambda form: form.suffix)
def test_accept_and_suffix_give_the_same(client, made, form):
    accepted = get(client, made, Accept=form.media_type)
    assert accepted.data == get(client, made, form.suffix).data
    assert accepted.mimetype == form.media_type
    assert "Accept" in accepted.vary


def test_each_form_has_its_own_tag(client, made):
    tags = {get(client, made, Accept=form.media_type).headers["ETag"] for form in OF_QUOTE}
    assert len(tags) == len(OF_QUOTE)


@pytest.mark.parametrize(
    ("accept", "given"),
    [
        ("*/*", "application/json"),
        ("text/*, application/json;q=0.5", CSV),
        (f"{XLSX};q=0.8, {XML};q=0.9", XML),
        (f"image/*;q=0.2, {DXF};q=0.7", DXF),
        ("image/*", SVG),
        ("text/csv; charset=utf-8; header=present", CSV),
        ("text/csv;header=present;q=0.2, application/json;q=0.1", CSV),
        ("application/pdf, */*;q=0.1", None),
    ],
)
def test_the_caller_chooses_by_weight(client, made, accept, given):
    answer = get(client, made, Accept=accept)
    assert answer.status_code == 200
    if given:
        assert answer.mimetype == given


def test_what_nobody_offers_is_refused_with_what_is_offered(client, made):
    refused = get(client, made, Accept="audio/mpeg")
    assert (refused.status_code, refused.mimetype) == (406, "application/problem+json")
    for form in OF_QUOTE:
        assert form.media_type in refused.json["detail"]


def test_documents_say_what_the_quote_says(client, made):
    quote = made.json
    rows = list(csv.DictReader(io.StringIO(get(client, made, ".csv").text)))
    assert [row["net"] for row in rows] == [line["net"]["amount"] for line in quote["lines"]]
    assert "Quote lines" in sheets(get(client, made, ".xlsx").data)
    root = ElementTree.fromstring(get(client, made, ".xml").data)
    assert quote["id"] in [element.text for element in root]
    plot = ezdxf.read(io.TextIOWrapper(io.BytesIO(get(client, made, ".dxf").data), "utf-8"))
    assert not plot.audit().errors
    names = {section["name"] for section in quote["layout"]["sections"]}
    groups = {name for name, _ in plot.groups}
    assert {f"SECTION-{name}" for name in names} <= groups


def test_the_quotation_names_its_seller(tmp_path):
    with served(tmp_path) as alone:
        client = client_of(alone, key_for(alone))
        body = request_bytes("quote")
        made = client.post("/v1/quotes", data=body, content_type="application/json")
        head = {"name": "Larkmere & Sons"}
        assert client.put("/v1/letterhead", json=head, headers=ANY).status_code == 200
        root = ElementTree.fromstring(get(client, made, ".xml").data)
    names = [element.text for element in root.iter() if element.tag.endswith("}Name")]
    assert names[0] == "Larkmere & Sons"


@by_suffix
def test_a_file_has_a_name_and_a_picture_runs_nothing(client, made, form):
    answer = get(client, made, form.suffix)
    named = answer.headers.get("Content-Disposition", "")
    assert made.json["id"] in named or form.suffix == ".json"
    policy = answer.headers.get("Content-Security-Policy", "")
    assert policy.startswith("default-src 'none'") == (form.media_type == SVG)


@by_suffix
def test_a_quote_that_is_not_there_has_no_documents(client, form):
    answer = client.get(f"/v1/quotes/00000000-0000-4000-8000-00000000abcd{form.suffix}")
    assert (answer.status_code, answer.mimetype) == (404, "application/problem+json")


@by_suffix
def test_documents_are_for_those_who_may_read_quotes(app, made, form):
    answer = app.test_client().get(made.headers["Location"] + form.suffix)
    assert answer.status_code == 401


def test_the_answer_links_every_document_of_the_quote(client, made):
    links = dict(made.json["links"])
    types = {}
    for name, address in links.items():
        if address is None:
            assert name == "revises"
            continue
        answer = client.get(address)
        assert answer.status_code == 200, (name, address)
        types[name] = answer.mimetype
    assert types == {
        "self": "application/json",
        "state": "application/json",
        "drawing": SVG,
        "cut_bars": SVG,
        "dxf": DXF,
        "pdf": "application/pdf",
        "site_sheets": "application/pdf",
        "code_report": "application/pdf",
        "csv": CSV,
        "takeoff": CSV,
        "cut_list": CSV,
        "findings": CSV,
        "xlsx": XLSX,
        "ubl": XML,
    }


@pytest.mark.parametrize("form", OF_QUOTE, ids=lambda form: form.suffix)
def test_each_form_points_to_the_others(client, made, form):
    # RFC 8288, section 3; "alternate" is of its registry.
    links = links_of(get(client, made, Accept=form.media_type))
    assert {one["type"] for one in links.values()} == {
        other.media_type for other in OF_QUOTE if other is not form
    }
    for address, one in links.items():
        assert one["rel"] == "alternate"
        assert client.get(address).mimetype == one["type"]


def test_a_quote_just_made_points_to_its_other_forms(made):
    assert len(links_of(made)) == len(OF_QUOTE) - 1


def test_a_repeated_request_points_to_them_again(client):
    sent = {"data": request_bytes("quote"), "content_type": "application/json"}
    sent["headers"] = {"Idempotency-Key": "links-once"}
    first, again = (client.post("/v1/quotes", **sent) for _ in range(2))
    assert first.headers["Location"] == again.headers["Location"]
    assert first.headers["Link"] == again.headers["Link"]


def links_of(response):
    links = [link for value in response.headers.getlist("Link") for link in value.split(", ")]
    found = {}
    for link in links:
        address, *parameters = link.split("; ")
        pairs = (parameter.split("=", 1) for parameter in parameters)
        found[address.strip("<>")] = {name: value.strip('"') for name, value in pairs}
    return found
