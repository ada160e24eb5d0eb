"""Re-pricing runs that are asked for, and the queries of what came of them."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from marshmallow import ValidationError, fields, post_load

from service.api.schemas.base import Complaints, StrictSchema
from service.api.schemas.fields import (
    Choice,
    DecimalText,
    Fraction,
    IsoDate,
    Rows,
    Text,
    YesNo,
)
from service.api.schemas.pages import PageQuery
from service.api.schemas.stored import LONGEST_NAME, StoredReferenceSchema
from service.domain.pricing.life import State
from service.usecases.repricing.records import (
    OPEN,
    Mode,
    Outcome,
    Revisions,
    RunWish,
    Thresholds,
    Which,
)
from service.usecases.repricing.schedule import UnreadableWish

_ZONE_ADVICE = "Write a name of the IANA time zone database, such as America/Denver."
_OUTCOMES = "|".join(Outcome)
_OPEN = sorted(OPEN)
_UUID = "^[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}$"


class WhichQuotesSchema(StrictSchema):
    """Which quotes are priced again; what is left out does not count."""

    states = Rows(Choice(_OPEN, title="OpenState"), 1, len(_OPEN))
    reference = Text(80)
    outside_reference = Text(80)
    series = Text(36, pattern=_UUID, advice="Send the id of the first quote of a series.")
    made_from = IsoDate()
    made_to = IsoDate()
    priced_by = Text(LONGEST_NAME)


class ThresholdsSchema(StrictSchema):
    """When a change of price is worth a revision; with none, any change is."""

    change_rate = Fraction()
    change_amount = DecimalText()
    margin_under = Fraction()


class NightlyWishSchema(StrictSchema):
    """What a run is to do on whichever day it begins."""

    price_table = fields.Nested(StoredReferenceSchema, required=True)
    mode = Choice(Mode, title="RunMode", load_default=Mode.KEEP_MATERIAL.value)
    quotes = fields.Nested(WhichQuotesSchema, load_default=dict)
    thresholds = fields.Nested(ThresholdsSchema, load_default=dict)
    revisions = Choice(Revisions, title="RunRevisions", load_default=Revisions.DRAFT.value)
    dry_run = YesNo(load_default=False)
    note = Text(200)

    @post_load
    def check(self, data: Mapping[str, Any], **_: Any) -> Mapping[str, Any]:
        """Refuse a time that ends before it begins."""
        which, complaints = data["quotes"], Complaints()
        first, last = which.get("made_from"), which.get("made_to")
        if first and last and last < first:
            complaints.add(("quotes", "made_to"), "Send that day or a later one.")
        complaints.refuse()
        return data


class RunRequest(NightlyWishSchema):
    """Body of POST /v1/repricing-runs."""

    on = IsoDate()


class ScheduleRequest(StrictSchema):
    """Body of PUT /v1/repricing-schedule."""

    at = Text(
        5,
        pattern="^(?:[01][0-9]|2[0-3]):[0-5][0-9]$",
        advice="Write an hour from 00:00 to 23:59, such as 02:00.",
        required=True,
    )
    time_zone = Text(
        60,
        pattern="^[A-Za-z][A-Za-z0-9_+-]*(?:/[A-Za-z0-9_+-]+){0,2}$",
        advice=_ZONE_ADVICE,
        required=True,
    )
    run = fields.Nested(NightlyWishSchema, required=True)

    @post_load
    def check(self, data: Mapping[str, Any], **_: Any) -> Mapping[str, Any]:
        """Refuse a clock that nobody keeps."""
        complaints = Complaints()
        try:
            ZoneInfo(data["time_zone"])
        except (ZoneInfoNotFoundError, ValueError, OSError):
            complaints.add(("time_zone",), _ZONE_ADVICE)
        complaints.refuse()
        return data


class RunQuery(PageQuery):
    """Query of GET /v1/repricing-runs, whose values are texts."""


class RunResultsQuery(RunQuery):
    """Query of the results of a run, whose values are texts."""

    outcome = Text(
        len(Outcome) * (max(map(len, Outcome)) + 1) - 1,
        pattern=f"^(?:{_OUTCOMES})(?:,(?:{_OUTCOMES})){{0,{len(Outcome) - 1}}}$",
        advice=f"Write one or several of {', '.join(Outcome)}, with commas between.",
    )
    under_floor = Choice(("true", "false"), title="YesOrNo")


def wish_of(data: Mapping[str, Any], today: date) -> RunWish:
    """Give the record of a run that is asked for."""
    table, which, least = data["price_table"], data["quotes"], data["thresholds"]
    named = {name: which[name] for name in which if name != "states"}
    states = frozenset(State(one) for one in which.get("states", _OPEN))
    return RunWish(
        price_table=table["stored"],
        on=data.get("on", today),
        version=table.get("version"),
        mode=Mode(data["mode"]),
        which=Which(states=states, **named),
        thresholds=Thresholds(**least),
        revisions=Revisions(data["revisions"]),
        dry_run=data["dry_run"],
        note=data.get("note", ""),
    )


_NIGHTLY = NightlyWishSchema()


def read_nightly(body: Mapping[str, Any], day: date) -> RunWish:
    """Read what a schedule asks for, for the run of a day.

    Raises:
        UnreadableWish: It was set by a version of the service that took something else.
    """
    try:
        loaded = _NIGHTLY.load(body)
    except ValidationError as error:
        raise UnreadableWish(
            f"This version of the service does not read {', '.join(error.messages_dict)} of the "
            "run that is scheduled. Set it again with PUT /v1/repricing-schedule."
        ) from error
    return wish_of(loaded, day)


RUN_REQUEST, SCHEDULE_REQUEST = RunRequest(), ScheduleRequest()
RUN_QUERY, RUN_RESULTS_QUERY = RunQuery(), RunResultsQuery()
