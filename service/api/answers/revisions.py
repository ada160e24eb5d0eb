"""Quotes in lists, how two of them differ, and a quote computed again."""

from service.api.answers.offcuts import DATE, ID
from service.api.answers.words import (
    FLAG,
    NEXT,
    TEXT,
    Described,
    decimal,
    many,
    or_null,
    record,
    ref,
    said,
    text,
    titled,
)

MONEY = ref("Money")

DIFFERENCES: dict[str, Described] = {
    "words": many(TEXT, "All of it, a sentence each."),
    "totals": many(ref("TotalChange")),
    "lines": many(ref("LineChange")),
    "facts": many(ref("FactChange")),
}

REVISIONS = {
    "Customer": record(
        "Whom a quote is for; what was not said is empty.",
        name=TEXT,
        company=TEXT,
        email=TEXT,
        phone=TEXT,
        address=many(TEXT, "Lines of a postal address."),
    ),
    "QuoteSummary": record(
        "A quote in a list.",
        id=ID,
        reference=TEXT,
        outside_reference=TEXT,
        customer=text("The company, or else the person."),
        created_at={"type": "string", "format": "date-time"},
        gross=MONEY,
        state=ref("QuoteState"),
        links=titled("SummaryLinks", record("Where to read it.", self=TEXT, state=TEXT)),
    ),
    "QuotePage": record(
        "A page of quotes, newest first.",
        quotes=many(ref("QuoteSummary")),
        next=NEXT,
    ),
    "LineFigures": record(
        "The figures of a line.",
        quantity=decimal("In the unit of measure."),
        unit_of_measure=TEXT,
        unit_price=MONEY,
        net=MONEY,
    ),
    "LineChange": record(
        "A line that is new (nothing before), gone (nothing after) or different.",
        name=TEXT,
        sku=TEXT,
        before=or_null(ref("LineFigures")),
        after=or_null(ref("LineFigures")),
        net=said(MONEY, "What the change adds to the net total."),
    ),
    "TotalChange": record(
        "A total that is different.", name=TEXT, before=or_null(MONEY), after=or_null(MONEY)
    ),
    "FactChange": record("Something else that is different.", name=TEXT, before=TEXT, after=TEXT),
    "Changes": record(
        "How a quote differs from an earlier one.",
        before=said(ID, "Id of the earlier one."),
        after=said(ID, "Id of the later one."),
        **DIFFERENCES,
    ),
    "Recomputed": record(
        "A kept quote, computed again from what was kept of it.",
        quote=ID,
        same=said(FLAG, "Whether every figure comes out as it was answered."),
        on=said(DATE, "Day it was made for."),
        service_version=titled("ServiceVersions", record(kept=TEXT, now=TEXT)),
        gross=titled("GrossFigures", record(kept=MONEY, now=MONEY)),
        changes=ref("Changes"),
    ),
}
