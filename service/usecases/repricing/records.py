"""Re-pricing runs as records.

    planned -> running -> finished
    planned or running -> paused -> planned or running
    planned, running or paused -> cancelled
    running -> failed

A run brings a version of a price table and a day to quotes that are kept. Each quote that comes
out at another price is revised; what was answered before stays as it is.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum

from service.domain.errors import RunClosed
from service.domain.money import Money
from service.domain.pricing.life import State

OPEN = frozenset({State.DRAFT, State.ISSUED})  # of the quotes that a run may revise
ANY_PRICES = "any"  # quotes priced by whatever table, kept or sent


class Mode(StrEnum):
    """What is made again: only the prices, or the order with its cut plans too."""

    KEEP_MATERIAL = "keep-material"
    REPLAN_MATERIAL = "replan-material"


class Revisions(StrEnum):
    """How the revisions of a run begin their lives."""

    DRAFT = "draft"
    AS_BEFORE = "as-before"


class RunState(StrEnum):
    """Where a run stands."""

    PLANNED = "planned"
    RUNNING = "running"
    PAUSED = "paused"
    FINISHED = "finished"
    CANCELLED = "cancelled"
    FAILED = "failed"


class Outcome(StrEnum):
    """What came of one quote."""

    CHANGED = "changed"
    UNCHANGED = "unchanged"
    UNDER_THRESHOLD = "under-threshold"
    NO_PRICE = "no-price"
    REFUSED = "refused"
    CLOSED = "closed"
    NOT_KEPT = "not-kept"
    OTHER_CURRENCY = "other-currency"
    FAILED = "failed"


OUTCOME_MEANING: Mapping[Outcome, str] = {
    Outcome.CHANGED: "It comes to another price; a revision was written unless the run was dry.",
    Outcome.UNCHANGED: "It comes to the same price.",
    Outcome.UNDER_THRESHOLD: "Its price changes by no more than the run's thresholds.",
    Outcome.NO_PRICE: "Parts of it have no price in the new table, or only one for another "
    "unit or pack.",
    Outcome.REFUSED: "The new prices do not fit it.",
    Outcome.CLOSED: "It was accepted, declined, revised or expired after the run began.",
    Outcome.NOT_KEPT: "Its order was not kept in a form that can be priced again; replan-material "
    "makes it anew.",
    Outcome.OTHER_CURRENCY: "It is in another currency than the new prices.",
    Outcome.FAILED: "It could not be worked out, for a reason nobody foresaw, where others could; "
    "the operator finds it in the log.",
}


@dataclass(frozen=True, slots=True)
class Thresholds:
    """When a change of price is worth a revision; None does not count.

    A revision is written where the gross changes by more than any of those given, and where the
    price changes at all and the new margin is under the floor.

    Attributes:
        change_rate: Part of the gross before, such as Decimal("0.02").
        change_amount: In the currency of the table.
        margin_under: Part of the net; a quote whose new margin is below it is listed.
    """

    change_rate: Decimal | None = None
    change_amount: Decimal | None = None
    margin_under: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Which:
    """Which quotes a run looks at; what is empty does not count.

    Attributes:
        states: Draft, issued or both.
        made_from, made_to: Made on one of these days, UTC.
        priced_by: Id or name of the kept table they were priced by; "" for the run's own,
            ``ANY_PRICES`` for every table and those sent with a request.
    """

    states: frozenset[State] = OPEN
    reference: str = ""
    outside_reference: str = ""
    series: str = ""
    made_from: date | None = None
    made_to: date | None = None
    priced_by: str = ""


@dataclass(frozen=True, slots=True)
class RunWish:
    """A run that is asked for.

    Attributes:
        price_table: Id or name of a kept table.
        version: Of the table; None for the one in force on the day.
        on: Day whose prices count.
        dry_run: Whether everything is computed and nothing revised.
        note: The caller's own words.
    """

    price_table: str
    on: date
    version: int | None = None
    mode: Mode = Mode.KEEP_MATERIAL
    which: Which = field(default_factory=Which)
    thresholds: Thresholds = field(default_factory=Thresholds)
    revisions: Revisions = Revisions.DRAFT
    dry_run: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class RunPrices:
    """The prices a run brings, pinned.

    Attributes:
        currency: ISO 4217.
        of_table_id, of_table_name: The kept table whose quotes are looked at, "" for any prices.
    """

    table_id: str
    table_name: str
    version: int
    currency: str
    of_table_id: str = ""
    of_table_name: str = ""


@dataclass(frozen=True, slots=True)
class PartChange:
    """How much of the change one part, task or charge makes: its line amounts, new less old.

    Attributes:
        kind: "goods", "labour" or "charge".
        sku: "" of labour and charges.
        name: Of a task or charge, "" of goods.
        quotes: In how many changed quotes.
    """

    kind: str
    sku: str
    name: str
    quotes: int
    change: Money


@dataclass(frozen=True, slots=True)
class Summary:
    """What a run came to, or has come to so far.

    Attributes:
        outcomes: How many quotes of each outcome.
        before, after: Gross of the changed quotes together.
        parts: What drove the change, the largest first; charges that follow from the rules
            are not among them.
        under_floor: Quotes whose new margin is below the floor.
        without_price: SKUs that have no price, each with how many quotes it keeps.
    """

    outcomes: Mapping[Outcome, int]
    before: Money
    after: Money
    parts: tuple[PartChange, ...] = ()
    under_floor: int = 0
    without_price: tuple[tuple[str, int], ...] = ()

    @property
    def quotes(self) -> int:
        """How many were looked at."""
        return sum(self.outcomes.values())

    @property
    def change(self) -> Money:
        """What the changed quotes come to more, or less."""
        return self.after + self.before * -1


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a run has come.

    Attributes:
        chunks: Pieces of work, None before it is planned.
        done: Of them.
        failed: Of them, given up after several attempts.
        quotes: That fitted when it was planned, None before.
    """

    chunks: int | None = None
    done: int = 0
    failed: int = 0
    quotes: int | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """A run.

    Attributes:
        planned_to: Only quotes made before this moment count.
        started_at: When its first piece of work was begun, None before.
        finished_at: When its last one was done, None before; a cancelled run has none while a
            piece of work that was begun before goes on.
        revision: Counts every change of its state, from 1; its ETag.
        reason: Why it failed, "" otherwise.
    """

    id: str
    created_at: datetime
    wish: RunWish
    prices: RunPrices
    planned_to: datetime
    summary: Summary
    state: RunState = RunState.PLANNED
    progress: Progress = field(default_factory=Progress)
    started_at: datetime | None = None
    finished_at: datetime | None = None
    revision: int = 1
    reason: str = ""

    @property
    def tag(self) -> str:
        """Name of what steps depend on; it changes with the state, not with the progress."""
        return f"{self.revision}-{self.state.value}"


