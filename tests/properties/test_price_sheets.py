"""A price table that goes out as a sheet and comes back is the same table."""

import csv
import io
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from service.adapters.sheets import price_csv, price_workbook
from service.adapters.storage.price_rows import key_of
from service.api.price_sheets import rows_of
from service.api.schemas.fields import VISIBLE_TEXT
from service.domain.pricing.price_table import PriceRow
from service.domain.pricing.units import UNITS_OF_MEASURE

# XML has no way to hold the two that are no characters.
LETTERS = st.characters(exclude_categories=("Cs", "Cc"), exclude_characters="\ufffe\uffff\u00a0")
RISKY = st.sampled_from(["=", "'=", "''+", "@", "-1", '"', "a;=b", "_x0041_", "1e5", "007", "a,b"])
TEXTS = st.one_of(
    st.text(LETTERS, min_size=1, max_size=12),
    st.builds(str.__add__, RISKY, st.text(LETTERS, max_size=8)),
).filter(lambda text: VISIBLE_TEXT.fullmatch(text) is not None)
AMOUNTS = st.builds(lambda whole: Decimal(whole).scaleb(-6), st.integers(0, 10**15 - 1))
ROWS = st.lists(
    st.builds(
        PriceRow,
        TEXTS,
        AMOUNTS,
        st.sampled_from(sorted(UNITS_OF_MEASURE)),
        cost=st.none() | AMOUNTS,
        min_quantity=AMOUNTS,
        pack_size=st.none() | st.integers(1, 1000),
        tax_class=st.just("") | TEXTS,
        effective_from=st.none() | st.dates(date(1900, 1, 1), date(9999, 12, 31)),
    ),
    min_size=1,
    max_size=5,
    unique_by=lambda row: (row.sku, row.min_quantity, row.effective_from),
)


@pytest.mark.parametrize("form", [price_csv, price_workbook])
@given(rows=ROWS)
@example(rows=[PriceRow("'=1+1", Decimal("12.4"), "C62", tax_class="@x")])
@settings(deadline=None, max_examples=60, suppress_health_check=list(HealthCheck))
def test_what_goes_out_comes_back(form, rows):
    back = rows_of(form.read(form.write(rows, costs=True)))
    assert [key_of(row) for row in back] == [key_of(row) for row in rows]


@given(rows=ROWS)
@settings(deadline=None, max_examples=60)
def test_no_cell_of_a_csv_begins_a_formula(rows):
    text = price_csv.write(rows, costs=True).decode()
    for line in list(csv.reader(io.StringIO(text, newline="")))[1:]:
        assert not any(cell[:1] in ("=", "+", "-", "@") for cell in line)


@given(rows=ROWS)
@settings(deadline=None, max_examples=20)
def test_no_sheet_without_costs_tells_one(rows):
    for form in (price_csv, price_workbook):
        back = rows_of(form.read(form.write(rows, costs=False)))
        assert {row.cost for row in back} == {None}
