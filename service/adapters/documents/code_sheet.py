"""The sheet of the code report: every finding with its clause, limit, source and reading.

A summary comes first; then one clause after another with what was found on which element; then
the screening of the structure, advice, and what was not assessed with what is missing for it.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from service.adapters.documents.code_clauses_sheet import asked, clause_blocks
from service.adapters.documents.code_sources import Sources
from service.adapters.documents.code_structure_sheet import structure_blocks
from service.adapters.documents.element_names import named
from service.adapters.documents.quote_layout_text import counted
from service.adapters.documents.sheet import (
    Block,
    Column,
    Facts,
    Heading,
    Listing,
    Mark,
    Paragraph,
    Row,
    Sheet,
    Table,
)
from service.adapters.documents.sheet_words import footing, paper_of, running
from service.usecases.letterhead import Letterhead

Json = Mapping[str, Any]

_MOST = 10  # elements named one by one


def code_sheet(quote: Json, head: Letterhead) -> Sheet:
    """Make the sheet of a quote's code report."""
    about = f" for {quote['reference']}" if quote["reference"] else ""
    return Sheet(
        title=f"Code report{about}",
        author=head.name,
        subject=f"Quote {quote['id']}",
        running=running(head, "Code report", quote),
        footing=footing(quote),
        paper=paper_of(quote),
        size=9.5,
        blocks=tuple(_blocks(quote)),
        letterhead=head,
        made_on=quote["created_on"],
    )


def _blocks(quote: Json) -> Iterator[Block]:
    compliance = quote["compliance"]
    yield Heading("Code report")
    yield Facts(tuple(_facts(quote)))
    yield from _summary(quote)
    yield from _open(compliance)
    if compliance.get("advice"):
        yield Heading("Advice")
        yield Listing(tuple(_advised(advice) for advice in compliance["advice"]))
    sources = Sources()
    yield from clause_blocks(compliance, sources)
    if quote.get("structure"):
        yield from structure_blocks(quote["structure"], sources)
    if sources.texts:
        yield Heading("Sources")
        yield Listing(tuple(sources.texts), Mark.NUMBER)
    yield Heading("Cautions")
    yield Listing(tuple(quote["cautions"]))


def _facts(quote: Json) -> Iterator[tuple[str, str]]:
    if quote["reference"]:
        yield "Job", quote["reference"]
    yield "Quote", quote["id"]
    yield "Made on", quote["created_on"]
    yield "Code", f"{', '.join(quote['compliance']['codes'])}, as on {quote['on']}"
    yield "System", quote["layout"]["system"]
    yield "Guard", counted(quote["layout"])
    yield "Computed by", f"service version {quote['service_version']}"


def _summary(quote: Json) -> Iterator[Block]:
    compliance, structure = quote["compliance"], quote.get("structure")
    yield Heading("Summary")
    rows = [
        Row((outcome.replace("_", " ").capitalize(), str(count), _of(compliance, outcome)))
        for outcome, count in compliance["outcomes"].items()
    ]
    columns = (Column("Outcome"), Column("Findings", right=True), Column("Sections", 1.0))
    yield Table(columns, tuple(rows), "Findings by outcome")
    if structure:
        counts = ", ".join(
            f"{count} {outcome.replace('_', ' ')}"
            for outcome, count in structure["outcomes"].items()
        )
        yield Paragraph(f"Structure, screened by calculation: {counts}.")
    recalled = sum(finding.get("from_memory", False) for finding in compliance["findings"])
    if recalled:
        yield Paragraph(
            f"{recalled} findings rest on a limit that was read in no copy of its code; each "
            "says so."
        )


def _of(compliance: Json, outcome: str) -> str:
    found = [f["section"] for f in compliance["findings"] if f["outcome"] == outcome]
    return "; ".join(dict.fromkeys(found)) or "none"


def _open(compliance: Json) -> Iterator[Block]:
    """List what is not met, and what was not assessed with what is missing for it."""
    clauses = {(f"{c['code']} {c['edition']} {c['section']}", c["key"]): c
               for c in compliance["clauses"]}  # fmt: skip
    for outcome, title in (("not_met", "Not met"), ("not_assessed", "Not assessed")):
        found = [f for f in compliance["findings"] if f["outcome"] == outcome]
        if not found:
            continue
        yield Heading(title)
        yield Listing(tuple(_told(found, clauses)))


def _told(found: Sequence[Json], clauses: Mapping[tuple[str, str], Json]) -> Iterator[str]:
    groups: dict[tuple[str, str, str], list[str]] = {}
    for finding in found:
        clause = clauses.get((finding["section"], finding["clause"]))
        said = " ".join(filter(None, (_measured(finding), finding["note"])))
        missing = clause["missing"] if clause and finding["outcome"] == "not_assessed" else ""
        if missing and missing not in said:
            said = f"{said} Missing: {missing}".lstrip()
        groups.setdefault((finding["section"], finding["clause"], said), []).append(
            finding["element"]
        )
    for (section, named_clause, said), elements in groups.items():
        told = f"{section} ({named_clause}), {named(elements, _MOST)}: {said}"
        yield told.removesuffix(": ")


def _measured(finding: Json) -> str:
    measured = finding["measured"]
    if finding["outcome"] != "not_met" or measured is None:
        return ""
    return f"{measured['text']}, asked {asked(finding)}."


def _advised(advice: Json) -> str:
    cause = f", {advice['cause']}" if advice.get("cause") else ""
    elements = named(advice["elements"], _MOST)
    return f"{advice['section']}{cause}, {elements}: {advice['text']}"
