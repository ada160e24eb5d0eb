"""Gates, handrails, blocks and surveys of the examples, told in a quote's text."""

import json
from pathlib import Path

import pytest

from service.adapters.documents.columns import WIDTH, shown_width
from service.adapters.documents.quote_layout_text import counted, layout_lines
from service.adapters.documents.quote_text import render

ROOT = Path(__file__).parents[4]
EXAMPLES = ROOT / "openapi" / "examples"
KEYS = ("gates", "handrails", "blocks", "surveys")


def layout_of(name):
    answer = json.loads((EXAMPLES / f"{name}-layout-response.json").read_bytes())
    return answer.get("layout", answer)


def text_of(layout):
    quote = json.loads((ROOT / "tests" / "golden" / "small_quote.json").read_bytes())
    quote["layout"] |= {key: layout.get(key, []) for key in KEYS}
    return render(quote)


@pytest.mark.parametrize(
    ("name", "keys"),
    [
        pytest.param("landing", {"handrails", "surveys"}, id="a stair with a landing"),
        pytest.param("surveyed", {"gates", "surveys"}, id="taped with a gate"),
        pytest.param("framed", {"blocks"}, id="framed"),
    ],
)
def test_what_the_layout_has_is_told_within_the_page(name, keys):
    layout = layout_of(name)
    assert keys <= {key for key in KEYS if layout[key]}
    text = text_of(layout)
    flowing = " ".join(text.split())
    for gate in layout["gates"]:
        assert f"{gate['name']}, level {gate['level']}, edge {gate['edge']}" in flowing
        assert f"leaf {gate['leaf_width']['text']} wide" in flowing
        assert f"hangs on the {gate['hinge']}, on {gate['hinge_post']}," in flowing
        assert f"swings {gate['swing']}." in flowing
    for rail in layout["handrails"]:
        pieces = ", ".join(piece["text"] for piece in rail["pieces"])
        assert f"{rail['name']}, {rail['stair']}, {rail['side']} side" in flowing
        assert f"pieces {pieces}; {len(rail['brackets'])} brackets" in flowing
    for survey in layout["surveys"]:
        assert f"Level {survey['level']}, by sides and diagonals: misclosure" in flowing
        assert f"1 in {survey['precision']}" in flowing
    assert max(map(shown_width, text.splitlines())) <= WIDTH


def test_blocks_of_one_size_are_told_together():
    blocks = layout_of("framed")["blocks"]
    lines = " ".join(" ".join(layout_lines({"blocks": blocks})).split())
    assert sum(int(part.split()[0]) for part in lines.split(" - ")[1:]) == len(blocks)
    for block in blocks:
        assert f"{block['name']}," in lines or f" {block['name']} " in lines
        assert f" {block['length']['text']} long" in lines


def test_many_blocks_of_one_size_are_counted():
    block = layout_of("framed")["blocks"][0]
    blocks = [block | {"name": f"B{i}", "posts": [f"P{i}"]} for i in range(1, 31)]
    lines = " ".join(" ".join(layout_lines({"blocks": blocks})).split())
    assert "30 blocks" in lines
    assert "B12 and 18 more, under P1," in lines
    assert "B13" not in lines


def test_a_quote_stored_before_there_were_such_things_leaves_them_out():
    assert list(layout_lines({})) == []
    assert list(layout_lines({key: [] for key in KEYS})) == []


def test_a_deck_without_stairs_counts_none_and_flights_are_one_stair():
    layout = json.loads((EXAMPLES / "metric-quote-response.json").read_bytes())["layout"]
    assert counted(layout) == "10 posts, 8 sections, 90 pickets"
    names = ("garden stair flight 1", "garden stair flight 2", "side stair")
    flights = [{"name": name} for name in names]
    assert counted({**layout, "stairs": flights}) == "10 posts, 8 sections, 90 pickets, 2 stairs"
