"""The re-pricing run that begins by itself every night."""

from datetime import time
from typing import Any

from flask import Response
from flask_smorest import Blueprint

from service.api.answers.words import Described
from service.api.auth import stores
from service.api.conditions import ETAG, NEEDED_IF_MATCH, needed_condition, with_tag
from service.api.context import body, context, today
from service.api.examples import example_answer
from service.api.operations import answer, json_of, operation
from service.api.presenters.values import Json, moment
from service.api.schemas.repricing import SCHEDULE_REQUEST, wish_of
from service.api.scopes import demand
from service.domain.errors import UnknownReference
from service.usecases.callers import Scope
from service.usecases.events import EventType
from service.usecases.repricing.schedule import Attempt, Schedule, next_at

blueprint = Blueprint(
    "Nightly run",
    __name__,
    url_prefix="/v1/repricing-schedule",
    description="A run that begins by itself once a day, at an hour of the dealer's clock.",
)


def _answer(example: str, summary: str) -> dict[int, Described]:
    shown = json_of("NightlyRun", example_answer(f"repricing/{example}", summary))
    return {200: {"description": "The nightly run.", "content": shown, "headers": ETAG}}


@operation(
    blueprint,
    "GET ",
    "getNightlyRun",
    "Read what is run every night",
    needs=Scope.RUNS,
    description="It tells what came of the last night as well: which run began, or why none could. "
    f"Of the latter the event {EventType.NIGHTLY_RUN_FAILED.value} tells too.",
    answers=_answer("schedule-read", "A run began last night"),
    stable=False,
)
def read() -> Response:
    """Give the schedule; one that is not set has no hour."""
    return _present()


@operation(
    blueprint,
    "PUT ",
    "setNightlyRun",
    "Have a run begin every night",
    needs=Scope.RUNS,
    description="The body of its run is that of POST /v1/repricing-runs without a day: each night "
    "brings the prices in force on that day, unless a version is named. A run whose hour struck "
    "while no worker was at work begins later, within twelve hours.",
    takes=SCHEDULE_REQUEST,
    example="repricing/schedule",
    titled="At two in the morning, what is dearer by more than one percent",
    parameters=[NEEDED_IF_MATCH],
    answers=_answer("schedule", "It begins tonight"),
    refusals=(412, 428),
)
def change() -> Response:
    """Keep another schedule."""
    seen = needed_condition()
    _, content = body()
    asked = SCHEDULE_REQUEST.load(content)
    _refuse_run(asked["run"])
    at = context().now()
    new = Schedule(time.fromisoformat(asked["at"]), asked["time_zone"], content["run"], at)
    stores().schedules.change(new, at, seen)
    return _present()


@operation(
    blueprint,
    "DELETE ",
    "removeNightlyRun",
    "Let no run begin by itself",
    needs=Scope.RUNS,
    parameters=[NEEDED_IF_MATCH],
    answers={204: {"description": "Nothing begins by itself any more."}},
    refusals=(412, 428),
)
def remove() -> Response:
    """Keep no schedule."""
    stores().schedules.change(None, context().now(), needed_condition())
    return Response(status=204)


def _refuse_run(asked: dict[str, Any]) -> None:
    """Refuse a run that could not begin today."""
    wish = wish_of(asked, today())
    if wish.thresholds.margin_under is not None:
        demand(Scope.COSTS_READ, advice="Leave margin_under out, or ask for a key with the scope.")
    table = stores().price_tables.find(wish.price_table, wish.version, wish.on)
    if table is None:
        raise UnknownReference(
            f"No price table is kept under {wish.price_table!r} that is in force today.",
            where=("run", "price_table", "stored"),
            advice="GET /v1/price-tables lists what is kept.",
        )


def _present() -> Response:
    kept = stores().schedules
    schedule, now = kept.schedule(), context().now()
    content = {
        "at": schedule.at.isoformat(timespec="minutes") if schedule else None,
        "time_zone": schedule.time_zone if schedule else None,
        "run": dict(schedule.run) if schedule else None,
        "next_at": moment(next_at(schedule, now)) if schedule else None,
        "last": _attempt(kept.last() if schedule else None),
    }
    return with_tag(answer(content), str(kept.revision()))


def _attempt(last: Attempt | None) -> Json | None:
    if last is None:
        return None
    return {
        "on": last.day.isoformat(),
        "at": moment(last.at),
        "run": None if last.problem else last.run_id,
        "problem": last.problem,
    }
