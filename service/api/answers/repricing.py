"""Re-pricing runs, how far they have come, and what came of each quote."""

from service.api.answers.keys import MOMENT
from service.api.answers.offcuts import DATE, ID
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
    titled,
)
from service.usecases.repricing.records import (
    OPEN,
    OUTCOME_MEANING,
    Mode,
    Outcome,
    Revisions,
    RunState,
)
from service.usecases.repricing.tallies import MOST_PARTS, MOST_SKUS

_MONEY = ref("Money")
_MEANT = " ".join(f"{outcome.value}: {said}" for outcome, said in OUTCOME_MEANING.items())
_OUTCOME = one_of(Outcome, _MEANT, name="RunOutcome")
_KINDS = one_of(("goods", "labour", "charge"), name="LineKind")
_FLOOR = or_null(said(FLAG, "Whether the margin is under the floor; null without costs:read."))

REPRICING: dict[str, Described] = {
    "RunPrices": record(
        "The prices that a run brings.",
        id=said(ID, "Of the price table."),
        name=TEXT,
        version=WHOLE,
        currency=TEXT,
        on=said(DATE, "Day whose rows count."),
    ),
    "RunQuotes": record(
        "Which quotes it looks at; what was not said is null.",
        states=many(one_of(sorted(OPEN), name="OpenState")),
        reference=or_null(TEXT),
        outside_reference=or_null(TEXT),
        series=or_null(ID),
        made_from=or_null(DATE),
        made_to=or_null(DATE),
        priced_by=or_null(text("Table they were priced by; null for the run's own.")),
    ),
    "RunThresholds": record(
        "When a change is worth a revision.",
        change_rate=or_null(decimal("Part of the gross before.")),
        change_amount=or_null(decimal("In the currency of the table.")),
        margin_under=or_null(decimal("Part of the net.")),
    ),
    "RunProgress": record(
        "How far it has come, in pieces of work.",
        chunks=or_null(said(WHOLE, "All of them; null before it is planned.")),
        done=WHOLE,
        failed=said(WHOLE, "Given up after several attempts."),
        quotes=or_null(said(WHOLE, "That fitted when it was planned.")),
    ),
    "OutcomeCount": record("How many quotes came to what.", outcome=_OUTCOME, quotes=WHOLE),
    "PartChange": record(
        "What a part, task or charge adds to the change.",
        kind=_KINDS,
        sku=text("Empty of labour and charges."),
        name=text("Of a task or charge; empty of goods."),
        quotes=said(WHOLE, "In how many of the changed quotes."),
        change=said(_MONEY, "Of the amounts of its lines, before discounts and taxes."),
    ),
    "UnpricedPart": record("A part without a price for its unit and pack.", sku=TEXT, quotes=WHOLE),
    "RunSummary": record(
        "What it came to, or has come to so far.",
        quotes=said(WHOLE, "Looked at."),
        outcomes=many(ref("OutcomeCount")),
        before=said(_MONEY, "Gross of the changed quotes together."),
        after=_MONEY,
        change=_MONEY,
        parts=many(ref("PartChange"), f"What drove the change, the {MOST_PARTS} largest first."),
        under_floor=or_null(said(WHOLE, "Quotes under the floor; null without costs:read.")),
        without_price=many(
            ref("UnpricedPart"), f"Those of most quotes first, {MOST_SKUS} at most."
        ),
    ),
    "RepricingRun": record(
        "A run that prices kept quotes again.",
        id=ID,
        state=one_of(RunState),
        mode=one_of(Mode, name="RunMode"),
        prices=ref("RunPrices"),
        quotes=ref("RunQuotes"),
        thresholds=ref("RunThresholds"),
        revisions=one_of(Revisions, name="RunRevisions"),
        dry_run=FLAG,
        note=TEXT,
        created_at=MOMENT,
        started_at=or_null(MOMENT),
        finished_at=or_null(MOMENT),
        reason=text("Why it failed; empty otherwise."),
        progress=ref("RunProgress"),
        summary=ref("RunSummary"),
        links=titled("RunLinks", record("Where to read on.", self=TEXT, results=TEXT, csv=TEXT)),
    ),
    "NightlyRun": record(
        "The run that begins by itself once a day; all is null where none is set.",
        at=or_null(text("Hour on the dealer's clock, such as 02:00.")),
        time_zone=or_null(text("A name of the IANA time zone database.")),
        run=or_null({"type": "object", "additionalProperties": True}),
        next_at=or_null(said(MOMENT, "When the next one begins.")),
        last=or_null(ref("NightlyAttempt")),
    ),
    "NightlyAttempt": record(
        "What came of beginning the run of a night.",
        on=said(DATE, "Day on which its hour struck, by the dealer's clock."),
        at=MOMENT,
        run=or_null(said(ID, "The run that began; null where none could.")),
        problem=text("Why none could begin, and what to do about it; empty otherwise."),
    ),
    "RepricingRunPage": record(
        "A page of runs, newest first.", runs=many(ref("RepricingRun")), next=NEXT
    ),
    "RunResult": record(
        "What came of one quote.",
        quote=ID,
        reference=TEXT,
        outside_reference=TEXT,
        outcome=_OUTCOME,
        revision=or_null(said(ID, "The revision that was written.")),
        before=said(_MONEY, "Gross as it was."),
        after=or_null(said(_MONEY, "Gross by the new prices.")),
        change=or_null(_MONEY),
        margin=or_null(decimal("Part of the net, where costs are known; needs costs:read.")),
        under_floor=_FLOOR,
        detail=text(
            "SKUs without a price, why it was refused or failed, what closed it, or its currency."
        ),
    ),
    "RunResultPage": record(
        "A page of results, by the ids of the quotes.",
        results=many(ref("RunResult")),
        next=NEXT,
    ),
}
