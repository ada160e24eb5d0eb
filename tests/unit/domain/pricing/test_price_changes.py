"""What differs between two versions of a price table."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.pricing.price_changes import percent, price_changes, told
from service.domain.pricing.price_table import PriceRow

MARCH = date(2026, 3, 1)
ROWS = st.builds(
    PriceRow,
    st.sampled_from("ABC"),
    st.sampled_from([None, Decimal(1), Decimal(2)]),
    st.sampled_from(["C62", "EA"]),
    cost=st.sampled_from([None, Decimal(1)]),
    min_quantity=st.sampled_from([Decimal(0), Decimal(10)]),
    effective_from=st.sampled_from([None, MARCH]),
)
VERSIONS = st.lists(ROWS, max_size=8, unique_by=lambda r: (r.sku, r.min_quantity, r.effective_from))


@given(VERSIONS, VERSIONS)
def test_the_changes_lead_from_the_old_rows_to_the_new(old, new):
    changes = price_changes(old, new)
    left = [row for row in old if row not in changes.removed]
    moved = {one.old: one.new for one in changes.changed}
    after = {moved.get(row, row) for row in left} | set(changes.added)
    assert after == set(new)
    assert all(one.members and one.old != one.new for one in changes.changed)
    count = len(changes.added) + len(changes.removed) + len(changes.changed)
    assert len(told(changes)) == count
    assert bool(count) == (set(old) != set(new))


def test_each_kind_of_change_is_told():
    old = [PriceRow("A", Decimal("12.40"), "C62"), PriceRow("B", Decimal(1), "C62")]
    new = [
        PriceRow("A", Decimal("13.02"), "C62", cost=Decimal(7), tax_class="goods"),
        PriceRow("A", Decimal(11), "C62", min_quantity=Decimal(10), effective_from=MARCH),
    ]
    assert told(price_changes(old, new)) == (
        "A from 10 as of 2026-03-01 is new.",
        "B is gone.",
        "A: unit_price from 12.40 to 13.02 (+5.00 %); cost from nothing to 7; "
        "tax_class from nothing to goods.",
    )


@pytest.mark.parametrize(
    ("old", "new", "rise"),
    [("10", "9", "-10.00"), ("3", "4", "33.33"), ("0", "4", None), ("4", "0", "-100.00")],
)
def test_a_rise_is_a_part_of_the_old_price(old, new, rise):
    assert percent(Decimal(old), Decimal(new)) == (rise and Decimal(rise))
    assert percent(None, Decimal(new)) is None
    assert percent(Decimal(old), None) is None
