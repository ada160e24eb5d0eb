"""What is decided about a quote after it is made: accepted, declined, its bars sawn."""

from collections.abc import Callable
from datetime import date, datetime

from service.domain.errors import StaleState
from service.domain.pricing.life import QuoteLife, state_on
from service.usecases.conditions import Matches
from service.usecases.ports import QuoteLives

Step = Callable[[QuoteLife, date], QuoteLife]


def tag_of(life: QuoteLife, day: date) -> str:
    """Name what can be seen of a quote's life on a day; it changes whenever that does."""
    return f"{life.version}-{state_on(life, day).value}"


def decide_quote(
    quote_id: str, step: Step, *, lives: QuoteLives, at: datetime, matches: Matches | None = None
) -> QuoteLife:
    """Take a step in the life of a quote, all of it or nothing.

    Args:
        quote_id: The quote.
        step: What is decided.
        lives: Where decisions are kept.
        at: When.
        matches: A condition on what the caller has seen, None for no condition.

    Raises:
        QuoteNotFound: No quote has this id.
        QuoteClosed: The step does not follow from its state.
        StaleState: The condition does not hold.
        OffcutTaken: An offcut it needs is another quote's by now.
    """

    def decide(life: QuoteLife) -> QuoteLife:
        if matches is not None and not matches(tag_of(life, at.date())):
            raise StaleState("This quote has changed since its state was read; read it again.")
        return step(life, at.date())

    return lives.change(quote_id, decide, at)
