"""What papers of a quote say of where it stands: plainly, where it is no offer."""

from dataclasses import dataclass
from datetime import date

from service.domain.pricing.life import QuoteLife, State, state_on


@dataclass(frozen=True, slots=True)
class Standing:
    """Words for a quote that is no offer.

    Attributes:
        word: For the head of each page, "" where there is nothing to say.
        sentence: For the first.
    """

    word: str
    sentence: str


OFFERED = Standing("", "")  # issued or accepted


def standing_on(life: QuoteLife, day: date) -> Standing:
    """Say where a quote stands on a day, if it is no offer then.

    Example:
        >>> standing_on(QuoteLife("q", State.DRAFT), date(2026, 12, 24)).sentence
        'Draft: not an offer.'
        >>> standing_on(QuoteLife("q"), date(2026, 12, 24)) == OFFERED
        True
    """
    state = state_on(life, day)
    sentence = {
        State.DRAFT: "Draft: not an offer.",
        State.DECLINED: "Declined: no longer an offer.",
        State.REPLACED: f"Replaced by quote {life.replaced_by}: no longer an offer.",
        State.EXPIRED: f"Expired: it was valid until {life.valid_until} and is no longer an offer.",
    }.get(state, "")
    return Standing(state.value.upper(), sentence) if sentence else OFFERED
