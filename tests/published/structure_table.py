"""The published and cross-checked values of ``data/structure.json``, by family and id."""

import json
from pathlib import Path
from typing import Any

import pytest

TABLE = Path(__file__).parent / "data" / "structure.json"
FAMILIES: dict[str, list[dict[str, Any]]] = json.loads(TABLE.read_text(encoding="utf-8"))
ROWS = {row["id"]: row for rows in FAMILIES.values() for row in rows}

INCH = 25.4  # mm, exact
POUND = 4.4482216152605  # N, exact
KSI = 6.894757293168361  # MPa


def value(row_id: str) -> Any:
    return ROWS[row_id]["expected"]


def given(row_id: str) -> dict[str, Any]:
    return ROWS[row_id]["inputs"]


def within(row_id: str) -> Any:
    """Give the expected value with its own tolerance, for comparison by ==."""
    row = ROWS[row_id]
    return pytest.approx(row["expected"], abs=row["tolerance"] or 1e-12, rel=0)


def ids(family: str, prefix: str = "") -> list[str]:
    return [row["id"] for row in FAMILIES[family] if row["id"].startswith(prefix)]
