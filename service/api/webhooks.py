"""Endpoints that events are sent to."""

from datetime import timedelta
from ipaddress import ip_network
from typing import Any
from uuid import UUID

from flask import Response
from flask_smorest import Blueprint
from marshmallow import ValidationError

from service.api.answers.words import one_of
from service.api.auth import stores
from service.api.conditions import IF_MATCH, condition, with_tag
from service.api.context import context, load
from service.api.manners.idempotency import Secret
from service.api.operations import answer, json_of, located, operation
from service.api.paging import (
    LINK,
    cursor_of,
    most_of,
    page_of,
    page_parameters,
    place_of,
    read_query,
)
from service.api.presenters.webhooks import present_delivery, present_webhook
from service.api.schemas.openapi_fields import explanations
from service.api.schemas.webhooks import (
    DELIVERY_QUERY,
    RESEND_REQUEST,
    SECRET_REQUEST,
    WEBHOOK_REQUEST,
)
from service.usecases.addresses import refused
from service.usecases.callers import Scope
from service.usecases.events import DeliveryState, EventType, Range, Webhook, WebhookWish

blueprint = Blueprint(
    "Webhooks",
    __name__,
    url_prefix="/v1/webhooks",
    description="Where events are sent: CloudEvents, signed by the Standard Webhooks scheme.",
)
_SAID = explanations()["DeliveryQuery"]
_SHOWN = {"url": "https://crm.example/hooks", "types": [EventType.QUOTE_ACCEPTED.value]}
_SAME_ID = {"webhook_id": "$response.body#/id"}
_NEW = {
    "description": "The endpoint, whose secret is shown once.",
    "content": json_of("NewWebhook"),
}
_SECRET = Secret(
    "secret",
    "The secret was shown in the first answer and is not shown again. If it did not arrive, POST "
    "/v1/webhooks/{webhook_id}/rotate with hours 0 makes another in its place.",
)
_ONE = {200: {"description": "The endpoint.", "content": json_of("Webhook")}}
_STATE = {
    "name": "state",
    "in": "query",
    "description": _SAID["state"],
    "schema": one_of(DeliveryState),
}


@operation(
    blueprint,
    "POST ",
    "createWebhook",
    "Have events sent to an address",
    needs=Scope.WEBHOOKS,
    description="It is sent what happens from now on, at least once each and with the same id each "
    "time. Of one subject, a later event waits until the earlier is taken or given up.",
    takes=WEBHOOK_REQUEST,
    shown=_SHOWN,
    secret=_SECRET,
    answers={
        201: {
            **_NEW,
            "headers": located("Where it can be read."),
            "links": {"GetWebhook": {"operationId": "getWebhook", "parameters": _SAME_ID}},
        }
    },
)
def create() -> Response:
    """Keep an endpoint."""
    _, wish = load(WEBHOOK_REQUEST)
    here = context()
    _refuse_address(wish["url"])
    types = tuple(dict.fromkeys(EventType(one) for one in wish["types"]))
    asked = WebhookWish(wish["url"], types, wish.get("note", ""))
    made = stores().webhooks.add(here.new_id(), asked, here.now())
    response = _with_secret(*made, 201)
    response.headers["Location"] = f"/v1/webhooks/{made[0].id}"
    return response


@operation(
    blueprint,
    "GET ",
    "listWebhooks",
    "List the endpoints",
    needs=Scope.WEBHOOKS,
    answers={200: {"description": "All endpoints.", "content": json_of("WebhookList")}},
)
def index() -> Response:
    """Give all endpoints."""
    return answer({"webhooks": [present_webhook(one) for one in stores().webhooks.all()]})


@operation(
    blueprint,
    "GET /<uuid:webhook_id>",
    "getWebhook",
    "Read one endpoint",
    needs=Scope.WEBHOOKS,
    answers=_ONE,
    refusals=(404,),
)
def read(webhook_id: UUID) -> Response:
    """Give one endpoint."""
    webhook = stores().webhooks.webhook(str(webhook_id))
    return with_tag(answer(present_webhook(webhook)), webhook.tag)


@operation(
    blueprint,
    "DELETE /<uuid:webhook_id>",
    "removeWebhook",
    "Send nothing more to an endpoint",
    needs=Scope.WEBHOOKS,
    parameters=[IF_MATCH],
    answers={204: {"description": "It is gone, and what was to be sent to it."}},
    refusals=(404, 412),
)
def remove(webhook_id: UUID) -> Response:
    """Forget an endpoint."""
    stores().webhooks.remove(str(webhook_id), context().now(), condition())
    return Response(status=204)


