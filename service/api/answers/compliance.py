"""Findings, clauses, advice, comparisons and the codes held."""

from typing import Any

from service.api.answers.words import (
    FLAG,
    TEXT,
    WHOLE,
    Described,
    many,
    one_of,
    or_null,
    record,
    ref,
    text,
    titled,
)
from service.domain.compliance.findings import Comparison, Outcome
from service.usecases.orders import Units

LENGTH = ref("PrintedLength")
UNITS = one_of(Units, "How lengths are printed.")
CAUTIONS = many(TEXT, "What this answer does not say.")
MEASURED: Described = {"anyOf": [LENGTH, ref("Quantity"), {"type": "null"}]}
_NAMED = titled("NamedChoice", record("A choice by name.", text=TEXT))
CHANGED: Described = {"anyOf": [*MEASURED["anyOf"], _NAMED]}

FINDINGS: dict[str, Any] = {
    "codes": many(TEXT, "Code and edition of every clause held against the deck."),
    "outcomes": titled(
        "FindingCounts",
        record(
            "How many findings have each outcome.", **{outcome.value: WHOLE for outcome in Outcome}
        ),
    ),
    "findings": many(ref("Finding")),
    "clauses": many(ref("Clause"), "Each clause once, in full."),
}
CHECKED: dict[str, Any] = {
    **FINDINGS,
    "advice": many(ref("Advice"), "One for each cause of a clause not met."),
}
STRUCTURE_OR_NOT = or_null(ref("Structure"))
_HELD: dict[str, Any] = {
    "code": TEXT,
    "edition": TEXT,
    "title": TEXT,
    "overlay": {**FLAG, "description": "It binds beside another code, not in its place."},
    "note": TEXT,
    "clause_count": WHOLE,
    "from_memory_count": {**WHOLE, "description": "Clauses whose limit was read in no copy."},
    "link": text("Where its clauses are listed."),
}

COMPLIANCE: dict[str, Described] = {
    "Limit": {
        "description": "A limit as enacted, and as it is compared.",
        "type": "object",
        "properties": {
            "enacted": text("Number and unit as the code prints them."),
            "mm": {"type": "number"},
            "value": {"type": "number"},
            "unit": TEXT,
            "text": TEXT,
        },
        "required": ["enacted", "text"],
    },
    "Finding": record(
        "One clause held against one element.",
        clause=text("Key of the clause."),
        section=text("Code, edition and section."),
        rule=TEXT,
        element=TEXT,
        outcome=one_of(Outcome),
        measured=MEASURED,
        compare=one_of(Comparison),
        limits=many(ref("Limit")),
        margin=MEASURED,
        note=TEXT,
        amended=text("Who changed the clause from the model code, and how."),
        from_memory={**FLAG, "description": "The limit was not read in any copy of the code."},
    ),
    "Result": record(
        "What one code says of one measure of one element.",
        name=text("The code or place asked for."),
        clause=text("Key of the clause."),
        section=text("Code, edition and section."),
        outcome=one_of(Outcome),
        measured=MEASURED,
        compare=one_of(Comparison),
        limits=many(ref("Limit")),
        margin=MEASURED,
        note=TEXT,
        amended=text("Who changed the clause from the model code, and how."),
        from_memory={**FLAG, "description": "The limit was not read in any copy of the code."},
    ),
    "Advice": record(
        "The smallest change found that would meet a clause by itself, or cure one check of the "
        "structure that keeps it from being met.",
        clause=text("Key of the clause."),
        section=text("Code, edition, section and key."),
        elements=many(TEXT, "Where it is not met."),
        cause=text("The check of the structure that it cures; empty where a measure is."),
        change=text("What to change; empty where nothing tried would meet it."),
        member=text("Its place in the request."),
        **{"from": CHANGED},
        to=CHANGED,
        also_meets=many(TEXT, "Clauses not met now that it meets too."),
        breaks=many(TEXT, "Clauses met now that it would break."),
        still_over=many(TEXT, "Checks of the structure that alone it leaves over."),
        meets_together=or_null(
            {
                **FLAG,
                "description": "Whether all changes for the clause meet it; null where one does.",
            }
        ),
        every_change_tried={
            **FLAG,
            "description": "False where one answer did not allow all trials on this deck.",
        },
        text=TEXT,
    ),
    "Clause": record(
        "One requirement of one edition, in our own words.",
        key=TEXT,
        code=TEXT,
        edition=TEXT,
        section=TEXT,
        rule=TEXT,
        compare=one_of(Comparison),
        limits=many(ref("Limit")),
        applies_when={"type": "object", "additionalProperties": TEXT},
        conditions=many(
            record(
                "A number an element must have.",
                attribute=TEXT,
                compare=one_of(Comparison),
                limits=many(ref("Limit")),
            )
        ),
        exceptions=TEXT,
        how_measured=TEXT,
        reading=text("How an unclear text was read."),
        source=text("Where the text was read."),
        from_memory=FLAG,
        named_text_seen=FLAG,
        editions_seen=many(TEXT),
        decides=text("What the clause decides for the others, such as a guard."),
        missing=text("What a request would have to say before this could be measured."),
        measure=text("How it is measured: a name that clauses of several codes share."),
        amended=text("Who changed the clause from the model code, and how."),
        deleted={**FLAG, "description": "That change struck it out."},
        adopted=text("Which place adopted it from which day, and how that is known."),
    ),
    "CodeCheck": record(
        "A code check.", units=UNITS, **CHECKED, structure=STRUCTURE_OR_NOT, cautions=CAUTIONS
    ),
    "NamedCodeCheck": record(
        "The check of one code.",
        name=text("The code or place asked for."),
        **CHECKED,
        structure=STRUCTURE_OR_NOT,
    ),
    "SideBySide": record(
        "What each code says of the same measure of an element, where it binds.",
        measure=text("How it is measured; of what no layout tells, the key of the clause."),
        element=TEXT,
        results=many(ref("Result")),
    ),
    "CodeComparison": record(
        "One deck under several codes.",
        units=UNITS,
        checks=many(ref("NamedCodeCheck")),
        side_by_side=many(ref("SideBySide")),
        cautions=CAUTIONS,
    ),
    "CodeCheckAnswer": {"oneOf": [ref("CodeCheck"), ref("CodeComparison")]},
    "HeldEdition": record("An edition of a code, or an overlay.", **_HELD),
    "CodeEdition": record(
        "An edition with its clauses.",
        **_HELD,
        sources=many(TEXT, "Title and address of every source its clauses name."),
        clauses=many(ref("Clause")),
        cautions=CAUTIONS,
    ),
    "AmendedClause": record("A clause amended.", clause=TEXT, change=TEXT, from_memory=FLAG),
    "Adoption": record(
        "What is in force from a day on.",
        **{"from": {"type": "string", "format": "date"}},
        codes=many(TEXT),
        amended=many(ref("AmendedClause")),
        source=text("How the adoption and its day are known."),
        from_memory=FLAG,
    ),
    "Place": record(
        "What a place adopted, earliest first.",
        name=TEXT,
        invented=FLAG,
        note=TEXT,
        in_force=many(ref("Adoption")),
    ),
    "Library": record(
        "Codes held, and places that adopted them.",
        codes=many(ref("HeldEdition")),
        places=many(ref("Place")),
        cautions=CAUTIONS,
    ),
}
