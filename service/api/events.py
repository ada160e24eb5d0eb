"""What happened, for clients that ask from time to time; and events sent again."""

from uuid import UUID

import orjson
from flask import Response
from flask_smorest import Blueprint

from service.api.auth import stores
from service.api.context import context
from service.api.operations import answer, json_of, operation
from service.api.paging import (
    LINK,
    cursor_of,
    most_of,
    page_parameters,
    place_of,
    point_to_next,
    read_query,
)
from service.api.schemas.webhooks import EVENT_QUERY
from service.usecases.callers import Scope

blueprint = Blueprint(
    "Events", __name__, url_prefix="/v1/events", description="What happened to what is kept."
)


@operation(
    blueprint,
    "GET ",
    "listEvents",
    "Read what happened since",
    needs=Scope.WEBHOOKS,
    description="The cursor of the last page is good later too: ask with it again, and nothing is "
    "missed or seen twice. Of one subject, events come in the order in which they happened. They "
    "are kept for 90 days, unless the operator decides otherwise: 410 tells a cursor that is older "
    "that it missed some; without a cursor the oldest that are kept come first.",
    parameters=page_parameters(EVENT_QUERY),
    answers={
        200: {
            "description": "A page of events.",
            "content": json_of("EventPage"),
            "headers": LINK,
        }
    },
    refusals=(410, 422),
)
def index() -> Response:
    """Give one page."""
    wish = read_query(EVENT_QUERY)
    most = most_of(wish)
    (after,) = place_of(wish["cursor"], (int,)) if "cursor" in wish else (None,)
    found = stores().events.page(after, most + 1)
    shown = found[:most]
    following = cursor_of(shown[-1][0] if shown else after or 0)
    content = {"events": [orjson.loads(body) for _, body in shown], "next": following}
    return point_to_next(answer(content), following if len(found) > most else None)


@operation(
    blueprint,
    "POST /<uuid:event_id>/replay",
    "replayEvent",
    "Send an event again",
    needs=Scope.WEBHOOKS,
    description="To every endpoint that listens to its type, with the same id, whether it was "
    "taken, given up or never sent there. It waits for no other event.",
    answers={202: {"description": "It is on its way.", "content": json_of("SentAgain")}},
    refusals=(404,),
)
def replay(event_id: UUID) -> Response:
    """Send an event again."""
    endpoints = stores().events.replay(str(event_id), context().now())
    return answer({"endpoints": endpoints}, 202)
