"""Infill other than pickets in words, from the example of a cable quote."""

import json
from pathlib import Path

from service.adapters.documents.quote_text import render

EXAMPLES = Path(__file__).parents[4] / "openapi" / "examples"


def test_a_cable_quote_counts_its_cables():
    """8 level cables in three runs and 7 on each stair side: 76 ends."""
    quote = json.loads((EXAMPLES / "cable-quote-response.json").read_bytes())
    assert "11 posts, 9 sections, 38 cables, 1 stair" in render(quote)


def test_a_quote_stored_before_there_was_other_infill_counts_its_pickets():
    quote = json.loads((EXAMPLES / "quote-response.json").read_bytes())
    counted = sum(section["pickets"]["count"] for section in quote["layout"]["sections"])
    del quote["layout"]["cables"]
    for section in quote["layout"]["sections"]:
        del section["infill"]
    assert f"{counted} pickets" in render(quote)
