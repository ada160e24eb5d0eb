"""The life of a quote after it is made: what may happen to it, and what it holds on to.

    issued --accept--> accepted --cut--> accepted, sawn
    issued or accepted --decline--> declined
    issued or accepted, not sawn --its last day passes--> expired

Expiry is no event: it follows from the day on which the question is asked. An accepted quote holds
the offcuts that its cut plan uses, until it is declined or expires; once its bars are sawn the
offcuts are used up and the quote lasts. A step asked for twice changes nothing the second time.
"""

from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum

from service.domain.errors import QuoteClosed


class State(StrEnum):
    """Where a quote stands."""

    ISSUED = "issued"
    ACCEPTED = "accepted"
    DECLINED = "declined"
    EXPIRED = "expired"


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
    """

    quote_id: str
    decided: State = State.ISSUED
    valid_until: date | None = None
    version: int = 1
    sawn: bool = False
    remnants_kept: bool = False

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
    if over and not life.sawn and life.decided is not State.DECLINED:
        return State.EXPIRED
    return life.decided


def accept(life: QuoteLife, day: date) -> QuoteLife:
    """Accept a quote, which then holds its offcuts.

    Raises:
        QuoteClosed: It is declined or expired.
    """
    _refuse(life, day, "accepted", (State.ISSUED, State.ACCEPTED))
    return _counted(life, replace(life, decided=State.ACCEPTED))


def decline(life: QuoteLife, day: date) -> QuoteLife:
    """Decline a quote, even one accepted before; its offcuts are free again.

    Raises:
        QuoteClosed: It is expired, or its bars are sawn.
    """
    _refuse(life, day, "declined", (State.ISSUED, State.ACCEPTED, State.DECLINED))
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


def _refuse(life: QuoteLife, day: date, step: str, states: tuple[State, ...]) -> None:
    state = state_on(life, day)
    if state not in states:
        last = f" since {life.valid_until} has passed" if state is State.EXPIRED else ""
        raise QuoteClosed(
            f"This quote is {state.value}{last}; it cannot be {step}.",
            advice=f"A quote that is {' or '.join(s.value for s in states)} can be.",
        )


def _counted(life: QuoteLife, changed: QuoteLife) -> QuoteLife:
    return life if changed == life else replace(changed, version=life.version + 1)
