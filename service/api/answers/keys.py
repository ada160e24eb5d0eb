"""Keys, and the trail of changes."""

from service.api.answers.offcuts import ID
from service.api.answers.words import (
    FLAG,
    NEXT,
    TEXT,
    WHOLE,
    Described,
    many,
    one_of,
    or_null,
    record,
    ref,
    said,
    text,
)
from service.usecases.callers import Scope

MOMENT: Described = {"type": "string", "format": "date-time"}
_KEY = {
    "id": ID,
    "prefix": text("What people see of it."),
    "label": TEXT,
    "scopes": many(one_of(Scope)),
    "publishable": FLAG,
    "origins": many(TEXT),
    "per_minute": or_null(WHOLE),
    "created_at": MOMENT,
    "expires_at": or_null(MOMENT),
    "revoked_at": or_null(MOMENT),
}

KEYS = {
    "Key": record("A key as people see it; its secret is kept nowhere.", **_KEY),
    "NewKey": record(
        "A key just made.",
        **_KEY,
        key=or_null(
            text(
                "The key itself, shown once: null where the answer is given again under its "
                "Idempotency-Key."
            )
        ),
        advice=or_null(text("Where the key is null, how to get another.")),
        replaces=or_null(said(ID, "Key it takes the place of.")),
    ),
    "KeyPage": record("A page of keys, newest first.", keys=many(ref("Key")), next=NEXT),
    "AuditEntry": record(
        "Who changed what.",
        id=ID,
        at=MOMENT,
        who=TEXT,
        action=text("Such as quote.accepted."),
        subject=text("Id of what it was done to."),
        detail={"type": "object", "additionalProperties": True},
    ),
    "AuditPage": record(
        "A page of the trail, newest first.", entries=many(ref("AuditEntry")), next=NEXT
    ),
}
