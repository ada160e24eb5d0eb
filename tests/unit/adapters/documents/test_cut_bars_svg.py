import pytest

from service.adapters.documents.cut_bars_svg import render
from service.adapters.documents.extents import wrapped
from service.adapters.documents.labels import SMALL
from tests.unit.adapters.documents.measuring import SVG, Sheet
from tests.unit.adapters.sheets import quotes


@pytest.mark.parametrize("quote", quotes.answered(), ids=lambda quote: quote["reference"])
def test_pieces_are_drawn_in_proportion_where_they_are_sawn(quote):
    sheet = Sheet(render(quote))
    for at, plan in enumerate(quote["cut_plans"], start=1):
        longest = max(bar["length"]["mm"] for bar in plan["bars"])
        by = 273.0 / longest
        for number, bar in enumerate(plan["bars"], start=1):
            outlines = sheet.shapes(f"bar-{at}-{number}", "rail")
            reaches = [(min(x for x, _ in o), max(x for x, _ in o)) for o in outlines]
            whole = (0.0, bar["length"]["mm"] * by)
            pieces = [
                (cut["from_start"]["mm"] * by, (cut["from_start"]["mm"] + cut["length"]["mm"]) * by)
                for cut in bar["cuts"]
            ]
            for found, expected in zip(sorted(reaches), sorted([whole, *pieces]), strict=True):
                assert found == pytest.approx(expected, abs=0.002)


def test_every_bar_is_titled_and_told_to_a_screen_reader():
    quote = quotes.answered()[0]
    sheet = Sheet(render(quote))
    bars = [(i, n, bar) for i, plan in enumerate(quote["cut_plans"], 1)
            for n, bar in enumerate(plan["bars"], 1)]  # fmt: skip
    for i, n, bar in bars:
        assert bar["sku"] in sheet.title(f"bar-{i}-{n}")
        told = sheet.groups[f"bar-{i}-{n}"].find(f"{SVG}desc").text
        assert all(cut["piece"] in told for cut in bar["cuts"])
    assert sheet.root.get("role") == "img"
    assert sheet.root.find(f"{SVG}title").text.startswith("Cut bars of")


def test_the_head_says_to_measure_again_within_the_sheet():
    sheet = Sheet(render(quotes.answered()[0]))
    (said,) = [t.text for t in sheet.root.iter(f"{SVG}text") if "blanks" in (t.text or "")]
    assert said.endswith("Measure again before cutting.")
    assert wrapped(said, SMALL, 273.0) == (said,)


def test_texts_of_a_caller_stay_texts():
    sheet = Sheet(render(quotes.hostile("<script>&\x00")))
    assert not list(sheet.root.iter(f"{SVG}script"))
