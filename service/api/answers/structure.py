"""The screening of the structure."""

from service.api.answers.words import (
    NUMBER,
    TEXT,
    WHOLE,
    many,
    one_of,
    or_null,
    record,
    ref,
    text,
    titled,
)
from service.domain.structure.checks import CheckOutcome
from service.domain.structure.specification import Direction, PicketLoad

STRUCTURE = {
    "Figure": record(
        "A named value of a formula.",
        name=text("As the formula has it."),
        meaning=TEXT,
        value=NUMBER,
        unit=TEXT,
        text=text("As people read it."),
    ),
    "Check": record(
        "One formula held against one limit; the figures are those of the worst elements.",
        name=TEXT,
        load=text("The load it is made for."),
        elements=many(TEXT, "Everything it covers."),
        worst=many(TEXT, "Those the figures belong to."),
        formula=TEXT,
        inputs=many(ref("Figure")),
        result=or_null(ref("Figure")),
        limit=or_null(ref("Figure")),
        utilisation=or_null(NUMBER),
        outcome=one_of(CheckOutcome),
        source=TEXT,
        assumptions=many(TEXT),
        missing=text("What the request would have to say."),
        decides=many(TEXT, "Load clauses it decides; none for a house check."),
    ),
    "Structure": record(
        "A screening by calculation; it replaces no test report, code or engineer.",
        cautions=many(TEXT),
        load_direction=one_of(Direction, name="LoadDirection"),
        picket_load=one_of(PicketLoad),
        loads=many(TEXT),
        test_factor=NUMBER,
        outcomes=titled(
            "CheckCounts",
            record(
                "How many checks have each outcome.",
                **{outcome.value: WHOLE for outcome in CheckOutcome},
            ),
        ),
        checks=many(ref("Check")),
        holes=or_null(
            record(
                "Holes to drill for the lag screws.",
                clearance=ref("Figure"),
                lead_least=ref("Figure"),
                lead_most=ref("Figure"),
                gravity_class=TEXT,
                source=TEXT,
            )
        ),
    ),
}
