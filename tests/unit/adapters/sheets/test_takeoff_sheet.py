from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.adapters.sheets import csv_text, tables
from service.adapters.sheets.takeoff_sheet import read_takeoff
from service.api.presenters.takeoff import present_takeoff
from service.domain.takeoff.parts import Item, LabourItem
from service.domain.takeoff.take_off import Takeoff
from service.usecases.orders import Units
from service.usecases.sheets import Place, UnreadableSheet

words = st.from_regex(r"[=+@'A-Za-z;\-][ -~é]{0,20}[a-z]", fullmatch=True)
numbers = st.decimals(1, 10**6, places=3)
items = st.builds(
    Item, words, words, words, numbers, numbers, st.sampled_from(["C62", "MTR", "PR"]),
    st.integers(1, 100), st.just(("P1", "S1 top")), st.none() | st.integers(1, 10**10),
    waste=numbers,
)  # fmt: skip
tasks = st.builds(LabourItem, words, st.integers(1, 9000).map(lambda n: Decimal(n) * 6 / 10),
                  st.just(("P1",)))  # fmt: skip


@given(st.lists(items, max_size=4), st.lists(tasks, max_size=3))
def test_a_take_off_comes_back_from_its_own_sheet(items, tasks):
    taken = Takeoff(tuple(items), tuple(tasks), (), (), ())
    quote = {"takeoff": present_takeoff(taken, Units.METRIC)}
    sheet = read_takeoff(csv_text.render(tables.takeoff_table(quote)).decode())
    assert sheet.items == taken.items
    assert [(t.task, t.hours, t.elements) for t in sheet.labour] == [
        (t.task, t.hours, t.elements) for t in tasks
    ]


HEAD = "kind,sku,description,ordered,unit_of_measure,pack_size\r\n"


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("goods,A,Post,three,C62,", "ordered"),
        ("goods,A,Post,-3,C62,", "ordered"),
        ("goods,A,Post,1e3,C62,", "ordered"),
        ("goods,A,Post,3,PK,", "unit_of_measure"),
        ("goods,A,Post,3,C62,0", "pack_size"),
        ("goods,,Post,3,C62,", "sku"),
        ("labour,,Set posts,3,C62,", "unit_of_measure"),
        ("gift,A,Post,3,C62,", "kind"),
        ("goods,A,,3,C62,", "description"),
    ],
)
def test_a_cell_that_does_not_fit_is_named(row, column):
    with pytest.raises(UnreadableSheet) as refusal:
        read_takeoff(HEAD + "goods,A,Post,3,C62,1\r\n" + row + "\r\n")
    assert [place for place, _ in refusal.value.complaints] == [Place(3, column)]


@pytest.mark.parametrize("sheet", ["", "kind,ordered\r\n", "kind,colour\r\ngoods,red\r\n", 'a,"'])
def test_a_sheet_without_its_headings_is_refused(sheet):
    with pytest.raises(UnreadableSheet, match="Row 1"):
        read_takeoff(sheet)


def test_a_take_off_saved_with_semicolons_is_told_so():
    with pytest.raises(UnreadableSheet, match="parted by semicolons"):
        read_takeoff('"kind";"sku"\r\n"goods";"LK-P40"\r\n')
