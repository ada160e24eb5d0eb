"""What a customer reads on a quote: every item and sum of the answer, and never a cost."""

import shutil
import subprocess
from io import BytesIO

import orjson
import pytest
from pypdf import PdfReader

from service.adapters.documents.money_text import figure, money_text, percent
from service.adapters.documents.quote_sheet import quote_sheet
from service.adapters.notes import notes_of
from service.usecases.letterhead import UNNAMED
from service.usecases.print_quote import Document
from tests.unit.adapters.documents.printing import (
    GOLDEN,
    HEAD,
    QUOTES,
    answer,
    layout_of,
    lines_of,
    printed,
    read,
    squeezed,
)


def expected(quote):
    """Give what must be found on the pages."""
    yield quote["id"]
    yield quote["reference"]
    yield quote["price_table"]["name"]
    for line in quote["lines"]:
        yield line["description"]
        yield f"{line['sku']}  {line['description']}"
        yield figure(line["quantity"])
        yield figure(line["unit_price"]["amount"])
        yield figure(line["net"]["amount"])
    totals = quote["totals"]
    for key in ("goods", "labour", "net", "gross"):
        yield money_text(totals[key])
    for tax in totals["taxes"]:
        yield f"{tax['name']}, {percent(tax['rate'])}"
        yield money_text(tax["amount"])
    yield from quote["cautions"]
    yield from notes_of(quote)
    yield from (post["name"] for post in quote["layout"]["posts"])


@pytest.mark.parametrize("name", QUOTES)
def test_every_item_and_sum_is_on_the_pages(name):
    quote = answer(name)
    text = read(printed(Document.QUOTE, quote, layout_of(name)))
    assert [part for part in expected(quote) if squeezed(part) not in text] == []


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler is not installed")
@pytest.mark.parametrize("name", QUOTES)
def test_an_independent_reader_finds_them_too(name, tmp_path):
    quote, file = answer(name), tmp_path / "quote.pdf"
    file.write_bytes(printed(Document.QUOTE, quote, layout_of(name)))
    said = subprocess.run(
        ["pdftotext", "-raw", str(file), "-"], capture_output=True, check=True
    ).stdout.decode()
    missing = [part for part in expected(quote) if squeezed(part) not in squeezed(said)]
    assert missing == []


@pytest.mark.skipif(shutil.which("pdffonts") is None, reason="poppler is not installed")
def test_an_independent_reader_finds_every_font_within(tmp_path):
    file = tmp_path / "quote.pdf"
    file.write_bytes(printed(Document.QUOTE, answer(), layout_of()))
    said = subprocess.run(["pdffonts", str(file)], capture_output=True, check=True).stdout.decode()
    rows = said.splitlines()[2:]
    assert len(rows) == 2
    assert all("DejaVuSansCondensed" in row and row.split()[-5:-2] == ["yes"] * 3 for row in rows)


def test_the_dealer_signs_with_name_address_and_number():
    text = read(printed(Document.QUOTE, answer(), layout_of()))
    for line in (HEAD.name, *HEAD.address, *HEAD.contact, HEAD.registration, HEAD.footer):
        assert squeezed(line) in text
    assert squeezed(f"For {HEAD.name}") in text


def _with(quote, secret):
    """Put a dealer's figures beside everything that has a price."""
    takeoff = quote["takeoff"]
    priced = [quote, quote["totals"], quote["price_table"], takeoff, *quote["cut_plans"]]
    for one in (*priced, *quote["lines"], *takeoff["items"], *takeoff["labour"]):
        one |= {"cost": secret, "margin": secret, "markup": secret, "margin_rate": "0.98765"}
    return quote


@pytest.mark.parametrize("document", Document)
def test_a_cost_or_margin_in_an_answer_is_printed_nowhere(document):
    quote = _with(answer(), {"amount": "98765.43", "currency": "USD"})
    text = read(printed(document, quote, layout_of()))
    assert "98765" not in text
    assert "98,765" not in text


def test_discounts_payments_and_conditions_are_told():
    quote = answer()
    usd = "USD"
    line = quote["lines"][0]
    line["discounts"] = [{"name": "Trade", "amount": {"amount": "60.84", "currency": usd}}]
    quote["totals"]["discount"] = {"amount": "60.84", "currency": usd}
    quote["payments"] = [
        {"due": "on order", "amount": {"amount": "1418.02", "currency": usd}},
        {"due": "on completion", "amount": {"amount": "2127.03", "currency": usd}},
    ]
    quote["conditions"] = ["Carriage is not in the total: the weight is not known."]
    text = read(printed(Document.QUOTE, quote, layout_of()))
    for said in (
        "608.40 less Trade 60.84",
        "Discounts of $60.84 are taken off already.",
        "on order $1,418.02 on completion $2,127.03",
        quote["conditions"][0],
    ):
        assert squeezed(said) in text


