"""Parts that many answers share, and the problem."""

from service.api.answers.words import (
    NUMBER,
    TEXT,
    WHOLE,
    decimal,
    many,
    one_of,
    partial_record,
    record,
    ref,
    said,
    spelled,
    text,
)

COMMON = {
    "PrintedLength": record(
        "A length, twice.",
        mm={"type": "number", "description": "Exact millimetres."},
        text=text("As people read it, in the units asked for."),
    ),
    "Point": record(
        "A place in plan, x to the right and y up.", x=ref("PrintedLength"), y=ref("PrintedLength")
    ),
    "Money": record(
        "An exact amount in one currency.",
        amount=decimal("At least the decimals of the currency."),
        currency={"type": "string", "pattern": "^[A-Z]{3}$", "description": "ISO 4217."},
    ),
    "Weight": record(
        "A weight, twice.",
        kg=decimal("Kilograms, exact but for stock weighed by the foot."),
        text=text("As people read it, in the units asked for."),
    ),
    "Quantity": record(
        "Something other than a length.",
        value=NUMBER,
        unit=spelled(
            one_of(("1", "deg", "ratio", "N", "N/m", "Pa", "percent"), name="QuantityUnit"),
            ("ONE", "DEGREE", "RATIO", "NEWTON", "NEWTON_PER_METRE", "PASCAL", "PERCENT"),
        ),
        text=TEXT,
    ),
    "Rake": record(
        "Slope of a stair.",
        rise=ref("PrintedLength"),
        run=ref("PrintedLength"),
        angle_deg=NUMBER,
    ),
    "Problem": partial_record(
        "A refusal or failure, RFC 9457.",
        ("errors", "element", "skus", "incident"),
        type={"type": "string", "format": "uri-reference"},
        title=TEXT,
        status={"type": "integer", "minimum": 400, "maximum": 599},
        detail=text("What is wrong with this request, and why."),
        errors=many(
            partial_record(
                "One complaint.",
                ("advice", "row", "column"),
                pointer=text("JSON Pointer into the request body, as a URI fragment (RFC 6901)."),
                detail=text("What is wrong there."),
                advice=text("What would make it right."),
                row=said(WHOLE, "Row of a sheet, from 1 for its headings; 0 for all of it."),
                column=text("Column of a sheet."),
            )
        ),
        element=text("Name of the element of the deck."),
        skus=many(TEXT, "Parts without a price."),
        incident=text("Under this id the log holds the failure."),
    ),
}
