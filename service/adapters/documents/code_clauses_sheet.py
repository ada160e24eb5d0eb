"""The clauses of a code report, one after another, each with its findings in a table."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from service.adapters.documents.code_sources import Sources
from service.adapters.documents.element_names import named
from service.adapters.documents.sheet import (
    Block,
    Column,
    Facts,
    Heading,
    Paragraph,
    Row,
    Table,
    Tone,
)

Json = Mapping[str, Any]

COMPARED = {
    "at_least": "at least",
    "at_most": "at most",
    "more_than": "more than",
    "less_than": "less than",
    "within": "within",
    "outside": "outside",
    "required": "required",
}
_MOST = 14  # elements of equal findings named one by one
_COLUMNS = (
    Column("Element", 1.0),
    Column("Outcome"),
    Column("Measured", right=True),
    Column("Limit", right=True),
    Column("Margin", right=True),
    Column("Note", 1.5),
)


def clause_blocks(compliance: Json, sources: Sources) -> Iterator[Block]:
    """Tell each clause that has findings, then name those that were not reached."""
    findings: dict[tuple[str, str], list[Json]] = {}
    for finding in compliance["findings"]:
        findings.setdefault((finding["section"], finding["clause"]), []).append(finding)
    yield Heading("Findings")
    yield Paragraph(
        "Rules are told in our own words; codes are copyrighted and their print governs. Margins "
        "say how far inside its limit a measure is; negative ones are outside.",
        Tone.SMALL,
    )
    for clause in compliance["clauses"]:
        section = f"{clause['code']} {clause['edition']} {clause['section']}"
        found = findings.pop((section, clause["key"]), [])
        if found:
            yield from _clause(section, clause, found, sources)
    for (section, key), found in findings.items():  # a stored quote may be older than its clauses
        yield Heading(f"{section}: {key}", 2)
        yield _table(found)


def _clause(section: str, clause: Json, found: Sequence[Json], sources: Sources) -> Iterator[Block]:
    yield Heading(f"{section}: {clause['key']}", 2)
    yield Paragraph(clause["rule"], keep=True)
    yield _table(found)
    yield Facts(tuple(_facts(clause, sources)))


def _table(found: Sequence[Json]) -> Table:
    """Set findings; elements that share all else stand in one row."""
    groups: dict[tuple[str, ...], list[str]] = {}
    for finding in found:
        groups.setdefault(_cells(finding), []).append(finding["element"])
    rows = tuple(Row((named(elements, _MOST), *cells)) for cells, elements in groups.items())
    return Table(_COLUMNS, rows, f"Findings on {found[0]['clause']}")


def _cells(finding: Json) -> tuple[str, ...]:
    measured, margin = finding["measured"], finding["margin"]
    return (
        finding["outcome"].replace("_", " "),
        measured["text"] if measured else "–",
        asked(finding),
        margin["text"] if margin else "–",
        finding["note"] or "–",
    )


def asked(limited: Json) -> str:
    """Write what a clause or a finding asks for, in the unit it was enacted in."""
    limits = " to ".join(limit["enacted"] for limit in limited["limits"])
    return f"{COMPARED.get(limited['compare'], limited['compare'])} {limits}".strip()


def _facts(clause: Json, sources: Sources) -> Iterator[tuple[str, str]]:
    yield "Limit", asked(clause)
    for name, key in (
        ("Exceptions", "exceptions"),
        ("How measured", "how_measured"),
        ("Our reading", "reading"),
        ("Amended", "amended"),
        ("Adopted", "adopted"),
    ):
        if clause.get(key):
            yield name, str(clause[key])
    seen = ", ".join(clause.get("editions_seen") or ())
    yield "Source", f"{sources.cite(clause['source'])}{f'; editions read: {seen}' if seen else ''}"
    if clause["from_memory"]:
        yield "From memory", "This limit was read in no copy of the code: confirm it in print."
