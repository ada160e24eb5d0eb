"""The published and cross-checked values of ``data/layout.json``, by family and id."""

import json
from pathlib import Path
from typing import Any

import pytest

TABLE = Path(__file__).parent / "data" / "layout.json"
FAMILIES: dict[str, list[dict[str, Any]]] = json.loads(TABLE.read_text(encoding="utf-8"))
ROWS = {row["id"]: row for rows in FAMILIES.values() for row in rows}


def given(row_id: str) -> dict[str, Any]:
    return ROWS[row_id]["inputs"]


def within(row_id: str) -> Any:
    """Give the expected value, or values, with their own tolerance, for comparison by ==."""
    row = ROWS[row_id]
    return pytest.approx(row["expected"], abs=row["tolerance"] or 1e-12, rel=0)
