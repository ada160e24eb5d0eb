"""The quote form: its settings, estimates and inquiries."""

from service.api.answers.compliance import CAUTIONS, UNITS
from service.api.answers.offcuts import DATE
from service.api.answers.words import (
    TEXT,
    WHOLE,
    decimal,
    many,
    one_of,
    or_null,
    partial_record,
    record,
    ref,
    said,
    text,
    titled,
)
from service.domain.compliance.findings import Outcome
from service.domain.pricing.settings import CHARGE, GOODS, LABOUR

MONEY = ref("Money")
LENGTH = ref("PrintedLength")

FORMS = {
    "KeptName": partial_record(
        "Something kept under the dealer.",
        ("version",),
        stored=text("Its name or id."),
        version=said(WHOLE, "Absent for the newest, or the one in force."),
    ),
    "FormSettings": record(
        "What the quote form works with; null where nothing is set yet.",
        heading=text("Over the form; empty for the service's own."),
        units=UNITS,
        system=or_null(ref("KeptName")),
        price_table=or_null(ref("KeptName")),
        pricing=or_null(ref("KeptName")),
        code={
            "type": ["object", "null"],
            "description": "The code and edition, or the place, as it was set.",
        },
    ),
    "ToldClause": record(
        "A clause in plain words.",
        section=text("Code, edition and section."),
        text=text("What it asks for."),
        why=text("What was found, or what is missing."),
        places=many(TEXT, "Where, the first twelve."),
    ),
    "EstimateLine": record(
        "One line; what a unit costs is not told.",
        number=WHOLE,
        kind=one_of((GOODS, LABOUR, CHARGE), name="LineKind"),
        description=TEXT,
        length=or_null(LENGTH),
        quantity=decimal("In the unit of measure."),
        unit_of_measure=text("UN/ECE Recommendation 20 code."),
        net={**MONEY, "description": "After discounts and without tax."},
    ),
    "Estimate": record(
        "What a deck would cost by the dealer's settings; nothing is kept.",
        units=UNITS,
        on=said(DATE, "Day whose prices and edition apply."),
        system=text("The railing system."),
        railing=titled(
            "RailingSummary",
            record("What is built.", length=LENGTH, posts=WHOLE, sections=WHOLE, stairs=WHOLE),
        ),
        totals=ref("Totals"),
        terms=ref("Terms"),
        conditions=many(TEXT, "What the totals leave out, and why."),
        lines=many(ref("EstimateLine")),
        findings=titled(
            "PlainFindings",
            record(
                "The code check in plain words.",
                summary=TEXT,
                outcomes=titled(
                    "PlainOutcomes", record("", **{outcome.value: WHOLE for outcome in Outcome})
                ),
                not_met=many(ref("ToldClause")),
                not_judged=many(ref("ToldClause")),
            ),
        ),
        notes=many(TEXT, "What the layout could not settle."),
        drawing=text("The plan, SVG."),
        cautions=CAUTIONS,
    ),
    "Inquiry": record(
        "An inquiry that is kept.",
        reference=text("What the visitor and the dealer call it: its outside_reference."),
        name=text("Who asked."),
    ),
}
