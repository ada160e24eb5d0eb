"""What is written into the audit trail, as a CloudEvent in its JSON form.

Source: CloudEvents 1.0.2, JSON event format, structured content mode.
"""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

import orjson

from service.usecases.events import EventType

_LED_BY = "evenbay."
_TYPES = {kind.removeprefix(_LED_BY): kind for kind in EventType}
_ADDRESSES = {
    "quote": "/v1/quotes/{}",
    "price_table": "/v1/price-tables/{}",
    "run": "/v1/repricing-runs/{}",
    "nightly_run": "/v1/repricing-schedule",
    "webhook": "/v1/webhooks/{}",
}


def event_type(action: str) -> EventType | None:
    """Give the type of event that an action of the audit trail is told as, None if as none.

    Example:
        >>> event_type("quote.issued").value, event_type("offcut.added")
        ('evenbay.quote.issued', None)
    """
    return _TYPES.get(action)


def cloud_event(
    event_id: str,
    dealer: str,
    kind: EventType,
    at: datetime,
    subject: str,
    detail: Mapping[str, Any],
) -> bytes:
    """Write an event down; these bytes are what is signed and sent every time."""
    thing = kind.removeprefix(_LED_BY).partition(".")[0]
    return orjson.dumps(
        {
            "specversion": "1.0",
            "id": event_id,
            "source": f"urn:uuid:{dealer}",
            "type": kind.value,
            "subject": subject,
            "time": at.astimezone(UTC).isoformat(),
            "datacontenttype": "application/json",
            "data": {"id": subject, "href": _ADDRESSES[thing].format(subject), **detail},
        }
    )
