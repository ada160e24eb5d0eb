import csv
import io
import re
from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from service.adapters.sheets import tables
from service.adapters.sheets.csv_text import neutralised, read, render, restored
from tests.unit.adapters.sheets import quotes

TABLES = [
    tables.lines_table,
    tables.takeoff_table,
    tables.cuts_table,
    tables.findings_table,
]
LEADS = "=+-@＝＋－＠\t\r\n"
# Blanks, quotes, separators and what begins a formula, thickly sown among other letters.
texts = st.text(st.sampled_from("=+-@＝＋－＠\t\r\n ';,\"aZ9é|") | st.characters(codec="utf-8"))


@given(texts)
def test_what_is_neutralised_comes_back(text):
    assert restored(neutralised(text)) == text


@given(texts)
@example("post;=1+1")
@example('post; "@x')
def test_no_cell_begins_a_formula_under_either_separator(text):
    for cell in re.split("[;\t\r\n]", neutralised(text)):
        assert not re.match(f'["\\s]*[{re.escape(LEADS)}]', cell)


@pytest.mark.parametrize("lead", LEADS)
def test_each_lead_is_neutralised(lead):
    written = render(tables.lines_table(quotes.hostile(f"{lead}cmd|' /C calc'!A0"))).decode()
    cells = [cell for row in csv.reader(io.StringIO(written, newline="")) for cell in row]
    assert cells.count(f"'{lead}cmd|' /C calc'!A0") == 6
    assert not any(cell.startswith(lead) for cell in cells)


@given(st.lists(st.lists(texts | st.none() | st.integers() | st.decimals(-9, 9, places=4))))
def test_another_reader_finds_every_cell(cells):
    columns = tuple("abc")
    rows = tuple(tuple((*row, None, None, None)[:3]) for row in cells)
    written = render(tables.Table("any", columns, rows)).decode("utf-8")
    found = list(csv.reader(io.StringIO(written, newline=""), strict=True))
    assert found[0] == list(columns)
    shown = [
        ["" if c is None else neutralised(c) if isinstance(c, str) else format(c, "f")
         if isinstance(c, Decimal) else str(c) for c in row]
        for row in rows
    ]  # fmt: skip
    assert found[1:] == shown


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize(
    "quote", [quotes.small(), *quotes.answered()], ids=lambda q: q["reference"]
)
def test_lines_end_as_rfc_4180_has_it_and_numbers_stand_bare(table, quote):
    written = render(table(quote)).decode("utf-8")
    assert written.endswith("\r\n")
    assert "\n" not in written.replace("\r\n", "")
    for record in csv.reader(io.StringIO(written, newline=""), quoting=csv.QUOTE_NONNUMERIC):
        numbers = [cell for cell in record if isinstance(cell, float)]
        assert len(record) == len(table(quote).columns)
        assert record == list(table(quote).columns) or numbers or "finding" in table.__name__


def test_rows_are_read_with_their_lines():
    text = '\ufeffa,b\r\n1,"two\r\nlines"\r\n\r\n"\'=x",3\r\n'
    assert list(read(text)) == [(1, ["a", "b"]), (2, ["1", "two\r\nlines"]), (5, ["=x", "3"])]


def test_an_open_quote_is_named_with_its_line():
    with pytest.raises(ValueError, match="line 2"):
        list(read('a,b\n"open,2\n'))


def test_the_lines_hold_every_amount_of_the_quote():
    for quote in quotes.answered():
        rows = list(csv.DictReader(io.StringIO(render(tables.lines_table(quote)).decode())))
        assert [row["net"] for row in rows] == [line["net"]["amount"] for line in quote["lines"]]
        assert sum(Decimal(row["net"]) for row in rows) == Decimal(quote["totals"]["net"]["amount"])
        assert sum(Decimal(row["tax"]) for row in rows) == Decimal(quote["totals"]["tax"]["amount"])


def test_the_cut_list_holds_every_cut_with_its_picket_and_angle():
    quote = next(q for q in quotes.answered() if q["layout"]["stairs"])
    rows = list(csv.DictReader(io.StringIO(render(tables.cuts_table(quote)).decode())))
    cuts = [c for p in quote["cut_plans"] for bar in p["bars"] for c in bar["cuts"]]
    assert [row["piece"] for row in rows] == [cut["piece"] for cut in cuts]
    assert [float(row["length_mm"]) for row in rows] == [cut["length"]["mm"] for cut in cuts]
    assert [row["first_picket"] for row in rows] == [
        "" if cut["first_picket"] is None else str(cut["first_picket"]) for cut in cuts
    ]
    sloped = {rail["name"]: rail["saw_deg"] for section in quote["layout"]["sections"]
              for rail in section["rails"] if rail["saw_deg"]}  # fmt: skip
    assert sloped
    assert {row["piece"]: float(row["saw_deg"]) for row in rows if float(row["saw_deg"])} == sloped


def test_findings_standing_alone_carry_the_cautions_of_the_quote():
    for quote in quotes.answered():
        rows = list(csv.DictReader(io.StringIO(render(tables.findings_sheet(quote)).decode())))
        told = [row["note"] for row in rows if row["outcome"] == "caution"]
        assert told == quote["cautions"]
        assert len(rows) == len(quote["compliance"]["findings"]) + len(told)
        assert not any(row["clause"] for row in rows if row["outcome"] == "caution")


def test_each_finding_names_where_its_clause_was_read():
    for quote in quotes.answered():
        held = {
            (f"{one['code']} {one['edition']} {one['section']}", one["key"]): one["source"]
            for one in quote["compliance"]["clauses"]
        }
        rows = csv.DictReader(io.StringIO(render(tables.findings_table(quote)).decode()))
        for row in rows:
            assert row["source"] == held[row["section"], row["clause"]] != ""


def test_findings_are_all_listed():
    for quote in quotes.answered():
        rows = list(csv.DictReader(io.StringIO(render(tables.findings_table(quote)).decode())))
        assert [row["outcome"] for row in rows] == [
            finding["outcome"] for finding in quote["compliance"]["findings"]
        ]
