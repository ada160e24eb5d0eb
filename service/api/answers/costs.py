"""What a quote costs its dealer."""

from service.api.answers.words import (
    TEXT,
    WHOLE,
    decimal,
    many,
    one_of,
    or_null,
    record,
    ref,
    text,
)
from service.domain.pricing.settings import GOODS, LABOUR

_MONEY = ref("Money")
_SHARE = decimal("Fraction of one, to 0.0001.")

COSTS = {
    "LineCost": record(
        "The cost of one line; all null where it is not known.",
        number=WHOLE,
        name=text("SKU, or what the line says."),
        unit_cost=or_null(_MONEY),
        cost=or_null(_MONEY),
        net=or_null(_MONEY),
        margin=or_null(_MONEY),
        margin_rate=or_null(_SHARE),
    ),
    "CostTotals": record(
        "Sums over the lines whose cost is known.",
        cost=_MONEY,
        net=_MONEY,
        margin=_MONEY,
        margin_rate=or_null(_SHARE),
        not_known_for=many(TEXT, "The lines that the sums leave out."),
    ),
    "Driver": record(
        "How the total hangs on one price; the same order is priced again, not cut again.",
        kind=one_of((GOODS, LABOUR), name="DriverKind"),
        name=text("SKU, or category of the tasks."),
        moves={**_MONEY, "description": "What the gross moves by when the price rises by 1 %."},
        share=or_null(_SHARE),
    ),
    "QuoteCosts": record(
        "The dealer's view of a quote, as it was when the quote was made.",
        quote={"type": "string", "format": "uuid"},
        lines=many(ref("LineCost")),
        totals=ref("CostTotals"),
        drivers=many(ref("Driver"), "The prices that move the total most come first."),
    ),
}
