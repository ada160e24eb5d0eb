"""Several ways to do one job, priced side by side."""

from service.api.answers.compliance import CAUTIONS, FINDINGS
from service.api.answers.revisions import DIFFERENCES
from service.api.answers.words import (
    TEXT,
    WHOLE,
    decimal,
    many,
    or_null,
    record,
    ref,
    said,
    text,
)

_MONEY = ref("Money")

PRICE_COMPARISONS = {
    "UnmetClause": record(
        "A clause that is not met.",
        clause=text("Key of the clause."),
        section=text("Code, edition and section."),
        rule=TEXT,
        elements=many(TEXT, "Where it is not met."),
    ),
    "Offer": record(
        "What one way comes to, as a quote of it would say; nothing is kept.",
        price_table=TEXT,
        totals=ref("Totals"),
        payments=many(ref("Payment"), "Add up to the gross; none where no schedule was sent."),
        conditions=many(TEXT, "What the totals leave out, and why."),
        line_count=WHOLE,
        outcomes=FINDINGS["outcomes"],
        not_met=many(ref("UnmetClause")),
        cautions=CAUTIONS,
    ),
    "PriceDifference": record(
        "What a way costs more or less than the first.",
        net=_MONEY,
        gross=_MONEY,
        percent=or_null(decimal("Of the first gross, to 0.1; null where that is nothing.")),
    ),
    "OfferChanges": record(
        "How a way differs from the first.",
        common_lines=said(WHOLE, "Lines that are the same in both."),
        **DIFFERENCES,
    ),
    "Alternative": record(
        "Another way; it is either refused or has an offer.",
        name=TEXT,
        refused=or_null(ref("Problem")),
        offer=or_null(ref("Offer")),
        difference=or_null(
            said(ref("PriceDifference"), "To the first; null in another currency too.")
        ),
        changes=or_null(said(ref("OfferChanges"), "Null in another currency too.")),
    ),
    "PriceComparison": record(
        "Several ways to do one job, side by side.",
        name=text("Of the first way."),
        offer=said(ref("Offer"), "Of the first way."),
        alternatives=many(ref("Alternative"), "In the order they were sent."),
    ),
}
