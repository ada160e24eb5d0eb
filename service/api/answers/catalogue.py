"""What a dealer keeps to quote by."""

from service.api.answers.offcuts import DATE, ID
from service.api.answers.words import (
    FLAG,
    NEXT,
    TEXT,
    WHOLE,
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

_MOMENT: Described = {"type": "string", "format": "date-time"}
_VERSION = {
    "version": said(WHOLE, "From 1."),
    "created_at": said(_MOMENT, "When it was kept."),
    "note": text("The caller's own words."),
}
_NAMED = {
    "id": ID,
    "name": text("Which requests may name it by."),
    "created_at": said(_MOMENT, "When its first version was kept."),
    "latest": said(WHOLE, "Number of its newest version."),
}
_SELF = titled("KeptLinks", record(self=TEXT))
_DOCUMENT = {**_NAMED, "version": ref("KeptVersion"), "links": _SELF}


def _page(member: str, entry: str, order: str) -> Described:
    return record(f"A page of a list, {order}.", **{member: many(ref(entry))}, next=NEXT)


CATALOGUE = {
    "Kept": record("Something kept, in a list.", **_NAMED, links=_SELF),
    "KeptVersion": record("A version, which never changes.", **_VERSION),
    "SystemPage": _page("systems", "Kept", "by name"),
    "PricingRulesPage": _page("pricing_rules", "Kept", "by name"),
    "AmendmentSetPage": _page("amendment_sets", "Kept", "by name"),
    "PriceTablePage": _page("price_tables", "Kept", "by name"),
    "VersionPage": _page("versions", "KeptVersion", "newest first"),
    "KeptSystem": record(
        "A railing system as it is kept.", **_DOCUMENT, system=ref("StockedSystemRequest")
    ),
    "KeptPricingRules": record(
        "Pricing rules as they are kept.", **_DOCUMENT, pricing=ref("PricingRequest")
    ),
    "KeptAmendmentSet": record(
        "Amendments as they are kept.",
        **_DOCUMENT,
        place=or_null(text("Place they are for, or else ...")),
        code=or_null(text("... the code ...")),
        edition=or_null(text("... and its edition.")),
        default=said(FLAG, "Whether quotes of the place take them where they say nothing."),
        amendments=many(
            {
                "anyOf": [
                    ref("LimitAmendmentRequest"),
                    ref("LimitsAmendmentRequest"),
                    ref("DeletionAmendmentRequest"),
                ]
            }
        ),
    ),
    "PriceVersion": record(
        "A version of a price table; its rows never change.",
        **_VERSION,
        currency=text("ISO 4217."),
        active_from=or_null(said(DATE, "First day it is in force; null before it is activated.")),
        row_count=said(WHOLE, "How many rows it has."),
    ),
    "PriceVersionPage": _page("versions", "PriceVersion", "newest first"),
    "KeptPriceTable": record(
        "A price table with one of its versions.",
        **_NAMED,
        version=ref("PriceVersion"),
        links=titled(
            "PriceTableLinks",
            record("Where to read it.", self=TEXT, rows=TEXT, csv=TEXT, xlsx=TEXT),
        ),
    ),
    "KeptPriceRow": record(
        "A row of a price table; what it does not say is null.",
        sku=TEXT,
        unit_price=or_null(decimal("List price of one unit of measure.")),
        unit_of_measure=text("UN/ECE Recommendation 20."),
        cost=or_null(decimal("What the dealer pays; null for keys without costs:read.")),
        min_quantity=decimal("Ordered quantity from which the row holds."),
        pack_size=or_null(said(WHOLE, "How many units are sold together.")),
        tax_class=text('Which taxes apply; "" leaves it to the kind of line.'),
        effective_from=or_null(said(DATE, "First day of the row.")),
    ),
    "PriceRowPage": record(
        "Rows of a version, in order.", rows=many(ref("KeptPriceRow")), next=NEXT
    ),
    "PriceRowChange": record(
        "A row that both versions have, and that says something else in the newer one.",
        before=ref("KeptPriceRow"),
        after=ref("KeptPriceRow"),
        members=many(TEXT, "What differs."),
        unit_price_percent=or_null(decimal("By how much the list price rose, in percent.")),
    ),
    "PriceChanges": record(
        "What differs between two versions; rows are told apart by part, day and break.",
        table=ID,
        since=said(WHOLE, "The older version."),
        version=said(WHOLE, "The newer version."),
        words=many(TEXT, "All of it, a sentence each."),
        added=many(ref("KeptPriceRow")),
        removed=many(ref("KeptPriceRow")),
        changed=many(ref("PriceRowChange")),
    ),
}
