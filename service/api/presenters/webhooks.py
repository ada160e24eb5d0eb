"""Endpoints and deliveries as they are answered."""

from service.api.presenters.values import Json, moment
from service.usecases.events import Delivery, DeliveryState, Webhook


def present_webhook(webhook: Webhook) -> Json:
    """Present an endpoint, without its secret."""
    return {
        "id": webhook.id,
        "url": webhook.wish.url,
        "types": [kind.value for kind in webhook.wish.types],
        "note": webhook.wish.note,
        "created_at": moment(webhook.created_at),
        "disabled_at": moment(webhook.disabled_at),
        "paused_until": moment(webhook.paused_until),
        "old_secret_until": moment(webhook.old_until),
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
        "next_at": moment(delivery.next_at) if waits else None,
        "last_at": moment(delivery.last_at),
        "last_status": delivery.last_status,
        "last_error": delivery.last_error,
    }
