"""The life of a quote after it is made: what may happen to it, and what it holds on to.

    draft --issue--> issued --accept--> accepted --cut--> accepted, sawn
    draft, issued or accepted --decline--> declined
    draft, issued or accepted, not sawn --its last day passes--> expired
    draft or issued --a later revision is issued--> replaced
    accepted, not sawn --a later revision is accepted--> replaced

A revision is a quote of its own in the same series; of a series at most one is issued at a time.
Expiry is no step: it follows from the day on which the question is asked. An accepted quote holds
the offcuts that its cut plan uses, until it is declined or expires; once its bars are sawn the
offcuts are used up and the quote lasts. A step asked for twice changes nothing the second time.
"""

from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum

from service.domain.errors import QuoteClosed


class State(StrEnum):
    """Where a quote stands."""

    DRAFT = "draft"
    ISSUED = "issued"
    ACCEPTED = "accepted"
    DECLINED = "declined"
    EXPIRED = "expired"
    REPLACED = "replaced"


_DECLINABLE = (State.DRAFT, State.ISSUED, State.ACCEPTED, State.DECLINED)


@dataclass(frozen=True, slots=True)
class Hold:
    """The claim of a quote on its offcuts.

    Attributes:
        until: Last day it lasts, None without end.
        used: Whether they are sawn already.
    """

    until: date | None
    used: bool


@dataclass(frozen=True, slots=True)
class QuoteLife:
    """What has been decided about a quote.

    Attributes:
        decided: The last decision; never ``EXPIRED``, which only a day can tell.
        valid_until: Last day of its validity, None without end.
        version: Counts the decisions, from 1.
        sawn: Whether its bars are cut.
        remnants_kept: Whether its remnants were put with the offcuts on hand.
        series: Id of the first quote of its series.
        revision: Its number in the series, from 1.
        replaced_by: Id of the revision that took its place, "" for none.
    """

    quote_id: str
    decided: State = State.ISSUED
    valid_until: date | None = None
    version: int = 1
    sawn: bool = False
    remnants_kept: bool = False
    series: str = ""
    revision: int = 1
    replaced_by: str = ""

    @property
    def hold(self) -> Hold | None:
        """What it claims of its offcuts, None where they are anyone's."""
        if self.decided is not State.ACCEPTED:
            return None
        return Hold(None if self.sawn else self.valid_until, self.sawn)


def state_on(life: QuoteLife, day: date) -> State:
    """Tell where a quote stands on a day.

    Example:
        >>> life = QuoteLife("q", valid_until=date(2026, 12, 24))
        >>> state_on(life, date(2026, 12, 24)).value, state_on(life, date(2026, 12, 25)).value
        ('issued', 'expired')
    """
    over = life.valid_until is not None and day > life.valid_until
    if over and not life.sawn and life.decided not in (State.DECLINED, State.REPLACED):
        return State.EXPIRED
    return life.decided


def issue(life: QuoteLife, day: date) -> QuoteLife:
    """Issue a draft, which the customer may then accept.

    Raises:
        QuoteClosed: It is past that.
    """
    _refuse(life, day, "issued", (State.DRAFT, State.ISSUED))
    return _counted(life, replace(life, decided=State.ISSUED))


def accept(life: QuoteLife, day: date) -> QuoteLife:
    """Accept a quote, which then holds its offcuts.

    Raises:
        QuoteClosed: It is declined or expired.
    """
    _refuse(life, day, "accepted", (State.ISSUED, State.ACCEPTED))
    return _counted(life, replace(life, decided=State.ACCEPTED))


def decline(life: QuoteLife, day: date) -> QuoteLife:
    """Decline a quote, a draft or one accepted before too; its offcuts are free again.

    Raises:
        QuoteClosed: It is expired, or its bars are sawn.
    """
    _refuse(life, day, "declined", _DECLINABLE)
    if life.sawn:
        raise QuoteClosed("The bars of this quote are sawn; it can no longer be declined.")
    return _counted(life, replace(life, decided=State.DECLINED))


def saw_bars(life: QuoteLife, day: date, *, keep_remnants: bool) -> QuoteLife:
    """Note that the bars of an accepted quote are sawn: its offcuts are used up.

    Args:
        life: The quote so far.
        day: Of the sawing.
        keep_remnants: Puts its remnants with the offcuts on hand, once.

    Raises:
        QuoteClosed: It is not accepted.
    """
    _refuse(life, day, "cut", (State.ACCEPTED,))
    keep = life.remnants_kept or keep_remnants
    return _counted(life, replace(life, sawn=True, remnants_kept=keep))


def refuse_revision(life: QuoteLife) -> None:
    """Refuse to revise a quote that a later revision or the saw has overtaken.

    Raises:
        QuoteClosed: It is.
    """
    if life.replaced_by:
        raise QuoteClosed(
            f"This quote is replaced by {life.replaced_by}.", advice="Revise that one."
        )
    if life.sawn:
        raise QuoteClosed(
            "The bars of this quote are sawn; it can no longer be revised.",
            advice="Quote what is to be added as a job of its own.",
        )


def overtaken(earlier: QuoteLife, later: QuoteLife) -> QuoteLife:
    """Give what an earlier quote of a series becomes once a later one has taken a step.

    Raises:
        QuoteClosed: Its bars are sawn, so that the later one cannot be accepted in its place.

    Example:
        >>> second = QuoteLife("b", series="a", revision=2)
        >>> overtaken(QuoteLife("a"), second).decided.value
        'replaced'
        >>> overtaken(QuoteLife("a"), replace(second, decided=State.DRAFT)).decided.value
        'issued'
    """
    accepted = earlier.decided is State.ACCEPTED
    if later.decided is State.ACCEPTED and accepted and earlier.sawn:
        raise QuoteClosed("The bars of an earlier revision are sawn; none can take its place.")
    ready = (State.ACCEPTED,) if accepted else (State.ISSUED, State.ACCEPTED)
    open_still = (State.DRAFT, State.ISSUED, State.ACCEPTED)
    if later.decided not in ready or earlier.decided not in open_still:
        return earlier
    changed = replace(earlier, decided=State.REPLACED, replaced_by=later.quote_id)
    return _counted(earlier, changed)


def _refuse(life: QuoteLife, day: date, step: str, states: tuple[State, ...]) -> None:
    state = state_on(life, day)
    if state not in states:
        last = f" since {life.valid_until} has passed" if state is State.EXPIRED else ""
        place = f" by {life.replaced_by}" if state is State.REPLACED else ""
        raise QuoteClosed(
            f"This quote is {state.value}{place}{last}; it cannot be {step}.",
            advice=f"A quote that is {' or '.join(s.value for s in states)} can be.",
        )


def _counted(life: QuoteLife, changed: QuoteLife) -> QuoteLife:
    return life if changed == life else replace(changed, version=life.version + 1)
