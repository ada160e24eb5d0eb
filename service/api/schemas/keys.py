"""What a key is to be."""

from collections.abc import Mapping
from typing import Any

from marshmallow import post_load

from service.api.schemas.base import Complaints, StrictSchema, absent
from service.api.schemas.fields import Choice, IsoDate, JsonInt, Rows, Text, YesNo
from service.api.schemas.pages import PageQuery
from service.usecases.callers import IN_ADDRESSES, Scope
from service.usecases.origins import EXAMPLE, ORIGIN

MOST_HOURS = 24 * 30


class KeyRequest(StrictSchema):
    """Body of POST /v1/keys."""

    label = Text(80, required=True)
    scopes = Rows(Choice(Scope), 1, len(Scope), load_default=absent)
    publishable = YesNo(load_default=False)
    origins = Rows(
        Text(220, pattern=f"^{ORIGIN}$", advice=f"Write an origin such as {EXAMPLE}."),
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
        scopes = data["scopes"] or ()
        if data["publishable"] and not data["origins"] and Scope.SHEETS not in scopes:
            complaints.add(("origins",), "Name the origin of each page it will stand in.")
        if data["publishable"] and not {*scopes} <= IN_ADDRESSES:
            allowed = ", ".join(sorted(IN_ADDRESSES))
            complaints.add(("scopes",), f"A publishable key has no more than {allowed}.")
        if not data["publishable"] and data["scopes"] is None:
            complaints.add(("scopes",), "Say what it may do.")
        if not data["publishable"] and data["origins"]:
            complaints.add(("origins",), "Only a publishable key is bound to origins.")
        complaints.refuse()
        return data


class RotateRequest(StrictSchema):
    """Body of POST /v1/keys/{id}/rotate."""

    hours = JsonInt(0, MOST_HOURS, load_default=24)
    expires_on = IsoDate(load_default=absent)


class KeyQuery(PageQuery):
    """Query of GET /v1/keys, whose values are texts."""


class AuditQuery(KeyQuery):
    """Query of GET /v1/audit, whose values are texts."""

    subject = Text(100)


KEY_REQUEST, ROTATE_REQUEST = KeyRequest(), RotateRequest()
KEY_QUERY, AUDIT_QUERY = KeyQuery(), AuditQuery()
