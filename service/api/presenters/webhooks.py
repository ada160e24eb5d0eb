"""Endpoints and deliveries as they are answered."""

from datetime import datetime

from service.api.presenters.values import Json
from service.usecases.events import Delivery, DeliveryState, Webhook


def present_webhook(webhook: Webhook) -> Json:
    """Present an endpoint, without its secret."""
    return {
        "id": webhook.id,
        "url": webhook.wish.url,
        "types": [kind.value for kind in webhook.wish.types],
        "note": webhook.wish.note,
        "created_at": _moment(webhook.created_at),
        "disabled_at": _moment(webhook.disabled_at),
        "old_secret_until": _moment(webhook.old_until),
    }


def present_delivery(delivery: Delivery) -> Json:
    """Present the delivery of one event."""
    waits = delivery.state is DeliveryState.WAITING
    return {
        "event": delivery.event_id,
        "type": delivery.type,
        "subject": delivery.subject,
        "state": delivery.state.value,
        "attempts": delivery.attempts,
        "next_at": _moment(delivery.next_at) if waits else None,
        "last_at": _moment(delivery.last_at),
        "last_status": delivery.last_status,
        "last_error": delivery.last_error,
    }


def _moment(at: datetime | None) -> str | None:
    return at.isoformat(timespec="seconds") if at else None
