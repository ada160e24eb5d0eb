"""The quote as text: everything that the answer says is there, within 100 columns."""

import copy
import json
from pathlib import Path

import pytest

from service.adapters.documents.columns import WIDTH, broken, cleaned, paragraph, row, shown_width
from service.adapters.documents.quote_text import render

EXAMPLES = Path(__file__).parents[4] / "openapi" / "examples"
SMALL = Path(__file__).parents[3] / "golden" / "small_quote.json"
QUOTES = {
    "small": SMALL,
    "demo": EXAMPLES / "quote-response.json",
    "metric": EXAMPLES / "metric-quote-response.json",
}


@pytest.fixture(params=QUOTES)
def quote(request):
    return json.loads(QUOTES[request.param].read_text("utf-8"))


@pytest.fixture
def small():
    return json.loads(SMALL.read_text("utf-8"))


def item_rows(text):
    """Rows of the item table that open an item, by its number."""
    table = text.split("ITEMS\n")[1].split("Goods")[0].splitlines()[2:]
    return {int(line[:3]): line.split() for line in table if line[:3].strip().isdigit()}


def test_every_line_stands_with_quantity_price_net_and_tax(quote):
    rows = item_rows(render(quote))
    assert list(rows) == [line["number"] for line in quote["lines"]]
    for line in quote["lines"]:
        words = rows[line["number"]]
        assert words[1] == line["quantity"]
        amounts = [line[key]["amount"] for key in ("unit_price", "net", "tax")]
        assert words[-3:] == amounts


def test_every_total_stands(quote):
    words = [line.split() for line in render(quote).splitlines()]
    totals = quote["totals"]
    assert ["Goods", totals["goods"]["amount"]] in words
    assert ["Labour", totals["labour"]["amount"]] in words
    assert ["Net", totals["net"]["amount"]] in words
    assert ["Tax", totals["tax"]["amount"]] in words
    assert ["TOTAL", totals["gross"]["currency"], totals["gross"]["amount"]] in words
    for tax in totals["taxes"]:
        expected = [*tax["name"].split(), "(rate", f"{tax['rate']})", tax["amount"]["amount"]]
        assert expected in words


def flowing(text):
    """The text with its lines joined, as a reader takes it in."""
    return " ".join(text.split())


def test_what_is_not_met_or_not_assessed_is_named_with_clause_and_section(quote):
    text = flowing(render(quote).split("CODE FINDINGS")[1])
    counts = quote["compliance"]["outcomes"]
    assert f"{counts['met']} met" in text
    assert f"{counts['not_assessed']} not assessed" in text
    for finding in quote["compliance"]["findings"]:
        if finding["outcome"] in ("not_met", "not_assessed"):
            assert f"{finding['section']} ({finding['clause']})" in text
            assert finding["element"] in text
            assert flowing(finding["note"]) in text


def test_a_clause_not_met_shows_measured_and_limit(small):
    text = flowing(render(small))
    assert (
        'Not met: - IRC 2021 R312.1.3 (guard.opening.max), S1: 4-1/4", asked less than 4 in.'
        in (text)
    )


def test_cut_plan_lists_every_piece_of_every_bar(quote):
    text = flowing(render(quote).split("CUT PLAN")[1])
    for plan in quote["cut_plans"]:
        assert flowing(plan["material"]) in text
        for bar in plan["bars"]:
            for cut in bar["cuts"]:
                assert f"{cut['piece']} {cut['length']['text']}" in text


def test_steps_notes_cautions_and_links_stand(quote):
    text = flowing(render(quote, address="http://127.0.0.1:8000"))
    for step in quote["layout"]["installation"]:
        assert f"{step['number']} {step['text']}" in text
    said = [*quote["layout"]["notes"], *quote["takeoff"]["notes"], *quote["cautions"]]
    for sentence in said:
        assert flowing(sentence) in text
    assert f"http://127.0.0.1:8000{quote['links']['drawing']}" in text


