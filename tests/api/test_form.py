"""The dealer's quote form: its settings, its page, and what it asks with a publishable key."""

import re
from html import unescape

import orjson
import pytest

from service.adapters.storage.form_settings import SqlForms
from service.api.estimates import MOST_INQUIRIES
from service.api.form_page import ASSETS, FILES
from service.usecases.form_settings import FormSettings
from tests.integration.databases import served
from tests.serving import ANY, books_of, client_of, key_for
from tests.shop import AT, FIXED, stock

PAGE = "http://localhost"
SITE = "https://larkmere.example"


@pytest.fixture
def app(tmp_path):
    with served(tmp_path, rate_per_minute=600) as app:
        yield app


@pytest.fixture
def shop(app):
    """A client with the form's key on the form's page, a client of the dealer's own, the order."""
    order = stock(app.extensions["evenbay"].engine)
    key = key_for(app, scopes=("estimates",), publishable=True, origins=(PAGE, SITE))
    form = client_of(app, key)
    form.environ_base["HTTP_ORIGIN"] = PAGE
    return form, client_of(app), order, key


def test_settings_are_kept_once_everything_they_name_is_found(app):
    stock(app.extensions["evenbay"].engine, ready=False)
    client = client_of(app)
    empty = client.get("/v1/form-settings").json
    assert (empty["system"], empty["code"]) == (None, None)
    put = client.put("/v1/form-settings", json=FIXED | {"heading": "Ask us"}, headers=ANY)
    assert put.status_code == 200, put.json
    assert client.get("/v1/form-settings").json == put.json
    assert put.json == FIXED | {"heading": "Ask us", "units": "imperial"}
    actions = [entry["action"] for entry in client.get("/v1/audit").json["entries"]]
    assert "form.changed" in actions


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"system": {"stored": "Nothing"}}, "#/system/stored"),
        ({"price_table": {"stored": "Retail", "version": 7}}, "#/price_table/stored"),
        ({"code": {"code": "IRC", "edition": "1066"}}, "#/code"),
        ({"deck": {}}, "#/deck"),
    ],
)
def test_settings_that_name_nothing_are_refused(app, change, pointer):
    stock(app.extensions["evenbay"].engine, ready=False)
    client = client_of(app)
    put = client.put("/v1/form-settings", json=FIXED | change, headers=ANY)
    assert put.status_code == 422
    assert put.json["errors"][0]["pointer"].startswith(pointer)
    assert client.get("/v1/form-settings").json["system"] is None


def test_a_publishable_key_cannot_touch_the_settings(shop):
    form, *_ = shop
    assert form.put("/v1/form-settings", json=FIXED, headers=ANY).status_code == 403
    assert form.get("/v1/form-settings").status_code == 403


def test_an_estimate_is_the_quote_without_what_is_the_dealers(shop):
    form, dealer, order, _ = shop
    quote = dealer.post("/v1/quotes", json=order).json
    answer = form.post("/v1/estimates", json={"deck": order["deck"]})
    assert answer.status_code == 200, answer.json
    told = answer.json
    assert told["totals"] == quote["totals"]
    assert [line["net"] for line in told["lines"]] == [line["net"] for line in quote["lines"]]
    assert told["railing"]["posts"] == len(quote["layout"]["posts"])
    assert told["findings"]["outcomes"] == quote["compliance"]["outcomes"]
    assert told["findings"]["summary"] == (
        "97 points held against IRC 2021: 60 met, none missed, 37 open because too little was said."
    )
    for word in (b"unit_price", b"LK-P40", b"margin", b'"cost'):
        assert word not in answer.data, word
    assert len(dealer.get("/v1/quotes").json["quotes"]) == 1


def test_what_is_not_met_is_told_in_plain_words_with_its_places(shop):
    form, _, order, _ = shop
    deck = orjson.loads(orjson.dumps(order["deck"]))
    deck["stairs"][0] |= {"risers": 6}
    told = form.post("/v1/estimates", json={"deck": deck}).json["findings"]
    assert told["outcomes"]["not_met"] == sum(len(one["places"]) for one in told["not_met"])
    riser = next(one for one in told["not_met"] if one["section"] == "IRC 2021 R311.7.5.1")
    assert riser["places"] == ['garden stair: 8-3/16"']  # 49 in over 6, to 1/16 in
    assert riser["text"].endswith("Asked for: at most 7-3/4 in.")