def pause(run: Run) -> Run:
    """Let a run rest; a piece of work that was begun is done first.

    Raises:
        RunClosed: It is over.
    """
    _refuse(run, "paused", RunState.PLANNED, RunState.RUNNING, RunState.PAUSED)
    return _stepped(run, RunState.PAUSED)


def resume(run: Run) -> Run:
    """Let a paused run go on.

    Raises:
        RunClosed: It is over.
    """
    _refuse(run, "resumed", RunState.PLANNED, RunState.RUNNING, RunState.PAUSED)
    if run.state is not RunState.PAUSED:
        return run
    planned = run.progress.chunks is None
    return _stepped(run, RunState.PLANNED if planned else RunState.RUNNING)


def cancel(run: Run) -> Run:
    """End a run for good; what it has revised stays revised.

    Raises:
        RunClosed: It is finished or failed.
    """
    open_still = (RunState.PLANNED, RunState.RUNNING, RunState.PAUSED, RunState.CANCELLED)
    _refuse(run, "cancelled", *open_still)
    return _stepped(run, RunState.CANCELLED)


def _stepped(run: Run, state: RunState) -> Run:
    if state is run.state:
        return run
    return replace(run, state=state, revision=run.revision + 1)


def _refuse(run: Run, step: str, *states: RunState) -> None:
    if run.state not in states:
        raise RunClosed(
            f"This run is {run.state.value}; it cannot be {step}.",
            advice="Start another run; what this one has revised counts as unchanged there.",
        )


@dataclass(frozen=True, slots=True)
class RunResult:
    """What came of one quote in a run; one whose price is unchanged has none over the floor.

    Attributes:
        revision_id: Of the revision that was written, "" for none.
        before: Gross as it was.
        after: Gross by the new prices, None where it has none.
        margin: Part of the net by the new prices, over the lines whose cost is known; None
            where none is.
        under_floor: Whether the margin is below the run's floor.
        detail: SKUs without a price, or why it was refused.
    """

    quote_id: str
    reference: str
    outside_reference: str
    outcome: Outcome
    revision_id: str
    before: Money
    after: Money | None
    margin: Decimal | None
    under_floor: bool
    detail: str
