"""Example requests that ship with the package: the ones that the documentation shows."""

from pathlib import Path
from typing import Any

import orjson

DEMO = Path(__file__).parents[1] / "data" / "demo"


def example_request(name: str) -> Any:
    """Give the demo request of one resource, such as "quote"."""
    return orjson.loads((DEMO / f"{name}-request.json").read_bytes())


def example_answer(name: str, summary: str) -> dict[str, Any]:
    """Give an answer as the document shows it, such as that of "repricing/finished"."""
    value = orjson.loads((DEMO / f"{name}-response.json").read_bytes())
    return {name.rpartition("/")[2]: {"summary": summary, "value": value}}
