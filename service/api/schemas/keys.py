"""What a key is to be."""

from collections.abc import Mapping
from typing import Any

from marshmallow import post_load

from service.api.schemas.base import Complaints, StrictSchema, absent
from service.api.schemas.fields import Choice, IsoDate, JsonInt, Rows, Text, YesNo
from service.usecases.callers import PUBLISHABLE, Scope

ORIGIN = r"^https?://[A-Za-z0-9.-]{1,200}(?::[0-9]{1,5})?$"
MOST_HOURS = 24 * 30


class KeyRequest(StrictSchema):
    """Body of POST /v1/keys."""

    label = Text(80, required=True)
    scopes = Rows(Choice(Scope), 1, len(Scope), load_default=absent)
    publishable = YesNo(load_default=False)
    origins = Rows(
        Text(220, pattern=ORIGIN, advice="Write an origin such as https://shop.example."),
        0,
        20,
        load_default=list,
    )
    per_minute = JsonInt(1, 100_000, load_default=absent)
    expires_on = IsoDate(load_default=absent)

    @post_load
    def check(self, data: Mapping[str, Any], **_: Any) -> Mapping[str, Any]:
        """Refuse what does not go together."""
        complaints = Complaints()
        if data["publishable"] and not data["origins"]:
            complaints.add(("origins",), "Name the origin of each page it will stand in.")
        if data["publishable"] and data["scopes"] is not None:
            allowed = ", ".join(sorted(PUBLISHABLE))
            complaints.add(("scopes",), f"Leave them out: a publishable key has {allowed} only.")
        if not data["publishable"] and data["scopes"] is None:
            complaints.add(("scopes",), "Say what it may do.")
        if not data["publishable"] and data["origins"]:
            complaints.add(("origins",), "Only a publishable key is bound to origins.")
        complaints.refuse()
        return data


class RotateRequest(StrictSchema):
    """Body of POST /v1/keys/{id}/rotate."""

    hours = JsonInt(0, MOST_HOURS, load_default=24)


class KeyQuery(StrictSchema):
    """Query of GET /v1/keys, whose values are texts."""

    limit = Text(3, pattern="^(?:[1-9][0-9]?|100)$", advice="Write a whole number from 1 to 100.")
    cursor = Text(600, pattern="^[A-Za-z0-9_-]+$", advice="Send the cursor of the page before.")


class AuditQuery(KeyQuery):
    """Query of GET /v1/audit, whose values are texts."""

    subject = Text(100)


KEY_REQUEST, ROTATE_REQUEST = KeyRequest(), RotateRequest()
KEY_QUERY, AUDIT_QUERY = KeyQuery(), AuditQuery()
