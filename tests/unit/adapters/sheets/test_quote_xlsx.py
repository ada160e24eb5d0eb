import hashlib
import os
import subprocess
import sys
from decimal import Decimal

import pytest

from service.adapters.sheets.quote_xlsx import render
from tests.unit.adapters.sheets import quotes
from tests.unit.adapters.sheets.workbooks import sheets

ONCE = """
import hashlib, sys
from service.adapters.sheets.quote_xlsx import render
from tests.unit.adapters.sheets import quotes
sys.stdout.write(hashlib.sha256(render(quotes.small())).hexdigest())
"""


def lines_sheet(quote):
    return sheets(render(quote))["Quote lines"]


def labelled(cells, label):
    """The amount in the net column beside a label."""
    row = next(address[1:] for address, cell in cells.items() if cell.text == label)
    return cells[f"K{row}"]


def test_every_process_writes_the_same_bytes():
    digests = {
        subprocess.run(
            [sys.executable, "-c", ONCE], capture_output=True, check=True, text=True,
            env={**os.environ, "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2")
    }  # fmt: skip
    assert digests == {hashlib.sha256(render(quotes.small())).hexdigest()}


def test_the_sheets_are_those_an_office_asks_for():
    names = list(sheets(render(quotes.small())))
    assert names == ["Quote lines", "Take-off", "Cut list", "Findings", "Notes"]


# Rules beyond these have formulas of their own, which a spreadsheet program recomputes in
# tests/integration.
PLAIN = [one for one in quotes.answered() if one["terms"]["half"] == "up"]


def test_some_examples_are_plain():
    assert len(PLAIN) >= 3


@pytest.mark.parametrize("quote", [quotes.small(), *PLAIN], ids=lambda q: q["reference"])
def test_formulas_carry_the_figures_of_the_service(quote):
    cells = lines_sheet(quote)
    for line, row in zip(quote["lines"], range(7, 7 + len(quote["lines"])), strict=True):
        assert cells[f"I{row}"].formula == f"ROUND(F{row}*H{row}*(1+1E-15),2)"
        assert cells[f"K{row}"].formula == f"ROUND(I{row}+J{row},2)"
        assert Decimal(cells[f"K{row}"].text) == Decimal(line["net"]["amount"])
        assert Decimal(cells[f"H{row}"].text) == Decimal(line["unit_price"]["amount"])
    currency = quote["price_table"]["currency"]
    for label, key in (("Goods", "goods"), ("Labour", "labour"), ("Net", "net"), ("Tax", "tax"),
                       (f"Total {currency}", "gross")):  # fmt: skip
        cell = labelled(cells, label) if label not in ("Net", "Tax") else of_total(cells, label)
        assert cell.formula.startswith("ROUND(")
        assert Decimal(cell.text) == Decimal(quote["totals"][key]["amount"])
        assert cell.number_format == f"[${currency}] #,##0.00"


def of_total(cells, label):
    """The last cell of that text is the total's; the first heads a column."""
    rows = [address[1:] for address, cell in cells.items() if cell.text == label]
    return cells[f"K{rows[-1]}"]


@pytest.mark.parametrize(
    ("currency", "shown"),
    [("JPY", "[$JPY] #,##0"), ("KWD", "[$KWD] #,##0.000"), ("EUR", "[$EUR] #,##0.00")],
)
def test_amounts_bear_their_currency_and_its_decimals(currency, shown):
    quote = quotes.of_products([(Decimal(3), Decimal("12"))], currency)
    assert labelled(lines_sheet(quote), "Goods").number_format == shown


def test_texts_are_texts_whatever_they_look_like():
    text = '=HYPERLINK("http://example.invalid","x")'
    for cells in sheets(render(quotes.hostile(text))).values():
        for cell in cells.values():
            assert "HYPERLINK" not in cell.formula
            if cell.text == text:
                assert cell.kind == "s"
    found = [c for cells in sheets(render(quotes.hostile("-1"))).values() for c in cells.values()]
    written = [c for c in found if c.text == "-1" and c.kind == "s"]
    assert len(written) > 8
    assert sum(c.quote_prefix for c in written) >= len(written) - 1  # all but a column's heading


def test_numbers_stay_numbers():
    cells = sheets(render(quotes.answered()[0]))["Cut list"]
    heads = {cell.text: address[0] for address, cell in cells.items() if address[1:] == "1"}
    assert cells[f"{heads['Length mm']}2"].kind == "n"


def test_a_product_of_too_many_digits_is_a_figure_and_said():
    quote = quotes.of_products([(Decimal("359.381"), Decimal("529027345"))])
    book = sheets(render(quote))
    cell = book["Quote lines"]["I7"]
    assert (cell.formula, Decimal(cell.text)) == ("", Decimal("190122376273.45"))
    said = [cell.text for cell in book["Notes"].values()]
    assert "Amounts: figures without a formula on all lines." in said


def test_an_amount_no_number_holds_is_text_and_nothing_is_added_up():
    quote = quotes.of_products([(Decimal("100000"), Decimal("999999.999999"))] * 2, "KWD")
    quote["lines"][0]["net"]["amount"] = "1234567890123.456"
    quote["totals"]["gross"]["amount"] = "1234567890123.456"
    book = sheets(render(quote))
    cells = book["Quote lines"]
    assert (cells["K7"].kind, cells["K7"].text) == ("s", "1234567890123.456")
    assert not any(cell.formula for cell in cells.values())
    assert any("more than 15 digits" in cell.text for cell in book["Notes"].values())


@pytest.mark.parametrize("name", quotes.of_rules())
def test_what_no_formula_of_two_cells_gives_stays_a_figure(name):
    quote = quotes.of_rules()[name]
    book = sheets(render(quote))
    cells, said = book["Quote lines"], [cell.text for cell in book["Notes"].values()]
    for line, row in zip(quote["lines"], range(7, 99), strict=False):
        off = sum((Decimal(d["amount"]["amount"]) for d in line["discounts"]), Decimal(0))
        assert Decimal(cells[f"J{row}"].text if off else 0) == -off
        assert Decimal(cells[f"K{row}"].text) == Decimal(line["net"]["amount"])
    figures = name in ("tax per document", "tax included", "compound")
    assert any("figures without a formula" in text for text in said) == figures


def test_a_quote_without_lines_has_totals():
    quote = quotes.of_products([])
    cells = lines_sheet(quote)
    assert Decimal(labelled(cells, "Total USD").text) == 0


def test_notes_carry_the_cautions():
    for quote in quotes.answered():
        said = {cell.text for cell in sheets(render(quote))["Notes"].values()}
        assert set(quote["cautions"]) <= said


@pytest.mark.parametrize(
    ("units", "told"), [("imperial", 'Move it 1/2" (12.7 mm).'), ("metric", "Move it 12.7 mm.")]
)
def test_notes_tell_lengths_in_the_units_of_the_quote(units, told):
    quote = quotes.small() | {"units": units}
    quote["layout"]["notes"] = quote["takeoff"]["notes"] = ["Move it 12.7 mm."]
    said = [cell.text for cell in sheets(render(quote))["Notes"].values()]
    assert said.count(told) == 2
