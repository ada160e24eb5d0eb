"""Limits of movement, test loads and loads of guards.

Sources, by id in ``data/structure.json``:
- E985: limits of ASTM E985 as quoted in an engineers' archive and two forums.
- BS6180: BS 6180:1999 6.4.1. TEST: trade articles on guard testing, 2.5 times the load.
- INFILL-LOAD, GUARD-LOAD: Table R301.5 as Washington enacted it (WAC 51-51-0301) and others quote.
"""

import pytest

from service.adapters.code_library import open_library
from service.domain.structure.members import (
    BS_6180_MM,
    TEST_FACTOR,
    e985_downward_mm,
    e985_mid_rail_mm,
    e985_post_mm,
)
from tests.published.structure_table import given, ids, value, within

LIMITS = {
    "MID": lambda case: e985_mid_rail_mm(case["h_in"], case["l_in"]),
    "POST": lambda case: e985_post_mm(case["h_in"]),
    "VERT": lambda case: e985_downward_mm(case["l_in"]),
}


@pytest.mark.parametrize("row", ids("E985"))
def test_e985(row: str) -> None:
    assert LIMITS[row.split("-")[1]](given(row)) == within(row)


def test_bs_6180() -> None:
    assert within("BS6180") == BS_6180_MM


@pytest.mark.parametrize("row", ids("TEST"))
def test_test_load(row: str) -> None:
    assert TEST_FACTOR * given(row)["P_lb"] == within(row)


@pytest.mark.parametrize(
    ("key", "row"), [("load.guard.infill", "INFILL-LOAD"), ("load.guard.top", "GUARD-LOAD")]
)
def test_loads_of_the_irc(key: str, row: str) -> None:
    library = open_library()
    for edition in ("2018", "2021", "2024"):
        (clause,) = [c for c in library.clauses("IRC", edition) if c.key == key]
        assert (float(clause.limits[0].value), clause.limits[0].unit) == (value(row), "lb")
