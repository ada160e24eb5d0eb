"""What is told to whoever listens: events, the endpoints they are sent to, their deliveries.

Every event is sent at least once to each endpoint that asks for its type, with the same id each
time. To one endpoint the events of one subject (a quote, a price table) are sent in the order in
which they happened: a later one waits until the earlier is taken or given up. Nothing is promised
about the order of different subjects, nor about events that are replayed.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Protocol

from service.usecases.conditions import Matches, tag_of_state

MEDIA_TYPE = "application/cloudevents+json"


class EventType(StrEnum):
    """What happened: the ``type`` of a CloudEvent."""

    QUOTE_ISSUED = "evenbay.quote.issued"
    QUOTE_REPRICED = "evenbay.quote.repriced"
    QUOTE_ACCEPTED = "evenbay.quote.accepted"
    QUOTE_DECLINED = "evenbay.quote.declined"
    QUOTE_CUT = "evenbay.quote.cut"
    QUOTE_REPLACED = "evenbay.quote.replaced"
    QUOTE_EXPIRED = "evenbay.quote.expired"
    PRICE_TABLE_ACTIVATED = "evenbay.price_table.activated"
    RUN_FINISHED = "evenbay.run.finished"
    NIGHTLY_RUN_FAILED = "evenbay.nightly_run.failed"
    PING = "evenbay.webhook.ping"


MEANING: Mapping[EventType, str] = {
    EventType.QUOTE_ISSUED: "A quote was issued.",
    EventType.QUOTE_REPRICED: "A re-pricing run wrote a revision of a quote.",
    EventType.QUOTE_ACCEPTED: "A quote was accepted.",
    EventType.QUOTE_DECLINED: "A quote was declined.",
    EventType.QUOTE_CUT: "The bars of a quote were sawn.",
    EventType.QUOTE_REPLACED: "A later revision took the place of a quote.",
    EventType.QUOTE_EXPIRED: "The last day of a quote that was issued has passed.",
    EventType.PRICE_TABLE_ACTIVATED: "A version of a price table was put in force from a day on.",
    EventType.RUN_FINISHED: "A re-pricing run has finished, was cancelled, or failed.",
    EventType.NIGHTLY_RUN_FAILED: "The run of a night could not begin; no run was made.",
    EventType.PING: "A ping that was asked for, to try an endpoint.",
}
# A ping is sent to the endpoint it was asked for, and to no other.
LISTENED = tuple(kind for kind in EventType if kind is not EventType.PING)


class DeliveryState(StrEnum):
    """Where the delivery of one event to one endpoint stands."""

    WAITING = "waiting"
    DELIVERED = "delivered"
    DEAD = "dead"


@dataclass(frozen=True, slots=True)
class WebhookWish:
    """An endpoint that is asked for.

    Attributes:
        types: Of the events it is sent.
        note: The dealer's own words.
    """

    url: str
    types: tuple[EventType, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Webhook:
    """An endpoint that events are sent to.

    Attributes:
        disabled_at: When it said that it is gone for good (410), None while it is sent to.
        paused_until: Until when it is left alone, None where it is not.
        old_until: Until when the secret before signs too, None if there is none.
    """

    id: str
    wish: WebhookWish
    created_at: datetime
    disabled_at: datetime | None = None
    old_until: datetime | None = None
    paused_until: datetime | None = None

    @property
    def tag(self) -> str:
        """Name what can be seen of it that changes."""
        return tag_of_state(self.disabled_at, self.old_until)


@dataclass(frozen=True, slots=True)
class Delivery:
    """One event on its way to one endpoint.

    Attributes:
        position: Of the event among its dealer's.
        next_at: When it is sent next, if it waits.
        last_at: When it was sent last, None before.
        last_status: Answer of the endpoint, None where none came.
        last_error: Why it was not taken, "" where it was.
    """

    event_id: str
    type: str
    subject: str
    position: int
    state: DeliveryState
    attempts: int
    next_at: datetime
    last_at: datetime | None
    last_status: int | None
    last_error: str


@dataclass(frozen=True, slots=True)
class Range:
    """Which events are to be sent to an endpoint again.

    Attributes:
        after: Those behind this position, None for all that are kept.
        since: Those that happened then or later.
        dead_only: Those that were given up.
    """

    after: int | None = None
    since: datetime | None = None
    dead_only: bool = False


@dataclass(frozen=True, slots=True)
class Resent:
    """What is on its way again.

    Attributes:
        count: How many events.
        following: Position to go on behind, None where there are no more.
    """

    count: int
    following: int | None


class Events(Protocol):
    """What happened to what a dealer keeps."""

    def page(self, after: int | None, most: int) -> list[tuple[int, bytes]]:
        """Give events behind a position, each with its own, oldest first; None for all kept.

        Raises:
            EventsGone: Some of those behind it are no longer kept.
        """
        ...

    def replay(self, event_id: str, at: datetime) -> int:
        """Send an event again to every endpoint that listens to its type.

        Returns:
            To how many.

        Raises:
            EventNotFound: No event has this id.
        """
        ...


class Webhooks(Protocol):
    """The endpoints of a dealer.

    Each method that takes an id raises WebhookNotFound where no endpoint has it.
    """

    def add(self, webhook_id: str, wish: WebhookWish, at: datetime) -> tuple[Webhook, str]:
        """Keep an endpoint, and give the secret that signs what it is sent.

        It is sent what happens from now on.

        Raises:
            TooLarge: There are too many.
        """
        ...

    def webhook(self, webhook_id: str) -> Webhook:
        """Give one endpoint."""
        ...

    def all(self) -> list[Webhook]:
        """Give all endpoints, oldest first."""
        ...

    def remove(self, webhook_id: str, at: datetime, matches: Matches | None = None) -> None:
        """Forget an endpoint, and what was to be sent to it.

        Raises:
            WebhookNotFound: No endpoint has this id.
            StaleState: It is not as it was seen.
        """
        ...

    def rotate(self, webhook_id: str, at: datetime, until: datetime) -> tuple[Webhook, str]:
        """Give a new secret; the old one signs too until a time."""
        ...

    def enable(self, webhook_id: str, at: datetime) -> Webhook:
        """Send to an endpoint again that had said it was gone."""
        ...

    def ping(self, webhook_id: str, at: datetime) -> str:
        """Send a ping to an endpoint; its id is given."""
        ...

    def resend(self, webhook_id: str, wanted: Range, at: datetime) -> Resent:
        """Send an endpoint again what it listens to, oldest first, so many at once.

        Raises:
            EventsGone: Some of what is wanted is no longer kept.
        """
        ...

    def deliveries(
        self, webhook_id: str, state: DeliveryState | None, before: int | None, most: int
    ) -> list[Delivery]:
        """Give what was or is to be sent to an endpoint, newest first."""
        ...


@dataclass(frozen=True, slots=True)
class Parcel:
    """An event that is to be sent now.

    Attributes:
        attempts: How many there are with this one; tells the claim from later ones.
        secrets: What signs it, the newest first.
    """

    dealer: str
    webhook_id: str
    event_id: str
    subject: str
    position: int
    url: str
    secrets: Sequence[str]
    body: bytes
    attempts: int


@dataclass(frozen=True, slots=True)
class Receipt:
    """What an endpoint made of a parcel.

    Attributes:
        status: Of its answer, None where none came.
        error: Why the parcel counts as not taken, "" where it was.
        retry_after: How long it asks to be left alone, None where it does not say.
    """

    status: int | None
    error: str = ""
    retry_after: timedelta | None = None

    @property
    def gone(self) -> bool:
        """Whether the endpoint wants nothing more, ever (RFC 9110, 410)."""
        return self.status == 410
