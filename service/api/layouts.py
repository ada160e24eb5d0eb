"""Layouts, without anything else."""

from flask import Response
from flask_smorest import Blueprint

from service.api.context import load
from service.api.operations import answer, json_of, operation
from service.api.presenters.cautions import cautions
from service.api.presenters.layout import present_layout
from service.api.schemas.requests import LAYOUT_REQUEST
from service.domain.layout.lay_out import lay_out
from service.usecases.callers import Scope

blueprint = Blueprint(
    "Layouts", __name__, url_prefix="/v1/layouts", description="Posts, sections and pickets."
)


@operation(
    blueprint,
    "POST ",
    "createLayout",
    "Lay a deck out",
    needs=Scope.ESTIMATES,
    takes=LAYOUT_REQUEST,
    example="layout",
    answers={200: {"description": "The layout.", "content": json_of("LayoutAnswer")}},
)
def create() -> Response:
    """Lay a deck out; nothing is kept."""
    _, order = load(LAYOUT_REQUEST)
    layout = lay_out(order.deck, order.system, order.preference)
    return answer(
        {
            "units": order.units.value,
            "layout": present_layout(layout, order.units),
            "cautions": cautions(),
        }
    )
