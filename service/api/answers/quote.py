"""Findings, take-off, cut plans and the quote."""

from typing import Any

from service.api.answers.common import COMMON
from service.api.answers.layout import LAYOUT
from service.api.answers.structure import STRUCTURE
from service.api.answers.words import (
    FLAG,
    TEXT,
    WHOLE,
    Described,
    decimal,
    many,
    one_of,
    or_null,
    record,
    ref,
    text,
)
from service.domain.compliance.findings import Comparison, Outcome

LENGTH = ref("PrintedLength")
MONEY = ref("Money")
UNITS = one_of(("imperial", "metric"), "How lengths are printed.")
CAUTIONS = many(TEXT, "What this answer does not say.")
MEASURED: Described = {"anyOf": [LENGTH, ref("Quantity"), {"type": "null"}]}

FINDINGS: dict[str, Any] = {
    "codes": many(TEXT, "Code and edition of every clause held against the deck."),
    "outcomes": record(
        "How many findings have each outcome.", **{outcome.value: WHOLE for outcome in Outcome}
    ),
    "findings": many(ref("Finding")),
    "clauses": many(ref("Clause"), "Each clause once, in full."),
}
TAKEOFF: dict[str, Any] = {
    "items": many(ref("Item")),
    "labour": many(ref("LabourItem")),
    "notes": many(TEXT, "What no part of the system covers."),
}

PARTS = {
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
        amended=text("Who changed the clause from the model code, and how."),
    ),
    "Item": record(
        "One part to order.",
        sku=TEXT,
        description=TEXT,
        category=TEXT,
        needed=decimal("Exact need."),
        ordered=decimal("Whole packs or whole stock lengths."),
        unit_of_measure=text("UN/ECE Recommendation 20 code."),
        pack_size=WHOLE,
        length=or_null(LENGTH),
        elements=many(TEXT, "Elements of the layout that need it."),
    ),
    "LabourItem": record(
        "Time for one task.", task=TEXT, hours=decimal("Hours."), elements=many(TEXT)
    ),
    "Cut": record(
        "One piece on a bar.",
        piece=TEXT,
        from_start=LENGTH,
        length=LENGTH,
        first_picket=or_null(WHOLE),
    ),
    "CutPlan": record(
        "Bars to buy of one material, and how to cut them.",
        **{
            "material": TEXT,
            "bars": many(
                record(
                    "One bought length, cut in this order.",
                    sku=TEXT,
                    offcut={**FLAG, "description": "A remnant on hand rather than a purchase."},
                    length=LENGTH,
                    trim={**LENGTH, "description": "Cut away at both ends together."},
                    cuts=many(ref("Cut")),
                    kerf={**LENGTH, "description": "Taken by the saw besides the trim."},
                    drop={**LENGTH, "description": "Cut away so that pickets keep their places."},
                    remnant={**LENGTH, "description": "Left at its end."},
                )
            ),
            "cost": decimal("Price of the bars, or their total length in mm."),
            "lower_bound": decimal("No plan can cost less."),
            "cost_is_length": FLAG,
            "proven_optimal": FLAG,
            "yield": decimal("Length in pieces over length bought."),
            "method": TEXT,
        },
    ),
    "Tax": record(
        "One tax component.", name=TEXT, rate=decimal("Fraction of the net."), amount=MONEY
    ),
    "Line": record(
        "One line of the quote.",
        number=WHOLE,
        kind=one_of(("goods", "labour")),
        sku=TEXT,
        description=TEXT,
        category=TEXT,
        length=or_null(LENGTH),
        quantity=decimal("In the unit of measure."),
        unit_of_measure=text("UN/ECE Recommendation 20 code."),
        unit_price=MONEY,
        net=MONEY,
        tax=MONEY,
        taxes=many(ref("Tax")),
        elements=many(TEXT),
    ),
    "Totals": record(
        "Sums of the rounded lines.",
        goods=MONEY,
        labour=MONEY,
        net=MONEY,
        taxes=many(ref("Tax")),
        tax=MONEY,
        gross=MONEY,
    ),
}

ANSWERS = {
    "Quote": record(
        "A priced quote and everything it rests on.",
        id={"type": "string", "format": "uuid"},
        reference=text("The caller's own words."),
        created_on={"type": "string", "format": "date"},
        on={"type": "string", "format": "date", "description": "Day whose code edition applies."},
        service_version=TEXT,
        units=UNITS,
        price_table=record("Prices used.", name=TEXT, currency=TEXT),
        totals=ref("Totals"),
        lines=many(ref("Line")),
        cautions=CAUTIONS,
        compliance=record("The code check.", **FINDINGS),
        structure=or_null(ref("Structure")),
        layout=ref("Layout"),
        takeoff=record("What is needed.", **TAKEOFF),
        cut_plans=many(ref("CutPlan")),
        links=record("Where to find it again.", self=TEXT, drawing=TEXT),
    ),
    "LayoutAnswer": record("A layout.", units=UNITS, layout=ref("Layout"), cautions=CAUTIONS),
    "CodeCheck": record(
        "A code check.",
        units=UNITS,
        **FINDINGS,
        structure=or_null(ref("Structure")),
        cautions=CAUTIONS,
    ),
    "TakeoffAnswer": record(
        "A take-off with its cut plans.",
        units=UNITS,
        **TAKEOFF,
        cut_plans=many(ref("CutPlan")),
        cautions=CAUTIONS,
    ),
    "Health": record("State of the service.", status=one_of(("pass", "fail")), version=TEXT),
}

COMPONENTS: dict[str, Described] = {**COMMON, **LAYOUT, **PARTS, **STRUCTURE, **ANSWERS}
