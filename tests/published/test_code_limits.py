"""Every limit of the code files against a table copied apart from them.

Source of ``data/code_limits.csv``: the rows of the project's own collection of codes, which names
for each value where it was read or that it is from memory; the files repeat that. The limits of the
IBC and of Approved Document K on sides, of the NCC on public goings, of the ADA on cross sections
and of Wisconsin stand there in words and were copied by hand.
"""

import csv
from pathlib import Path

import pytest

from service.adapters.code_library import open_library

LIBRARY = open_library()
TABLE = Path(__file__).parent / "data" / "code_limits.csv"
Row = tuple[str, tuple[str, ...], str]
ROWS: dict[tuple[str, str], dict[str, Row]] = {}
with TABLE.open(encoding="utf-8") as table:
    for row in csv.DictReader(table):
        limit = (row["compare"], tuple(row["values"].split()), row["unit"])
        ROWS.setdefault((row["code"], row["edition"]), {})[row["clause"]] = limit


@pytest.mark.parametrize("edition", ROWS, ids=" ".join)
def test_every_limit_is_as_collected(edition: tuple[str, str]) -> None:
    held = {
        clause.key: (clause.compare.value, tuple(limit.value for limit in clause.limits),
                     clause.limits[0].unit)
        for clause in LIBRARY.clauses(*edition)
        if clause.limits
    }  # fmt: skip
    assert held == ROWS[edition]


def test_every_edition_but_the_pool_overlay_is_in_the_table() -> None:
    assert set(LIBRARY.editions()) - ROWS.keys() == {("ISPSC", "2018")}
