"""Byte for byte: small quotes as CSV and UBL, kept in tests/golden."""

from pathlib import Path

import pytest

from service.adapters.sheets import csv_text, quote_ubl, tables
from tests.unit.adapters.sheets import quotes

GOLDEN = Path(__file__).parents[3] / "golden"
RULED = quotes.of_rules()["discounts and a minimum"]
WRITTEN = {
    "ruled_quote_lines.csv": lambda _quote: csv_text.render(tables.lines_table(RULED)),
    "ruled_quote.xml": lambda _quote: quote_ubl.render(RULED, seller="Larkmere Deck & Rail"),
    "small_quote_cuts.csv": lambda quote: csv_text.render(tables.cuts_table(quote)),
    "small_quote_findings.csv": lambda quote: csv_text.render(tables.findings_sheet(quote)),
    "small_quote.xml": quote_ubl.render,
}


@pytest.mark.parametrize("name", WRITTEN)
def test_the_document_is_as_before(name):
    assert WRITTEN[name](quotes.small()) == (GOLDEN / name).read_bytes()
