"""Offcuts on hand, and where a quote stands."""

from service.api.answers.words import (
    FLAG,
    NEXT,
    TEXT,
    WHOLE,
    Described,
    decimal,
    many,
    one_of,
    or_null,
    record,
    ref,
    said,
    text,
)
from service.domain.pricing.life import State

LENGTH = ref("PrintedLength")
DATE: Described = {"type": "string", "format": "date"}
ID: Described = {"type": "string", "format": "uuid"}
STATES = ("available", "reserved", "used")

OFFCUTS = {
    "UsedOffcut": record(
        "An offcut that a cut plan uses before anything is bought.",
        name=text("Its id where it is stored, else the name it was sent under."),
        sku=TEXT,
        length=LENGTH,
        first_picket=or_null(LENGTH),
        stored=said(FLAG, "Whether it is reserved when the quote is accepted."),
    ),
    "Offcut": record(
        "An offcut on hand.",
        id=ID,
        sku=text("Part it is a remnant of, or a stock length of that part."),
        length=said(LENGTH, "Usable length between clean ends."),
        first_picket=or_null(said(LENGTH, "From its start to its first punched place.")),
        value=decimal("What using it up counts as, in the currency of the prices."),
        note=TEXT,
        state=one_of(STATES, name="OffcutState"),
        held_by=or_null(said(ID, "Quote that reserves it or used it.")),
        from_quote=or_null(said(ID, "Quote that left it over.")),
    ),
    "OffcutPage": record(
        "A page of offcuts, by SKU and length; used ones are left out.",
        offcuts=many(ref("Offcut")),
        next=NEXT,
    ),
    "QuoteState": record(
        "Where a quote stands today.",
        quote=ID,
        state=one_of(State, name="Standing"),
        valid_until=or_null(said(DATE, "Last day of its validity.")),
        version=said(WHOLE, "Counts the decisions, from 1."),
        sawn=said(FLAG, "Whether its bars are cut and its offcuts used up."),
        remnants_kept=said(FLAG, "Whether its remnants were put with the offcuts on hand."),
        series=said(ID, "First quote of its series; revisions follow it."),
        revision=said(WHOLE, "Its number in the series, from 1."),
        replaced_by=or_null(said(ID, "Revision that took its place.")),
    ),
}
