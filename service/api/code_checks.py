"""Code checks, without anything else."""

from flask import Response
from flask_smorest import Blueprint

from service.api.context import context, load, today
from service.api.operations import answer, json_of, operation
from service.api.presenters.cautions import cautions
from service.api.presenters.findings import present_findings
from service.api.presenters.structure import present_structure
from service.api.schemas.requests import CODE_CHECK_REQUEST
from service.usecases.check_code import check_code

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
    "Hold a deck against a building code",
    takes=CODE_CHECK_REQUEST,
    example="code-check",
    answers={200: {"description": "The findings.", "content": json_of("CodeCheck")}},
)
def create() -> Response:
    """Check a deck; nothing is kept."""
    _, order = load(CODE_CHECK_REQUEST)
    here = context()
    findings, screening = check_code(
        order, order.on or today(), codes=here.codes, materials=here.materials
    )
    return answer(
        {
            "units": order.units.value,
            **present_findings(findings, order.units),
            "structure": present_structure(screening, order.units),
            "cautions": cautions(findings),
        }
    )