def test_the_plan_shows_every_post_and_the_length_of_every_side(shop):
    form, _, order, _ = shop
    told = form.post("/v1/estimates", json={"deck": order["deck"]}).json
    drawing = told["drawing"]
    assert drawing.count('class="post"') == told["railing"]["posts"]
    letters = [unescape(text) for text in re.findall(r">([^<]+)</text>", drawing)]
    sides = [f"{feet}' 0\"{' house' if feet == 12 else ''}" for feet in (20, 8, 8, 6, 12, 14)]
    assert sorted(letters) == sorted(sides)


def test_a_gate_that_the_system_does_not_know_is_told_beside_the_price_and_drawn(shop):
    form, _, order, _ = shop
    deck = orjson.loads(orjson.dumps(order["deck"]))
    gate = {"kind": "gate", "gate": {"name": "side gate", "width": "3 ft"}}
    deck["levels"][0]["edges"][1]["openings"] = [gate]
    told = form.post("/v1/estimates", json={"deck": deck}).json
    assert told["drawing"].count('class="gate"') == 1
    (left_out,) = told["conditions"]
    assert left_out.startswith("side gate is left open")
    without = form.post("/v1/estimates", json={"deck": order["deck"]}).json
    assert (without["conditions"], 'class="gate"' in without["drawing"]) == ([], False)


def test_units_can_be_asked_for(shop):
    form, _, order, _ = shop
    told = form.post("/v1/estimates", json={"deck": order["deck"], "units": "metric"}).json
    assert told["railing"]["length"]["text"].endswith("mm")


def test_what_is_wrong_with_a_deck_is_told_at_its_place(shop):
    form, _, order, _ = shop
    deck = orjson.loads(orjson.dumps(order["deck"]))
    deck["levels"][0]["outline"]["vertices"][1]["x"] = "twenty"
    deck["stairs"][0]["width"] = "4"
    refused = form.post("/v1/estimates", json={"deck": deck})
    assert refused.status_code == 422
    assert [error["pointer"] for error in refused.json["errors"]] == [
        "#/deck/levels/0/outline/vertices/1/x",
        "#/deck/stairs/0/width",
    ]
    other = form.post("/v1/estimates", json={"deck": order["deck"], "system": order["system"]})
    assert other.json["errors"][0]["pointer"] == "#/system"


def test_a_form_that_is_not_set_up_says_so(shop, app):
    form, dealer, order, _ = shop
    gone = FIXED | {"system": {"stored": "Withdrawn"}}
    SqlForms(books_of(app.extensions["evenbay"].engine)).change(FormSettings(fixed=gone), AT)
    for path in ("estimates", "inquiries"):
        body = {"deck": order["deck"]}
        body |= {"contact": CONTACT} if path == "inquiries" else {}
        refused = form.post(f"/v1/{path}", json=body)
        assert (refused.status_code, refused.json["type"]) == (409, "/problems/form-not-ready")
    other = client_of(app, key_for(app, "Osprey Railing"))
    assert other.post("/v1/estimates", json={"deck": order["deck"]}).status_code == 409
    assert dealer.get("/v1/quotes").json["quotes"] == []


CONTACT = {"name": "Ann Arden", "email": "ann@example.com"}


def test_an_inquiry_is_kept_as_a_draft_that_the_dealer_finds(shop):
    form, dealer, order, _ = shop
    sent = form.post("/v1/inquiries", json={"deck": order["deck"], "contact": CONTACT})
    assert sent.status_code == 201, sent.json
    assert sent.json["name"] == "Ann Arden"
    assert sent.json.keys() == {"reference", "name"}
    (found,) = dealer.get(
        "/v1/quotes", query_string={"outside_reference": sent.json["reference"]}
    ).json["quotes"]
    assert found["state"]["state"] == "draft"
    quote = dealer.get(f"/v1/quotes/{found['id']}").json
    assert quote["customer"]["email"] == "ann@example.com"
    assert quote["reference"] == "Inquiry of Ann Arden"
    assert dealer.post(f"/v1/quotes/{found['id']}/recompute").status_code == 200
    assert form.get(f"/v1/quotes/{found['id']}").status_code == 403


def test_an_inquiry_sent_twice_is_kept_once(shop):
    form, dealer, order, _ = shop
    body = {"deck": order["deck"], "contact": CONTACT}
    first, again = (
        form.post("/v1/inquiries", json=body, headers={"Idempotency-Key": "one"}) for _ in range(2)
    )
    assert first.json == again.json
    assert len(dealer.get("/v1/quotes").json["quotes"]) == 1


