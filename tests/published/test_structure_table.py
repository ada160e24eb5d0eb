"""The transcribed values themselves: untouched, sourced, each used by a test of its family."""

import hashlib

from tests.published.structure_table import FAMILIES, ROWS, TABLE


def test_table_is_as_transcribed() -> None:
    digest = hashlib.sha256(TABLE.read_bytes()).hexdigest()
    assert digest == "977b778c280da1cff70388615827878da412eee1fc12928d38a5a5f20178494a"


def test_every_row_has_a_source_and_an_id_of_its_own() -> None:
    assert len(ROWS) == sum(len(rows) for rows in FAMILIES.values()) == 223
    assert all(row["source"] and row["basis"] for row in ROWS.values())
    published = [row for row in ROWS.values() if row["seen"]]
    assert len(published) > 100
