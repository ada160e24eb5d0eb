"""A shop day's cut plans."""

from service.api.answers.compliance import CAUTIONS, UNITS
from service.api.answers.offcuts import ID
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
    titled,
)

CUT_PLANS = {
    "ShopDay": record(
        "One cut plan per material over several jobs.",
        units=UNITS,
        currency=or_null(text("Of the costs, as the quotes have it.")),
        jobs=many(
            record("One job.", name=TEXT, quote=or_null(said(ID, "The kept quote, if it is one.")))
        ),
        materials=many(ref("CombinedCutPlan")),
        cautions=CAUTIONS,
    ),
    "CombinedCutPlan": record(
        "One material, cut for all jobs together.",
        sku=text("Of the material."),
        cut_plan=ref("CutPlan"),
        pieces=many(
            record("Where a piece belongs.", piece=TEXT, job=TEXT, section=TEXT),
            "Every piece of the plan.",
        ),
        offcuts=many(ref("UsedOffcut"), "Offcuts on hand that the plan uses."),
        alone=many(
            titled(
                "JobAlone",
                record(
                    "One job cut by itself, from the offcuts that those before it left.",
                    job=TEXT,
                    cost=decimal("Price of its bars, or their length in mm."),
                    bars=said(WHOLE, "Bars and offcuts it takes."),
                ),
            )
        ),
        saved=titled(
            "Saving",
            record(
                "What cutting together saves against each alone.",
                cost=decimal("Price, or length in mm."),
                bars=said(WHOLE, "Bars and offcuts; below zero where cheaper bars are more."),
            ),
        ),
    ),
}