@pytest.mark.parametrize(
    ("contact", "pointer"),
    [
        ({"name": "Ann"}, "#/contact/email"),
        ({"email": "ann@example.com"}, "#/contact/name"),
        ({"name": "Ann", "email": "ann"}, "#/contact/email"),
    ],
)
def test_a_contact_that_cannot_be_reached_is_refused_at_its_place(shop, contact, pointer):
    form, dealer, order, _ = shop
    refused = form.post("/v1/inquiries", json={"deck": order["deck"], "contact": contact})
    assert refused.status_code == 422
    assert [error["pointer"] for error in refused.json["errors"]] == [pointer]
    assert dealer.get("/v1/quotes").json["quotes"] == []


def test_inquiries_have_a_bound_of_their_own(shop):
    form, _, order, _ = shop
    bad = {"deck": order["deck"], "contact": {"name": "Ann"}}
    statuses = [form.post("/v1/inquiries", json=bad).status_code for _ in range(MOST_INQUIRIES + 1)]
    assert statuses == [422] * MOST_INQUIRIES + [429]
    assert form.post("/v1/estimates", json={"deck": order["deck"]}).status_code == 200


@pytest.mark.parametrize("origin", [None, "null", "https://elsewhere.example", f"{PAGE}:81"])
def test_a_publishable_key_works_on_its_own_pages_alone(shop, app, origin):
    *_, order, key = shop
    strange = client_of(app, key)
    headers = {"Origin": origin} if origin else {}
    # What a browser says of itself besides is no proof of the page it comes from.
    headers |= {"Referer": f"{PAGE}/form", "Sec-Fetch-Site": "same-origin"}
    for path in ("estimates", "inquiries"):
        body = {"deck": order["deck"], "contact": CONTACT}
        assert strange.post(f"/v1/{path}", json=body, headers=headers).status_code == 403


def test_the_page_names_its_dealer_and_may_be_framed_by_the_key_s_sites_alone(shop, app):
    *_, key = shop
    page = app.test_client().get("/form", query_string={"key": key})
    assert page.status_code == 200
    assert "Larkmere Deck &amp; Rail" in page.text
    policy = page.headers["Content-Security-Policy"]
    assert f"frame-ancestors 'self' {PAGE} {SITE}" in policy
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy


def test_the_page_takes_no_secret_key_and_no_unknown_one(shop, app):
    client = app.test_client()
    for key in ("", "evbp_aaaaaaaa_x", key_for(app), 'evbp_"><script>'):
        page = client.get("/form", query_string={"key": key})
        assert page.status_code == 404
        assert page.headers["Content-Security-Policy"].endswith("frame-ancestors 'self'")
        assert "Larkmere" not in page.text
        assert "<script" not in page.text


def test_an_origin_cannot_write_into_the_policy(app):
    bad = ("https://a.example;script-src", "*", "https://ok.example")
    key = key_for(app, scopes=("estimates",), publishable=True, origins=bad)
    policy = app.test_client().get(f"/form?key={key}").headers["Content-Security-Policy"]
    assert policy.endswith("frame-ancestors 'self' https://ok.example")


def test_what_a_dealer_writes_is_text_on_the_page(shop, app):
    *_, key = shop
    settings = FormSettings(heading="<script>alert(1)</script>", fixed=FIXED)
    SqlForms(books_of(app.extensions["evenbay"].engine)).change(settings, AT)
    assert "<script>alert" not in app.test_client().get(f"/form?key={key}").text


def test_the_page_asks_nothing_of_other_hosts_and_holds_no_script_or_style(shop, app):
    *_, key = shop
    client = app.test_client()
    text = client.get(f"/form?key={key}").text
    assert not re.search(r"<script(?![^>]*\bsrc=)|<style|\bstyle=|\bon[a-z]+=", text)
    asked = re.findall(r'(?:src|href)="([^"#]+)"', text)
    assert len(asked) >= 2
    for path in asked:
        assert path.startswith("/form/assets/")
        with client.get(path) as answer:
            assert answer.status_code == 200, path
    for name in ASSETS:
        written = (FILES / name).read_text().replace("http://www.w3.org/2000/svg", "")
        assert not re.search(r"https?:|//[a-z]+\.", written), name


def test_nothing_but_the_page_s_own_files_is_served(app):
    for name in ("form.html", "absent.html", "..%2fdocs.js", "x.css"):
        assert app.test_client().get(f"/form/assets/{name}").status_code == 404