@operation(
    blueprint,
    "POST /<uuid:webhook_id>/rotate",
    "rotateWebhookSecret",
    "Change the secret of an endpoint",
    needs=Scope.WEBHOOKS,
    description="For some hours both secrets sign, so that the receiver can change over.",
    takes=SECRET_REQUEST,
    shown={"hours": 24},
    secret=_SECRET,
    answers={200: _NEW},
    refusals=(404,),
)
def rotate(webhook_id: UUID) -> Response:
    """Give an endpoint a new secret."""
    _, wish = load(SECRET_REQUEST)
    at = context().now()
    until = at + timedelta(hours=wish["hours"])
    return _with_secret(*stores().webhooks.rotate(str(webhook_id), at, until), 200)


@operation(
    blueprint,
    "POST /<uuid:webhook_id>/enable",
    "enableWebhook",
    "Send to an endpoint again that was disabled",
    needs=Scope.WEBHOOKS,
    description="What happened meanwhile is not sent by itself; events can be replayed.",
    answers=_ONE,
    refusals=(404,),
)
def enable(webhook_id: UUID) -> Response:
    """Enable an endpoint."""
    return answer(present_webhook(stores().webhooks.enable(str(webhook_id), context().now())))


@operation(
    blueprint,
    "POST /<uuid:webhook_id>/ping",
    "pingWebhook",
    "Try an endpoint",
    needs=Scope.WEBHOOKS,
    answers={202: {"description": "A ping is on its way.", "content": json_of("SentPing")}},
    refusals=(404,),
)
def ping(webhook_id: UUID) -> Response:
    """Send a ping."""
    return answer({"event": stores().webhooks.ping(str(webhook_id), context().now())}, 202)


@operation(
    blueprint,
    "POST /<uuid:webhook_id>/replay",
    "replayWebhook",
    "Send an endpoint again what it missed",
    needs=Scope.WEBHOOKS,
    description="Events that it listens to, whether they were taken, given up or never sent there, "
    "oldest first and each with its own id; what is on its way already is left as it is. At most "
    "10 000 at once: go on with the cursor in the answer.",
    takes=RESEND_REQUEST,
    shown={"since": "2026-11-25T06:00:00Z"},
    answers={202: {"description": "They are on their way.", "content": json_of("SentManyAgain")}},
    refusals=(404, 410),
)
def resend(webhook_id: UUID) -> Response:
    """Send many events again."""
    _, wish = load(RESEND_REQUEST)
    (after,) = place_of(wish["cursor"], (int,)) if "cursor" in wish else (None,)
    wanted = Range(after, wish.get("since"), "state" in wish)
    resent = stores().webhooks.resend(str(webhook_id), wanted, context().now())
    following = None if resent.following is None else cursor_of(resent.following)
    return answer({"events": resent.count, "next": following}, 202)


@operation(
    blueprint,
    "GET /<uuid:webhook_id>/deliveries",
    "listDeliveries",
    "See what became of what was sent to an endpoint",
    needs=Scope.WEBHOOKS,
    parameters=[_STATE, *page_parameters(DELIVERY_QUERY)],
    answers={
        200: {
            "description": "A page of deliveries.",
            "content": json_of("DeliveryPage"),
            "headers": LINK,
        }
    },
    refusals=(404, 422),
)
def deliveries(webhook_id: UUID) -> Response:
    """Give one page."""
    wish = read_query(DELIVERY_QUERY)
    most = most_of(wish)
    (before,) = place_of(wish["cursor"], (int,)) if "cursor" in wish else (None,)
    state = DeliveryState(wish["state"]) if "state" in wish else None
    found = stores().webhooks.deliveries(str(webhook_id), state, before, most + 1)
    return page_of(
        "deliveries", found, most, present_delivery, lambda last: cursor_of(last.position)
    )


def _refuse_address(url: str) -> None:
    allowed = [ip_network(one) for one in context().settings.webhook_networks]
    if wrong := refused(url, allowed):
        raise ValidationError({"url": [wrong]})


def _with_secret(webhook: Webhook, secret: str, status: int) -> Response:
    content: dict[str, Any] = {**present_webhook(webhook), "secret": secret, "advice": None}
    response = answer(content, status)
    response.headers["Cache-Control"] = "no-store"
    return response