def test_amounts_with_tax_are_those_the_customer_pays():
    quote = answer()
    quote["terms"] = {"prices_include_tax": True}
    quote["lines"][0]["gross"] = {"amount": "646.43", "currency": "USD"}
    text = read(printed(Document.QUOTE, quote, layout_of()))
    assert "646.43" in text
    assert squeezed("amounts of items include tax") in text


@pytest.mark.parametrize(
    ("currency", "amount", "said"),
    [
        ("EUR", "12345.60", "€12,345.60"),
        ("GBP", "12345.60", "£12,345.60"),
        ("JPY", "1234560", "¥1,234,560"),
        ("INR", "12345.60", "₹12,345.60"),
        ("KWD", "12345.600", "KWD\u00a012,345.600"),
        ("USD", "-5.00", "−$5.00"),
    ],
)
def test_every_currency_is_printed_with_its_sign_or_code(currency, amount, said):
    assert money_text({"amount": amount, "currency": currency}) == said
    quote = answer()
    quote["totals"]["gross"] = {"amount": amount, "currency": currency}
    text = read(printed(Document.QUOTE, quote, layout_of()))
    assert squeezed(said) in text
    assert squeezed(f"Total {currency}") in text


def test_a_quote_that_cannot_be_drawn_again_is_printed_and_says_so():
    text = read(printed(Document.QUOTE, answer(), None))
    assert squeezed("so no plan is drawn") in text


def test_what_is_signed_stands_above_the_signature_drawing_and_all():
    drawn = read(printed(Document.QUOTE, answer(), layout_of()))
    places = [drawn.index(squeezed(part)) for part in ("Plan main, scale", "Acceptance Quote")]
    assert places == sorted(places)
    assert squeezed("is accepted as written and drawn above") in drawn
    bare = read(printed(Document.QUOTE, answer(), None))
    assert squeezed("is accepted as written above") in bare


@pytest.mark.parametrize("name", QUOTES)
def test_a_plan_and_the_signatures_below_it_stand_on_one_page(name):
    quote = answer(name)
    pages = PdfReader(BytesIO(printed(Document.QUOTE, quote, layout_of(name)))).pages
    last = squeezed(pages[-1].extract_text())
    assert "Acceptance" in last
    assert squeezed("if printed at full size") in last
    assert quote["layout"]["posts"][0]["name"] in last


def test_a_quote_kept_before_newer_members_is_printed():
    quote = answer()
    for key in ("terms", "payments", "conditions"):
        quote.pop(key, None)
    for line in quote["lines"]:
        line.pop("discounts", None)
    quote["totals"] = {
        key: value for key, value in quote["totals"].items() if key not in ("charges", "discount")
    }
    assert money_text(quote["totals"]["gross"]) in read(printed(Document.QUOTE, quote, None))


def test_letters_that_no_font_holds_are_accounted_for():
    quote = answer()
    quote["reference"] = "梁" * 80
    text = read(printed(Document.QUOTE, quote, None))
    assert "□" * 80 in text
    assert squeezed("stands for a letter that the fonts") in text
    assert "□" not in read(printed(Document.QUOTE, answer(), None))


@pytest.mark.parametrize("reference", ["", "W" * 200, "Ж" * 80, "long words " * 18])
def test_any_reference_and_a_dealer_without_a_name_are_set(reference):
    quote = answer()
    quote["reference"] = reference
    text = read(printed(Document.QUOTE, quote, None, UNNAMED))
    assert squeezed(reference) in text


def test_the_pages_are_as_before():
    quote = orjson.loads((GOLDEN / "small_quote.json").read_bytes())
    pages = lines_of(quote_sheet(quote, HEAD, []))
    said = "\n\f\n".join("\n".join(page) for page in pages) + "\n"
    assert said == (GOLDEN / "small_quote_pages.txt").read_text("utf-8")


def test_the_customer_and_a_revision_are_named():
    quote = answer()
    quote["customer"] = {
        "name": "Żaneta Ødegård",
        "company": "",
        "email": "zaneta@example.com",
        "phone": "555 0199",
        "address": ["14 Osprey Lane", "Wexholm"],
    }
    quote |= {"revision": 2, "revises": "00000000-0000-4000-8000-00000000000f"}
    text = read(printed(Document.QUOTE, quote, None))
    told = "Żaneta Ødegård, 14 Osprey Lane, Wexholm, 555 0199, zaneta@example.com"
    assert squeezed(told) in text
    assert squeezed("Revision 2, in place of 00000000-0000-4000-8000-00000000000f") in text
    assert squeezed(told) in read(printed(Document.SITE_SHEETS, quote, layout_of()))
