"""Code checks, without anything else."""

from flask import Response
from flask_smorest import Blueprint

from service.api.context import context, load, today
from service.api.operations import answer, json_of, operation
from service.api.presenters.cautions import cautions
from service.api.presenters.comparison import present_check, present_comparison
from service.api.presenters.values import Json
from service.api.schemas.requests import CODE_CHECK_REQUEST
from service.usecases.callers import Scope
from service.usecases.check_code import CodeCheck, check_codes
from service.usecases.orders import Units

blueprint = Blueprint(
    "Code checks",
    __name__,
    url_prefix="/v1/code-checks",
    description="Clauses held against a deck, with what was measured.",
)


@operation(
    blueprint,
    "POST ",
    "checkCode",
    "Hold a deck against a building code, or several side by side",
    needs=Scope.ESTIMATES,
    takes=CODE_CHECK_REQUEST,
    example="code-check",
    answers={200: {"description": "The findings.", "content": json_of("CodeCheckAnswer")}},
)
def create() -> Response:
    """Check a deck; nothing is kept."""
    _, order = load(CODE_CHECK_REQUEST)
    here = context()
    checks = check_codes(order, order.on or today(), codes=here.codes, materials=here.materials)
    present = present_comparison if order.side_by_side else _present_single
    findings = tuple(finding for check in checks for finding in check.findings)
    return answer(
        {
            "units": order.units.value,
            **present(checks, order.units),
            "cautions": cautions(findings),
        }
    )


def _present_single(checks: tuple[CodeCheck, ...], units: Units) -> Json:
    (check,) = checks
    return present_check(check, units)
