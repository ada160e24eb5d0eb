"""What a re-pricing run came to, quote by quote: in pages, or all of it as CSV."""

from collections.abc import Iterator
from functools import partial
from typing import Any
from uuid import UUID

from flask import Response, stream_with_context
from flask_smorest import Blueprint

from service.api.answers.words import one_of
from service.api.auth import stores
from service.api.context import context
from service.api.examples import example_answer
from service.api.operations import json_of, operation
from service.api.paging import (
    LINK,
    cursor_of,
    most_of,
    page_of,
    page_parameters,
    place_of,
    read_query,
)
from service.api.presenters.repricing import ADDRESS, present_result
from service.api.quote_forms import CSV
from service.api.schemas.openapi_fields import explanations
from service.api.schemas.repricing import RUN_RESULTS_QUERY
from service.api.scopes import demand, may
from service.usecases.callers import Scope
from service.usecases.repricing.ports import ResultsWanted, Runs
from service.usecases.repricing.records import Outcome, RunResult

blueprint = Blueprint(
    "Re-pricing results",
    __name__,
    url_prefix=f"{ADDRESS}/<uuid:run_id>",
    description="Which quotes a run changed and by how much, and which it could not price.",
)
_AT_ONCE = 1000
_SAID = explanations()["RunResultsQuery"]
_FILTERS: list[dict[str, Any]] = [
    {
        "name": "outcome",
        "in": "query",
        "description": _SAID["outcome"],
        "style": "form",
        "explode": False,
        "schema": {
            "type": "array",
            "items": one_of(Outcome, name="ListedOutcome"),
            "minItems": 1,
            "maxItems": len(Outcome),
        },
    },
    {
        "name": "under_floor",
        "in": "query",
        "description": _SAID["under_floor"],
        "schema": one_of(("true", "false"), name="YesOrNo"),
    },
]
_WHILE = "While the run goes on, those so far."


@operation(
    blueprint,
    "GET /results",
    "listRunResults",
    "See what a run came to, quote by quote",
    needs=Scope.RUNS,
    description="A quote whose price stays as it was is counted, and listed only where its margin "
    f"is under the floor, to those who may see costs. {_WHILE}",
    parameters=[*_FILTERS, *page_parameters(RUN_RESULTS_QUERY)],
    answers={
        200: {
            "description": "A page of results.",
            "content": json_of(
                "RunResultPage",
                example_answer("repricing/results", "Two quotes dearer, one without a price"),
            ),
            "headers": LINK,
        }
    },
    refusals=(404, 422),
)
def index(run_id: UUID) -> Response:
    """Give one page."""
    wish = read_query(RUN_RESULTS_QUERY)
    wanted, most = _wanted(wish), most_of(wish)
    (after,) = place_of(wish["cursor"], (str,)) if "cursor" in wish else (None,)
    found = stores().runs.results(str(run_id), wanted, after, most + 1)
    show = partial(present_result, costs=may(Scope.COSTS_READ))
    return page_of("results", found, most, show, lambda last: cursor_of(last.quote_id))


@operation(
    blueprint,
    "GET /results.csv",
    "getRunResultsCsv",
    "Take what a run came to as CSV",
    needs=Scope.RUNS,
    description=f"All results that fit, in one answer however many there are. {_WHILE}",
    parameters=_FILTERS,
    answers={
        200: {
            "description": "A row for each quote.",
            "content": {CSV: {"schema": {"type": "string"}}},
        }
    },
    refusals=(404, 422),
    stable=False,
)
def take(run_id: UUID) -> Response:
    """Give all results, read piece by piece."""
    wanted = _wanted(read_query(RUN_RESULTS_QUERY, "outcome", "under_floor"))
    kept, name = stores().runs, str(run_id)
    first = kept.results(name, wanted, None, _AT_ONCE)
    rows = stream_with_context(_written(kept, name, wanted, first))
    response = Response(rows, content_type=f"{CSV}; charset=utf-8; header=present")
    response.headers["Content-Disposition"] = f'attachment; filename="{run_id}-results.csv"'
    return response


def _written(
    kept: Runs, run_id: str, wanted: ResultsWanted, found: list[RunResult]
) -> Iterator[bytes]:
    write, costs = context().write_results, may(Scope.COSTS_READ)
    yield write(found, costs=costs, heading=True)
    while len(found) == _AT_ONCE:
        found = kept.results(run_id, wanted, found[-1].quote_id, _AT_ONCE)
        if found:
            yield write(found, costs=costs, heading=False)


def _wanted(wish: dict[str, Any]) -> ResultsWanted:
    """Give the filter; who may not see margins may not find them out by it either."""
    outcomes = frozenset(Outcome(one) for one in wish.get("outcome", "").split(",") if one)
    if "under_floor" in wish:
        demand(Scope.COSTS_READ, advice="Leave under_floor out.")
    if Outcome.UNCHANGED in outcomes:
        demand(Scope.COSTS_READ, advice=f"Leave {Outcome.UNCHANGED} out.")
    if not may(Scope.COSTS_READ):
        outcomes = outcomes or frozenset(Outcome) - {Outcome.UNCHANGED}
    floor = wish["under_floor"] == "true" if "under_floor" in wish else None
    return ResultsWanted(outcomes, floor)