def test_no_line_is_wider_than_the_page(quote):
    assert max(map(shown_width, render(quote).splitlines())) <= WIDTH


def test_same_quote_gives_the_same_text(quote):
    assert render(quote) == render(copy.deepcopy(quote))


def test_terminal_escapes_in_names_are_harmless(small):
    small["reference"] = "\x1b]0;pwned\x07\u202e job"
    small["lines"][0]["description"] = "\x1b[2Jpost\r\n" + "梁" * 60
    small["layout"]["notes"] = ["a\x9bb"]
    text = render(small)
    assert not set(text) & set("\x1b\x07\x9b\u202e\r")
    assert max(map(shown_width, text.splitlines())) <= WIDTH


def test_costs_without_prices_are_lengths(small):
    plan = small["cut_plans"][0]
    plan |= {"cost_is_length": True, "cost": "9753.6", "proven_optimal": True, "proven": ["cost"]}
    assert "1 bar, 9753.6 mm (proven cheapest), " in render(small)


def test_a_plan_says_how_far_it_is_proven(small):
    plan = small["cut_plans"][0]
    plan["proven"] = ["cost", "bars"]
    assert "(proven cheapest, fewest bars), " in flowing(render(small))
    plan |= {"proven_optimal": False, "proven": [], "lower_bound": "37.5"}
    assert "(no plan costs below 37.50 USD), " in flowing(render(small))


def test_every_reusable_remnant_and_shared_cut_stands(quote):
    text = flowing(render(quote).split("CUT PLAN")[1])
    for plan in quote["cut_plans"]:
        for bar in plan["bars"]:
            kept = bar["reusable"]
            if kept:
                assert f"keep {kept['length']['text']} as {flowing(kept['name'])}" in text
            else:
                assert f"; left {bar['remnant']['text']}" in text


def test_a_remnant_says_where_it_is_punched_and_a_bar_what_its_shared_cuts_save(small):
    bar = small["cut_plans"][0]["bars"][0]
    bar["shared"] = {"mm": 31.75, "text": '1-1/4"'}
    text = flowing(render(small))
    assert 'from picket 2; slanted cuts shared, 1-1/4" saved; keep 2' in text
    assert 'as Top rail remnant 1, first picket 2" from its start' in text
    bar["reusable"] = None
    assert "saved; left 2' 0-3/8\"" in flowing(render(small))


def test_shipping_stands_with_what_its_figures_leave_out(quote):
    text = flowing(render(quote).split("SHIPPING")[1])
    shipping = quote["takeoff"]["shipping"]
    assert f"Weight {shipping['weight']['text']}; " in text
    assert f"({shipping['longest_sku']}) {shipping['longest_package']['text']}" in text
    assert shipping["packages"] is None or f"; {shipping['packages']} packages." in text
    for note in shipping["notes"]:
        assert flowing(note) in text


def test_shipping_that_nothing_is_known_of_is_left_out(small):
    empty = {"weight": None, "longest_package": None, "longest_sku": "", "packages": None}
    small["takeoff"]["shipping"] = {**empty, "notes": []}
    assert "SHIPPING" not in render(small)


@pytest.mark.parametrize(
    ("text", "width", "lines"),
    [
        ("one two", 3, ["one", "two"]),
        ("abcdef", 4, ["abcd", "ef"]),
        ("梁梁梁", 4, ["梁梁", "梁"]),
        ("", 4, [""]),
    ],
)
def test_breaking(text, width, lines):
    assert broken(text, width) == lines


def test_paragraph_hangs_under_its_number():
    lines = paragraph("word " * 40, 6, "12  ")
    assert lines[0].startswith("  12  word")
    assert all(line.startswith("      word") for line in lines[1:])


def test_row_sets_numbers_to_the_right():
    assert row(("1", "a b"), ((3, True), (2, False))) == ["  1 a", "    b"]


def test_cleaning_keeps_letters_of_every_script():
    assert cleaned("Ж אב 梁 é") == "Ж אב 梁 é"
