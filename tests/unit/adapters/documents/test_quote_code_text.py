"""What a quote's text says of the code: advice, screening, amendments, memory, near misses."""

import json
from pathlib import Path

import pytest

from service.adapters.documents.columns import WIDTH, shown_width
from service.adapters.documents.quote_code_text import code_lines

EXAMPLES = Path(__file__).parents[4] / "openapi" / "examples"


@pytest.fixture
def checked():
    """A check with its structure and advice, as the service answers it."""
    return json.loads((EXAMPLES / "screened-code-check-response.json").read_text("utf-8"))


def text_of(compliance, structure=None):
    lines = list(code_lines(compliance, structure))
    assert max(map(shown_width, lines)) <= WIDTH
    return " ".join(" ".join(lines).split())


def test_checks_that_do_not_hold_stand_with_their_figures(checked):
    structure = checked["structure"]
    over, left = structure["checks"][0], structure["checks"][1]
    over |= {"outcome": "over", "utilisation": 1.2345}
    left |= {"outcome": "not_assessed", "missing": "structure.post: what it is."}
    text = text_of(checked, structure)
    told = f"{over['result']['text']}, limit {over['limit']['text']}, 1.234 of what is allowed."
    assert f"Over: - {over['name']} under {over['load']}" in text
    assert told in text
    assert f"Not assessed: - {left['name']} under {left['load']}" in text
    assert "Missing: structure.post: what it is." in text
    for caution in structure["cautions"]:
        assert caution in text


def test_checks_that_hold_are_told_by_the_most_they_use(checked):
    structure = checked["structure"]
    text = text_of(checked, structure)
    for name in {check["name"] for check in structure["checks"] if check["outcome"] == "ok"}:
        used = [c["utilisation"] or 0 for c in structure["checks"]
                if (c["name"], c["outcome"]) == (name, "ok")]  # fmt: skip
        assert f"{name} {max(used):.2f}" in text
    counts = structure["outcomes"]
    assert f"{counts['ok']} ok, {counts['over']} over" in text


def test_advice_stands_with_its_cause(checked):
    section = "IRC 2021 Table R301.5 (load.guard.top)"
    advice = {"section": section, "cause": "post bending", "elements": [f"P{n}" for n in range(9)],
              "text": "Alloy of the post: 6063-T5 to 6063-T6."}  # fmt: skip
    text = text_of({**checked, "advice": [advice]})
    assert (
        f"ADVICE {'-' * WIDTH} - {section}, post bending, P0; P1; P2; P3; P4; P5 and 3 more: "
        in text
    )
    assert advice["text"] in text
    assert "STRUCTURE" not in text


def test_a_quote_older_than_advice_and_screening_is_told_without(checked):
    del checked["advice"]
    text = text_of(checked)
    assert "CODE FINDINGS" in text
    assert "ADVICE" not in text


def _finding(**changes):
    return {
        "section": "IRC 2021 R312.1.2", "clause": "guard.height.level", "element": "S1",
        "outcome": "not_met", "measured": {"mm": 914.399999, "text": "3' 0\""},
        "compare": "at_least", "limits": [{"enacted": "36 in"}],
        "margin": {"mm": -0.000001, "text": "0"}, "note": "", "amended": "", "from_memory": False,
        **changes,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({}, "3' 0\" (exactly 914.399999 mm), asked at least 36 in."),
        ({"margin": {"mm": -12.7}, "measured": {"mm": 901.7, "text": "2' 11-1/2\""}},
         "S1: 2' 11-1/2\", asked at least 36 in."),
        ({"amended": "Amended by Nowhere: 36 in in place of 34 in."},
         "asked at least 36 in. Amended by Nowhere: 36 in in place of 34 in."),
        ({"from_memory": True}, "asked at least 36 in. Limit from memory."),
    ],
)  # fmt: skip
def test_findings_say_what_a_reader_must_know(changes, told):
    outcomes = {"not_met": 1}
    text = text_of({"codes": ["IRC 2021"], "outcomes": outcomes, "findings": [_finding(**changes)]})
    assert told in text
