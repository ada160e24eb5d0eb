"""Refusals of the domain: what cannot be quoted, where it stands in the request, what to do.

    QuotingError
        InvalidGeometry      the outline or an edge cannot be a deck
        UnbuildableLayout    the wish cannot be built with this railing system
        UnknownReference     something names a thing the request does not hold
        PieceTooLong         a piece is longer than any stock it may be cut from
        NotEnoughStock       no plan was found within the limits on stock
        NoPriceInForce       a part has no price in the table
        InvalidPricing       the rules of pricing do not fit what is priced
        CurrencyMismatch     amounts of two currencies meet
        InvalidAmendment     a change does not fit the clause it changes
        UnknownCode          no such code and edition is held
        CodeNotFound         no code and edition has this address
        TooLarge             a bound on the size of the work is passed
        QuoteNotFound        no quote has this id
        DemandsDisagree      jobs to be cut together describe one material differently
        QuoteClosed          a quote is past the step that is asked for
        StaleState           what was seen of a quote or offcut has changed since
        OffcutNotFound       no offcut has this id
        OffcutTaken          an offcut is reserved, used up or gone
        NotKept              nothing that is kept to quote by has this id
        NameTaken            another thing of its kind has this name
        ConditionMissing     a change is asked for without saying what was seen
        NotReproducible      a kept quote no longer comes out the same
        Unauthenticated      nobody who is known asks
        Forbidden            somebody asks who may not
        KeyUsedOtherwise     an idempotency key came with another request before
        TooManyRequests      a caller asks more often than is allowed
        KeyNotFound          no key has this id
        WebhookNotFound      no endpoint has this id
        EventNotFound        no event has this id
        EventsGone           events that were not read yet are no longer kept
        RunNotFound          no re-pricing run has this id
        RunClosed            a run is past the step that is asked for
        StillAtWork          the request of an idempotency key is not answered yet
        FormNotReady         a dealer's quote form is not set up

A clause that is not met is a finding in a good quote, never an exception.
"""

from typing import Any

Where = tuple[str | int, ...]


class QuotingError(Exception):
    """A request that cannot be answered, with its place in the request and advice.

    Attributes:
        detail: What is wrong and why, one sentence.
        element: The element's name as the layout prints it ("level main, edge 2"), if any.
        where: Path into the request body, such as ("deck", "levels", 0, "edges", 2), or ().
        advice: What would make it right, one sentence, or "".
    """

    def __init__(
        self, detail: str, *, element: str = "", where: Where = (), advice: str = ""
    ) -> None:
        super().__init__(detail)
        self.detail = detail
        self.element = element
        self.where = where
        self.advice = advice


class InvalidGeometry(QuotingError):
    """The outline, an edge or a stair cannot be part of a real deck."""


class UnbuildableLayout(QuotingError):
    """The deck is real, but this railing system cannot be laid out on it as wished."""


class UnknownReference(QuotingError):
    """A name refers to something that the request does not hold."""


class PieceTooLong(QuotingError):
    """A piece is longer than any stock it may be cut from."""


class NotEnoughStock(QuotingError):
    """The limits on stock leave no plan for all pieces, or none was found within them."""


class NoPriceInForce(QuotingError):
    """A part of the take-off has no price in the price table."""

    def __init__(
        self, detail: str, *, skus: tuple[str, ...], where: Where = (), advice: str = ""
    ) -> None:
        super().__init__(detail, where=where, advice=advice)
        self.skus = skus


class InvalidPricing(QuotingError):
    """A rule of pricing does not fit the lines or the total that it meets."""


class CurrencyMismatch(QuotingError):
    """Amounts of two currencies were to be added."""


class InvalidAmendment(QuotingError):
    """A change of a clause that the caller sent does not fit the clauses asked for."""


class UnknownCode(QuotingError):
    """No data file holds the asked code, edition or place."""


class CodeNotFound(QuotingError):
    """No data file holds the code and edition that was to be read."""


class TooLarge(QuotingError):
    """The work asked for passes a bound of the service."""


class QuoteNotFound(QuotingError):
    """No stored quote has the asked id."""


class DemandsDisagree(QuotingError):
    """Jobs to be cut in one plan describe the same material differently."""


class QuoteClosed(QuotingError):
    """A quote is in a state that the step asked for does not follow from."""


class StaleState(QuotingError):
    """A step was asked for on the condition of a state that has changed since."""


class OffcutNotFound(QuotingError):
    """No stored offcut has the asked id."""


class OffcutTaken(QuotingError):
    """An offcut is reserved for another quote, used up, or no longer stored."""


class NotKept(QuotingError):
    """No price table, railing system, pricing rules or amendments have the asked id."""


class NameTaken(QuotingError):
    """Another price table, system, set of rules or amendments has the name."""


class ConditionMissing(QuotingError):
    """A change of what is kept that does not say which version of it was seen."""


class NotReproducible(QuotingError):
    """A kept quote comes out differently in this version of the service."""


class Unauthenticated(QuotingError):
    """What the caller shows belongs to nobody, or no longer.

    Attributes:
        shown: Whether the caller showed anything at all.
    """

    def __init__(self, detail: str, *, shown: bool = True, **more: Any) -> None:
        super().__init__(detail, **more)
        self.shown = shown


class Forbidden(QuotingError):
    """The caller is known and may not do this.

    Attributes:
        scope: What the caller's key lacks, "" where no scope would help.
    """

    def __init__(self, detail: str, *, scope: str = "", **more: Any) -> None:
        super().__init__(detail, **more)
        self.scope = scope


class KeyUsedOtherwise(QuotingError):
    """An idempotency key was sent with another request before."""


class StillAtWork(QuotingError):
    """The first request of an idempotency key is not answered yet."""


class KeyNotFound(QuotingError):
    """No key of this dealer has this id."""


class WebhookNotFound(QuotingError):
    """No endpoint of this dealer has this id."""


class EventNotFound(QuotingError):
    """No event of this dealer has this id."""


class TooManyRequests(QuotingError):
    """A caller asks more often than is allowed.

    Attributes:
        seconds: After which the next request is answered.
    """

    def __init__(self, detail: str, *, seconds: int = 1, **more: Any) -> None:
        super().__init__(detail, **more)
        self.seconds = seconds


class EventsGone(QuotingError):
    """Events after those that were read last are no longer kept."""


class RunNotFound(QuotingError):
    """No re-pricing run of this dealer has this id."""


class RunClosed(QuotingError):
    """A re-pricing run is in a state that the step asked for does not follow from."""


class FormNotReady(QuotingError):
    """A dealer's quote form is not set up, or names what is no longer there."""
