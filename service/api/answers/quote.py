"""Findings, take-off, cut plans and the quote."""

from typing import Any

from service.api.answers.bulk_quotes import BULK_QUOTES
from service.api.answers.catalogue import CATALOGUE
from service.api.answers.common import COMMON
from service.api.answers.compliance import CAUTIONS, CHECKED, COMPLIANCE, UNITS
from service.api.answers.costs import COSTS
from service.api.answers.cut_plans import CUT_PLANS
from service.api.answers.form import FORMS
from service.api.answers.keys import KEYS
from service.api.answers.layout import LAYOUT
from service.api.answers.letterhead import LETTERHEADS
from service.api.answers.offcuts import DATE, ID, OFFCUTS
from service.api.answers.price_comparisons import PRICE_COMPARISONS
from service.api.answers.repricing import REPRICING
from service.api.answers.revisions import REVISIONS
from service.api.answers.structure import STRUCTURE
from service.api.answers.webhooks import EVENTS
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
    said,
    text,
    titled,
)
from service.domain.cutting.plan import GOALS
from service.domain.pricing.settings import CHARGE, GOODS, LABOUR, Half, TaxPer

LENGTH = ref("PrintedLength")
MONEY = ref("Money")

TAKEOFF: dict[str, Any] = {
    "items": many(ref("Item")),
    "labour": many(ref("LabourItem")),
    "shipping": ref("Shipping"),
    "notes": many(TEXT, "What no part of the system covers."),
}

