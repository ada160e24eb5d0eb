"""Endpoints that events are sent to, and the queries of events."""

from service.api.schemas.base import StrictSchema
from service.api.schemas.fields import Choice, JsonInt, Moment, Rows, Text
from service.api.schemas.pages import CURSOR, LONGEST_CURSOR, PageQuery
from service.usecases.events import LISTENED, DeliveryState

URL = (
    r"^https?://(?:[A-Za-z0-9.-]{1,253}|\[[0-9A-Fa-f:.]{2,45}\])(?::[0-9]{1,5})?"
    r"(?:[/?][!\x22$-\[\]-~]*)?$"
)
MOST_HOURS = 24 * 30


class WebhookRequest(StrictSchema):
    """Body of POST /v1/webhooks."""

    url = Text(
        500,
        pattern=URL,
        advice="Write an address such as https://crm.example/hooks.",
        required=True,
    )
    types = Rows(
        Choice(LISTENED, title="ListenedType"),
        1,
        len(LISTENED),
        load_default=lambda: list(LISTENED),
    )
    note = Text(200)


class SecretRequest(StrictSchema):
    """Body of POST /v1/webhooks/{id}/rotate."""

    hours = JsonInt(0, MOST_HOURS, load_default=24)


class ResendRequest(StrictSchema):
    """Body of POST /v1/webhooks/{id}/replay: which events, all that are kept if it is empty."""

    cursor = Text(LONGEST_CURSOR, pattern=CURSOR, advice="Send a cursor of GET /v1/events.")
    since = Moment()
    state = Choice((DeliveryState.DEAD.value,), title="ResentState")


class EventQuery(PageQuery):
    """Query of GET /v1/events, whose values are texts."""


class DeliveryQuery(EventQuery):
    """Query of GET /v1/webhooks/{id}/deliveries, whose values are texts."""

    state = Choice(DeliveryState)


WEBHOOK_REQUEST, SECRET_REQUEST = WebhookRequest(), SecretRequest()
RESEND_REQUEST = ResendRequest()
EVENT_QUERY, DELIVERY_QUERY = EventQuery(), DeliveryQuery()
