"""What an inspector reads: each finding with clause, limit, margin, source, reading."""

import orjson
import pytest

from service.adapters.documents.code_clauses_sheet import asked
from service.usecases.print_quote import Document
from tests.unit.adapters.documents.printing import (
    GOLDEN,
    QUOTES,
    answer,
    printed,
    read,
    screened,
    squeezed,
)


def expected(quote):
    """Give what must be found on the pages."""
    compliance = quote["compliance"]
    for outcome, count in compliance["outcomes"].items():
        yield f"{outcome.replace('_', ' ').capitalize()} {count}"
    found = {(finding["section"], finding["clause"]) for finding in compliance["findings"]}
    for finding in compliance["findings"]:
        yield finding["section"]
        yield finding["element"]
        yield finding["note"]
        measured, margin = (
            finding[key]["text"] if finding[key] else "–" for key in ("measured", "margin")
        )
        outcome = finding["outcome"].replace("_", " ")
        yield f"{outcome}{measured}{asked(finding)}{margin}{finding['note'] or '–'}"
    for clause in compliance["clauses"]:
        section = f"{clause['code']} {clause['edition']} {clause['section']}"
        if (section, clause["key"]) in found:
            yield f"{section}: {clause['key']}{clause['rule']}"
            yield clause["source"]
            yield clause["reading"]
            yield clause["how_measured"]
    yield from (advice["text"] for advice in compliance["advice"])
    yield from quote["cautions"]
    for number, check in enumerate((quote["structure"] or {}).get("checks", ()), start=1):
        yield f"{number}. {check['name']}: {check['outcome'].replace('_', ' ')}"
        yield check["formula"]
        yield check["source"]
        yield check["missing"]
        yield from check["assumptions"]
        yield from (each["meaning"] + each["text"] for each in check["inputs"])
        for value in filter(None, (check["result"], check["limit"])):
            yield f"{value['name']} = {value['text']}, {value['meaning']}"
        if check["utilisation"] is not None:
            yield f"Used {check['utilisation']:.4g}"


@pytest.mark.parametrize("name", [*QUOTES, "screened"])
def test_every_finding_check_and_source_is_in_the_report(name):
    quote = screened() if name == "screened" else answer(name)
    text = read(printed(Document.CODE_REPORT, quote))
    assert [part for part in expected(quote) if squeezed(part) not in text] == []


def test_a_source_is_printed_once_and_named_by_its_number():
    quote = answer()
    text = read(printed(Document.CODE_REPORT, quote))
    sources = {c["source"] for c in quote["compliance"]["clauses"]}
    repeated = [s for s in sources if text.count(squeezed(s)) > 1]
    assert repeated == []
    assert squeezed("Source source 1") in text


def test_what_is_missing_stands_beside_what_was_not_assessed():
    quote = answer()
    open_ones = [f for f in quote["compliance"]["findings"] if f["outcome"] == "not_assessed"]
    missing = {
        clause["key"]: clause["missing"]
        for clause in quote["compliance"]["clauses"]
        if clause["missing"]
    }
    text = read(printed(Document.CODE_REPORT, quote))
    told = [missing[f["clause"]] for f in open_ones if f["clause"] in missing]
    assert len(told) > 5
    assert [one for one in told if squeezed(one) not in text] == []


def test_what_is_missing_is_told_even_where_the_note_does_not_say_it():
    quote = answer()
    finding = next(f for f in quote["compliance"]["findings"] if f["outcome"] == "not_assessed")
    for clause in quote["compliance"]["clauses"]:
        if clause["key"] == finding["clause"]:
            clause["missing"] = "The height of the third lantern."
    text = read(printed(Document.CODE_REPORT, quote))
    assert squeezed("Missing: The height of the third lantern.") in text


def test_a_limit_from_memory_is_said_to_be_one():
    quote = answer()
    recalled = [c for c in quote["compliance"]["clauses"] if c["from_memory"]]
    assert recalled
    text = read(printed(Document.CODE_REPORT, quote))
    assert squeezed("This limit was read in no copy of the code: confirm it in print.") in text
    count = sum(f["from_memory"] for f in quote["compliance"]["findings"])
    assert squeezed(f"{count} findings rest on a limit that was read in no copy") in text


def test_a_clause_not_met_is_told_first_with_what_was_measured():
    quote = answer()
    finding = next(
        f for f in quote["compliance"]["findings"] if f["clause"] == "guard.height.level"
    )
    finding["outcome"] = "not_met"
    text = read(printed(Document.CODE_REPORT, quote))
    told = squeezed(f"{finding['measured']['text']}, asked {asked(finding)}.")
    assert text.index(squeezed("Not met")) < text.index(told) < text.index("Findings" + "Rules")


def test_a_quote_kept_before_newer_members_has_a_report():
    quote = orjson.loads((GOLDEN / "small_quote.json").read_bytes())
    text = read(printed(Document.CODE_REPORT, quote))
    for finding in quote["compliance"]["findings"]:
        assert squeezed(finding["note"]) in text