PARTS = {
    "Item": record(
        "One part to order.",
        sku=TEXT,
        description=TEXT,
        category=TEXT,
        needed=decimal("Exact need, before waste and packs."),
        waste=decimal("Lost in use, besides the need."),
        ordered=decimal("Whole packs or whole stock lengths, the least that is sold or more."),
        unit_of_measure=text("UN/ECE Recommendation 20 code."),
        pack_size=WHOLE,
        length=or_null(LENGTH),
        weight=or_null(ref("Weight")),
        elements=many(TEXT, "Elements of the layout that need it."),
    ),
    "Shipping": record(
        "What is to be carried, as far as the parts say.",
        weight=or_null(ref("Weight")),
        weight_not_known_for=many(TEXT, "SKUs that the weight leaves out."),
        longest_package=or_null(LENGTH),
        longest_sku=text("The part in it, empty where no length is known."),
        packages=or_null(WHOLE),
        packages_not_known_for=many(TEXT, "SKUs that the number of packages leaves out."),
        notes=many(TEXT, "The same in words."),
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
    "Remnant": record(
        "What is left of a bar and worth keeping, between clean ends.",
        name=TEXT,
        length=LENGTH,
        first_picket=or_null(LENGTH),
    ),
    "Bar": record(
        "One bought length, cut in this order.",
        sku=TEXT,
        offcut={**FLAG, "description": "A remnant on hand rather than a purchase."},
        length=LENGTH,
        trim={**LENGTH, "description": "Cut away at both ends together."},
        cuts=many(ref("Cut")),
        kerf={**LENGTH, "description": "Taken by the saw besides the trim."},
        drop={**LENGTH, "description": "Cut away so that pickets keep their places."},
        shared={**LENGTH, "description": "Overlap of pieces whose slanted cuts are one."},
        remnant={**LENGTH, "description": "Left at its end."},
        reusable=or_null(ref("Remnant")),
    ),
    "CutPlan": record(
        "Bars to buy of one material, and how to cut them.",
        **{
            "material": TEXT,
            "bars": many(ref("Bar")),
            "cost": or_null(
                decimal(
                    "Price of the bars, or their total length in mm; null where the order stands "
                    "and was priced again, for it was not cut for these prices."
                )
            ),
            "lower_bound": or_null(decimal("No plan can cost less; null likewise.")),
            "cost_is_length": FLAG,
            "proven_optimal": {**FLAG, "description": "No plan costs less."},
            "proven": many(
                one_of(GOALS, name="CutGoal"),
                "What no plan does better, first things first: the least cost; at that cost the "
                "fewest bars; then the longest remnant; then the fewest set-ups. What follows "
                "the last one named is the best found.",
            ),
            "set_ups": {**WHOLE, "description": "Bars that are cut unlike any before."},
            "yield": decimal("Length in pieces over length bought."),
            "method": TEXT,
        },
    ),
    "Tax": record(
        "One tax component.", name=TEXT, rate=decimal("Fraction of the net."), amount=MONEY
    ),
    "Discount": record("Taken off a line.", name=TEXT, amount=MONEY),
    "Payment": record("A part of the gross.", due=text("The moment."), amount=MONEY),
    "Terms": record(
        "How the amounts are meant.",
        prices_include_tax={**FLAG, "description": "Whether unit prices hold the taxes."},
        tax_per=one_of(TaxPer, "What a tax is rounded on."),
        half=one_of(Half, "Where half a minor unit goes."),
    ),
    "Line": record(
        "One line of the quote.",
        number=WHOLE,
        kind=one_of((GOODS, LABOUR, CHARGE), name="LineKind"),
        sku=TEXT,
        description=TEXT,
        category=TEXT,
        length=or_null(LENGTH),
        quantity=decimal("In the unit of measure."),
        unit_of_measure=text("UN/ECE Recommendation 20 code."),
        unit_price=MONEY,
        amount={**MONEY, "description": "Quantity times unit price, rounded."},
        discounts=many(ref("Discount"), "Its own, then its share of the quote's."),
        net={**MONEY, "description": "After discounts and without tax."},
        tax_class=text("Which taxes apply to it."),
        tax=MONEY,
        taxes=many(ref("Tax")),
        gross={**MONEY, "description": "Net and tax."},
        elements=many(TEXT),
    ),
    "Totals": record(
        "Sums of the rounded lines.",
        goods={**MONEY, "description": "Net of the goods, after discounts."},
        labour={**MONEY, "description": "Net of the labour, after discounts."},
        charges={**MONEY, "description": "Net of carriage and of what lifts to the minimum."},
        discount={**MONEY, "description": "All discounts, in the terms of the lines' amounts."},
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
        outside_reference=text("Its name in the caller's own books."),
        customer=or_null(ref("Customer")),
        series=said(ID, "First quote of its series; revisions follow it."),
        revision=said(WHOLE, "Its number in the series, from 1."),
        revises=or_null(said(ID, "Quote it is a revision of.")),
        created_on={"type": "string", "format": "date"},
        on={"type": "string", "format": "date", "description": "Day whose code edition applies."},
        valid_until=or_null(said(DATE, "Last day of its validity.")),
        service_version=TEXT,
        units=UNITS,
        price_table=record(
            "Prices used.",
            name=TEXT,
            currency=TEXT,
            id=or_null(said(ID, "Where they are kept.")),
            version=or_null(WHOLE),
            active_from=or_null(said(DATE, "First day the version is in force.")),
        ),
        terms=ref("Terms"),
        totals=ref("Totals"),
        payments=many(ref("Payment"), "Add up to the gross; none where no schedule was sent."),
        conditions=many(TEXT, "What the totals leave out, and why."),
        lines=many(ref("Line")),
        cautions=CAUTIONS,
        compliance=titled("Compliance", record("The code check.", **CHECKED)),
        structure=or_null(ref("Structure")),
        layout=ref("Layout"),
        takeoff=titled("Takeoff", record("What is needed.", **TAKEOFF)),
        cut_plans=many(ref("CutPlan")),
        offcuts=many(ref("UsedOffcut"), "Offcuts on hand that its cut plans use."),
        links=titled(
            "QuoteLinks",
            record(
                "Where to find it again.",
                self=TEXT,
                drawing=text("Plan and elevations, SVG."),
                cut_bars=text("The bars with their cuts, SVG."),
                dxf=text("Plan and elevations, DXF."),
                pdf=text("The quote on paper."),
                site_sheets=text("The sheets for site, PDF."),
                code_report=text("The findings with their sources, PDF."),
                csv=text("The priced lines."),
                takeoff=text("Parts and hours, CSV."),
                cut_list=text("Every cut of every bar, CSV."),
                findings=text("The findings of the code check, CSV."),
                xlsx=text("The quote as a workbook."),
                ubl=text("The quote as a UBL 2.1 Quotation, XML."),
                state=TEXT,
                revises=or_null(TEXT),
            ),
        ),
    ),
    "LayoutAnswer": record("A layout.", units=UNITS, layout=ref("Layout"), cautions=CAUTIONS),
    "TakeoffAnswer": record(
        "A take-off with its cut plans.",
        units=UNITS,
        **TAKEOFF,
        cut_plans=many(ref("CutPlan")),
        offcuts=many(ref("UsedOffcut"), "Offcuts on hand that the cut plans use."),
        cautions=CAUTIONS,
    ),
    "Health": record(
        "State of the service.", status=one_of(("pass", "fail"), name="HealthStatus"), version=TEXT
    ),
}

COMPONENTS: dict[str, Described] = {
    **COMMON,
    **COMPLIANCE,
    **LAYOUT,
    **PARTS,
    **STRUCTURE,
    **ANSWERS,
    **BULK_QUOTES,
    **OFFCUTS,
    **CUT_PLANS,
    **COSTS,
    **REVISIONS,
    **CATALOGUE,
    **KEYS,
    **PRICE_COMPARISONS,
    **EVENTS,
    **REPRICING,
    **LETTERHEADS,
    **FORMS,
}
