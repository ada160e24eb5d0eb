"""Re-pricing runs: begun, watched, steered."""

from collections.abc import Callable
from datetime import datetime
from functools import partial
from uuid import UUID

from flask import Response, after_this_request, request
from flask_smorest import Blueprint

from service.api.answers.words import Described
from service.api.auth import dealer, stores
from service.api.conditions import ETAG, IF_MATCH, with_tag
from service.api.context import body, context, today
from service.api.examples import example_answer
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
from service.api.presenters.repricing import ADDRESS, present_run
from service.api.schemas.repricing import RUN_QUERY, RUN_REQUEST, wish_of
from service.api.scopes import demand, may
from service.usecases.callers import Scope
from service.usecases.conditions import Matches
from service.usecases.repricing.records import Run, RunState, cancel, pause, resume
from service.usecases.repricing.steer import begin_run, steer_run

blueprint = Blueprint(
    "Re-pricing runs",
    __name__,
    url_prefix=ADDRESS,
    description="New prices for all open quotes at once: revisions, never overwritten answers.",
)
_SAME_ID = {"run_id": "$response.body#/id"}
_LINKS = {
    name: {"operationId": operation_id, "parameters": _SAME_ID}
    for name, operation_id in {
        "GetRun": "getRepricingRun",
        "ListResults": "listRunResults",
        "TakeResults": "getRunResultsCsv",
        "Pause": "pauseRun",
        "Resume": "resumeRun",
        "Cancel": "cancelRun",
    }.items()
}


def _run(example: str, summary: str) -> Described:
    return {
        "description": "The run as it stands.",
        "content": json_of("RepricingRun", example_answer(f"repricing/{example}", summary)),
        "headers": ETAG,
    }


_IF_MATCH = {
    **IF_MATCH,
    "description": "ETag of the run that was seen; the step is refused if its state has changed.",
}


@operation(
    blueprint,
    "POST ",
    "beginRepricingRun",
    "Price kept quotes again",
    needs=Scope.RUNS,
    description="Every open quote that fits, the newest of its series, is priced by a version of "
    "a kept price table: with keep-material the order stays and only its prices are new, with "
    "replan-material it is laid out, cut and priced anew. Where the price changes by more than "
    "the thresholds say, a revision is written; accepted, declined and expired quotes are left "
    "alone, and revisions made before the customer accepted or declined an earlier one. Workers "
    "do it piece by piece; the run tells how far they are. The same run again "
    "finds nothing to change.",
    takes=RUN_REQUEST,
    example="repricing/begin",
    titled="What aluminium has made dearer by more than half a percent",
    answers={
        202: {
            **_run("begun", "A run that no worker has taken up yet"),
            "description": "The run, which workers take up.",
            "headers": ETAG | located("Where it can be watched."),
            "links": _LINKS,
        }
    },
)
def create() -> Response:
    """Begin a run."""
    _, content = body()
    wish = wish_of(RUN_REQUEST.load(content), today())
    if wish.thresholds.margin_under is not None:
        demand(Scope.COSTS_READ, advice="Leave margin_under out, or ask for a key with the scope.")
    here, kept = context(), stores()
    run = begin_run(
        wish,
        run_id=here.new_id(),
        runs=kept.runs,
        price_tables=kept.price_tables,
        at=here.now(),
    )
    _hint(run)
    response = _present(run, 202)
    response.headers["Location"] = f"{ADDRESS}/{run.id}"
    return response


@operation(
    blueprint,
    "GET ",
    "listRepricingRuns",
    "List runs",
    needs=Scope.RUNS,
    parameters=page_parameters(RUN_QUERY),
    answers={
        200: {
            "description": "A page of runs, newest first.",
            "content": json_of(
                "RepricingRunPage", example_answer("repricing/list", "The only run there is")
            ),
            "headers": LINK,
        }
    },
    refusals=(422,),
    stable=False,
)
def index() -> Response:
    """Give one page."""
    wish = read_query(RUN_QUERY)
    most = most_of(wish)
    after = place_of(wish["cursor"], (datetime, str)) if "cursor" in wish else None
    found = stores().runs.page((after[0], after[1]) if after else None, most + 1)
    return page_of(
        "runs",
        found,
        most,
        partial(present_run, costs=may(Scope.COSTS_READ)),
        lambda last: cursor_of(last.created_at.isoformat(), last.id),
    )


@operation(
    blueprint,
    "GET /<uuid:run_id>",
    "getRepricingRun",
    "Watch a run",
    needs=Scope.RUNS,
    answers={200: _run("finished", "A run that is finished: one quote has no price")},
    refusals=(404,),
)
def read(run_id: UUID) -> Response:
    """Give a run, its summary as far as it has come."""
    return _present(stores().runs.run(str(run_id)))


def _steps(
    name: str,
    operation_id: str,
    summary: str,
    step: Callable[[Run], Run],
    shown: tuple[str, str],
) -> None:
    @operation(
        blueprint,
        f"POST /<uuid:run_id>/{name}",
        operation_id,
        summary,
        needs=Scope.RUNS,
        description="A piece of work that was begun is done first. Asked for twice, it changes "
        "nothing the second time. What the run has revised stays revised.",
        parameters=[_IF_MATCH],
        answers={200: _run(*shown)},
        refusals=(404, 409, 412),
    )
    def steer(run_id: UUID) -> Response:
        runs, at = stores().runs, context().now()
        run = steer_run(str(run_id), step, runs=runs, at=at, matches=_condition())
        if run.state in (RunState.PLANNED, RunState.RUNNING):
            _hint(run)
        return _present(run)

    steer.__name__ = name


_steps("pause", "pauseRun", "Let a run rest", pause, ("paused", "A run that rests"))
_steps("resume", "resumeRun", "Let a paused run go on", resume, ("resumed", "A run that goes on"))
_steps("cancel", "cancelRun", "End a run for good", cancel, ("cancelled", "A run that was ended"))


def _hint(run: Run) -> None:
    """Tell workers of a run once it is kept, which it is when the answer is."""
    mine = dealer()

    @after_this_request
    def tell(response: Response) -> Response:
        if response.status_code < 400:
            context().hint(mine, run.id)
        return response


def _condition() -> Matches | None:
    """Give the condition that the request makes on the state; work done since does not count."""
    if request.headers.get("If-Match") is None:
        return None
    seen = {tag.partition(".")[0] for tag in request.if_match.as_set()}
    return lambda tag: request.if_match.star_tag or tag in seen


def _present(run: Run, status: int = 200) -> Response:
    content = present_run(run, costs=may(Scope.COSTS_READ))
    return with_tag(answer(content, status), f"{run.tag}.{run.progress.done + run.progress.failed}")
