"""A dealer's keys, and the trail of who changed what."""

from datetime import UTC, datetime, time, timedelta
from typing import Any
from uuid import UUID

from flask import Response, g
from flask_smorest import Blueprint
from marshmallow import ValidationError

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
from service.api.presenters.values import Json, moment
from service.api.schemas.keys import AUDIT_QUERY, KEY_QUERY, KEY_REQUEST, ROTATE_REQUEST
from service.api.schemas.openapi_fields import explanations
from service.usecases.callers import PUBLISHABLE, KeyWish, Scope
from service.usecases.key_ring import AuditEntry, HeldKey, Moment, make_key, replace_key
from service.usecases.origins import origin_of

blueprint = Blueprint(
    "Keys", __name__, url_prefix="/v1", description="Who may call, and who changed what."
)
_SAID = explanations()["AuditQuery"]
_SHOWN = {"label": "The office's CRM", "scopes": ["estimates", "quotes:read", "quotes:write"]}
_SAME_ID = {"key_id": "$response.body#/id"}
_NEW = {
    201: {
        "description": "The key, whose secret is shown once.",
        "content": json_of("NewKey"),
        "headers": located("Where it can be read."),
        "links": {
            "GetKey": {"operationId": "getKey", "parameters": _SAME_ID},
            "RotateKey": {"operationId": "rotateKey", "parameters": _SAME_ID},
            "RevokeKey": {"operationId": "revokeKey", "parameters": _SAME_ID},
        },
    }
}
_SECRET = Secret(
    "key",
    "The key was shown in the first answer and is kept nowhere. If it did not arrive, POST "
    "/v1/keys/{key_id}/rotate with hours 0 makes another in its place.",
)
_SUBJECT = {
    "name": "subject",
    "in": "query",
    "description": _SAID["subject"],
    "schema": {"type": "string", "minLength": 1, "maxLength": 100},
}


@operation(
    blueprint,
    "POST /keys",
    "createKey",
    "Make a key",
    needs=Scope.KEYS,
    takes=KEY_REQUEST,
    shown=_SHOWN,
    secret=_SECRET,
    answers=_NEW,
)
def create() -> Response:
    """Make a key that may do no more than the caller's."""
    _, wish = load(KEY_REQUEST)
    at = context().now()
    return _made(*make_key(_wish(wish, at), g.caller, stores().keys, at))


@operation(
    blueprint,
    "GET /keys",
    "listKeys",
    "List the keys",
    needs=Scope.KEYS,
    parameters=page_parameters(KEY_QUERY),
    answers={
        200: {"description": "A page of keys.", "content": json_of("KeyPage"), "headers": LINK}
    },
    refusals=(422,),
)
def index() -> Response:
    """Give one page."""
    wish = read_query(KEY_QUERY)
    most = most_of(wish)
    found = stores().keys.page(_after(wish), most + 1)
    return page_of(
        "keys", found, most, _present, lambda last: cursor_of(last.created_at.isoformat(), last.id)
    )


@operation(
    blueprint,
    "GET /keys/<uuid:key_id>",
    "getKey",
    "Read what is known of a key",
    needs=Scope.KEYS,
    answers={200: {"description": "The key.", "content": json_of("Key")}},
    refusals=(404,),
)
def read(key_id: UUID) -> Response:
    """Give one key."""
    held = stores().keys.key(str(key_id))
    return with_tag(answer(_present(held)), held.tag)


@operation(
    blueprint,
    "POST /keys/<uuid:key_id>/rotate",
    "rotateKey",
    "Make a key that takes the place of another",
    needs=Scope.KEYS,
    description="The old one stays good for some hours, so that callers can change over.",
    takes=ROTATE_REQUEST,
    shown={"hours": 24},
    secret=_SECRET,
    answers=_NEW,
    refusals=(404,),
)
def rotate(key_id: UUID) -> Response:
    """Replace a key."""
    _, wish = load(ROTATE_REQUEST)
    at = context().now()
    until = at + timedelta(hours=wish["hours"])
    ends = _end(wish, at)
    made = replace_key(str(key_id), g.caller, stores().keys, at, until, ends)
    return _made(*made, replaces=str(key_id))


@operation(
    blueprint,
    "DELETE /keys/<uuid:key_id>",
    "revokeKey",
    "End a key now",
    needs=Scope.KEYS,
    parameters=[IF_MATCH],
    answers={204: {"description": "It is good no longer."}},
    refusals=(404, 412),
)
def revoke(key_id: UUID) -> Response:
    """Revoke a key."""
    stores().keys.revoke(str(key_id), context().now(), condition())
    return Response(status=204)


@operation(
    blueprint,
    "GET /audit",
    "listChanges",
    "See who changed what",
    needs=Scope.AUDIT_READ,
    parameters=[_SUBJECT, *page_parameters(AUDIT_QUERY)],
    answers={
        200: {"description": "A page of it.", "content": json_of("AuditPage"), "headers": LINK}
    },
    refusals=(422,),
)
def trail() -> Response:
    """Give one page of the trail."""
    wish = read_query(AUDIT_QUERY)
    most = most_of(wish)
    found = stores().keys.trail(wish.get("subject", ""), _after(wish), most + 1)
    return page_of(
        "entries", found, most, _present_entry, lambda last: cursor_of(last.at.isoformat(), last.id)
    )


def _wish(wish: dict[str, Any], at: datetime) -> KeyWish:
    scopes = frozenset(map(Scope, wish["scopes"] or ()))
    return KeyWish(
        label=wish["label"],
        scopes=scopes | PUBLISHABLE if wish["publishable"] else scopes,
        publishable=wish["publishable"],
        origins=tuple(dict.fromkeys(map(origin_of, wish["origins"]))),
        per_minute=wish["per_minute"],
        expires_at=_end(wish, at),
    )


def _end(wish: dict[str, Any], at: datetime) -> datetime | None:
    """Give when a key is to end, None where nothing is said of it."""
    last = wish["expires_on"]
    end = datetime.combine(last, time(), UTC) if last else None
    if end is not None and end <= at:
        raise ValidationError({"expires_on": ["Send a day to come."]})
    return end


def _made(held: HeldKey, key: str, replaces: str | None = None) -> Response:
    response = answer({**_present(held), "key": key, "advice": None, "replaces": replaces}, 201)
    response.headers["Location"] = f"/v1/keys/{held.id}"
    response.headers["Cache-Control"] = "no-store"
    return response


def _after(wish: dict[str, Any]) -> Moment | None:
    if "cursor" not in wish:
        return None
    at, key_id = place_of(wish["cursor"], (datetime, str))
    return at, key_id


def _present(held: HeldKey) -> Json:
    return {
        "id": held.id,
        "prefix": held.prefix,
        "label": held.wish.label,
        "scopes": sorted(scope.value for scope in held.wish.scopes),
        "publishable": held.wish.publishable,
        "origins": list(held.wish.origins),
        "per_minute": held.wish.per_minute,
        "created_at": moment(held.created_at),
        "expires_at": moment(held.wish.expires_at),
        "revoked_at": moment(held.revoked_at),
    }


def _present_entry(entry: AuditEntry) -> Json:
    return {
        "id": entry.id,
        "at": moment(entry.at),
        "who": entry.who,
        "action": entry.action,
        "subject": entry.subject,
        "detail": dict(entry.detail),
    }
