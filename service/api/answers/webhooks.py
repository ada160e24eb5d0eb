"""Events, the endpoints they are sent to, their deliveries."""

from service.api.answers.keys import MOMENT
from service.api.answers.offcuts import ID
from service.api.answers.words import (
    NEXT,
    TEXT,
    WHOLE,
    Described,
    many,
    one_of,
    or_null,
    partial_record,
    record,
    ref,
    said,
    text,
)
from service.usecases.events import LISTENED, DeliveryState, EventType

_WEBHOOK: dict[str, Described] = {
    "id": ID,
    "url": TEXT,
    "types": many(one_of(LISTENED, name="ListenedType"), "Of the events it is sent."),
    "note": TEXT,
    "created_at": MOMENT,
    "disabled_at": or_null(said(MOMENT, "When it answered 410; nothing is sent to it since.")),
    "paused_until": or_null(
        said(MOMENT, "It asked to be left alone until then, or failed again and again.")
    ),
    "old_secret_until": or_null(said(MOMENT, "Until when the secret before signs too.")),
}

EVENTS = {
    "CloudEvent": record(
        "What happened, as CloudEvents 1.0 writes it down in JSON.",
        specversion=one_of(["1.0"]),
        id=said(ID, "The same every time it is sent."),
        source=text("The dealer it happened to; with the id it is like no other event."),
        type=one_of(EventType),
        subject=text("Id of what it happened to."),
        time=MOMENT,
        datacontenttype=one_of(["application/json"]),
        data=ref("EventData"),
    ),
    "EventData": {
        **partial_record(
            "Where to read more; nothing personal.",
            (
                *("version", "revision", "series", "replaced_by", "active_from"),
                *("revises", "run", "state", "total_before", "total_after", "currency"),
                "problem",
            ),
            id=text("Of what it happened to."),
            href=text("Where that can be read."),
            version=said(WHOLE, "Counts what happened to a quote; of a price table the version."),
            revision=said(WHOLE, "Of a quote: its number in its series."),
            series=text("Of a quote: id of the first quote of its series."),
            replaced_by=text("Of a quote: the revision that took its place."),
            active_from=text("Of a price table: first day its version is in force."),
            revises=text("Of a quote that was re-priced: the quote before it."),
            run=text("Of a quote that was re-priced: the run that did so."),
            state=text("Of a quote that was re-priced, or a run: how it stands now."),
            total_before=text("Of a quote that was re-priced, or all of a run: gross before."),
            total_after=text("Of a quote that was re-priced, or all of a run: gross now."),
            currency=text("Of those totals (ISO 4217)."),
            problem=text("Of the run of a night: why it could not begin."),
        ),
        "additionalProperties": True,
    },
    "EventPage": record(
        "A page of events, oldest first.",
        events=many(ref("CloudEvent")),
        next=text("Cursor to ask for what comes after this page, now or later."),
    ),
    "Webhook": record("An endpoint that events are sent to.", **_WEBHOOK),
    "NewWebhook": record(
        "An endpoint, and its secret.",
        **_WEBHOOK,
        secret=or_null(
            text(
                "Signs what is sent (Standard Webhooks); shown once: null where the answer is "
                "given again under its Idempotency-Key."
            )
        ),
        advice=or_null(text("Where the secret is null, how to get another.")),
    ),
    "WebhookList": record("All endpoints, oldest first.", webhooks=many(ref("Webhook"))),
    "SentPing": record("A ping on its way.", event=said(ID, "The deliveries show it.")),
    "SentAgain": record("An event on its way again.", endpoints=said(WHOLE, "To how many.")),
    "SentManyAgain": record(
        "Events on their way again.",
        events=said(WHOLE, "How many."),
        next=or_null(text("Cursor to go on after these, null where there are no more.")),
    ),
    "Delivery": record(
        "One event on its way to one endpoint.",
        event=ID,
        type=one_of(EventType),
        subject=TEXT,
        state=one_of(DeliveryState),
        attempts=WHOLE,
        next_at=or_null(said(MOMENT, "When it is sent next.")),
        last_at=or_null(MOMENT),
        last_status=or_null(said(WHOLE, "What the endpoint answered.")),
        last_error=text("Why it was not taken; empty where it was."),
    ),
    "DeliveryPage": record(
        "A page of deliveries, newest first.", deliveries=many(ref("Delivery")), next=NEXT
    ),
}
