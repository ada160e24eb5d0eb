"""Take-offs, without anything else."""

from flask import Response
from flask_smorest import Blueprint

from service.api.auth import stores
from service.api.context import context, load, today
from service.api.operations import answer, json_of, operation
from service.api.presenters.cautions import cautions
from service.api.presenters.offcuts import present_used
from service.api.presenters.takeoff import present_cut_plans, present_takeoff
from service.api.schemas.requests import TAKEOFF_REQUEST
from service.api.scopes import demand
from service.usecases.callers import Scope
from service.usecases.take_off_railing import take_off_railing

blueprint = Blueprint(
    "Take-offs",
    __name__,
    url_prefix="/v1/takeoffs",
    description="Everything a railing needs, and how to cut it.",
)


@operation(
    blueprint,
    "POST ",
    "takeOff",
    "Order the parts of a deck",
    needs=Scope.ESTIMATES,
    takes=TAKEOFF_REQUEST,
    example="takeoff",
    answers={200: {"description": "The take-off.", "content": json_of("TakeoffAnswer")}},
)
def create() -> Response:
    """Take a deck off; nothing is kept."""
    _, order = load(TAKEOFF_REQUEST)
    here = context()
    if order.use_offcuts:
        demand(Scope.OFFCUTS_READ)
    needed = take_off_railing(order, saw=here.saw, shelf=stores().shelf, day=today())
    return answer(
        {
            "units": order.units.value,
            **present_takeoff(needed.takeoff, order.units),
            "cut_plans": present_cut_plans(needed.cut_plans, order.units),
            "offcuts": [present_used(offcut, order.units) for offcut in needed.offcuts],
            "cautions": cautions(),
        }
    )
