"""Cut plans over several jobs."""

from flask import Response
from flask_smorest import Blueprint

from service.api.auth import stores
from service.api.context import context, load, today
from service.api.kept_requests import read_again
from service.api.operations import answer, json_of, operation
from service.api.presenters.cut_plans import present_shop_day
from service.api.schemas.cut_plans import CUT_PLAN_REQUEST
from service.usecases.callers import Scope
from service.usecases.combine_cutting import plan_shop_day

blueprint = Blueprint(
    "Cut plans",
    __name__,
    url_prefix="/v1/cut-plans",
    description="One cut plan per material over several jobs, for a day in the shop.",
)


@operation(
    blueprint,
    "POST ",
    "planShopDay",
    "Cut several quotes and demands together",
    needs=Scope.QUOTES_READ,
    takes=CUT_PLAN_REQUEST,
    example="cut-plan",
    answers={200: {"description": "The cut plans.", "content": json_of("ShopDay")}},
    refusals=(404, 409),
)
def create() -> Response:
    """Plan a day; nothing is kept."""
    _, order = load(CUT_PLAN_REQUEST)
    here = context()
    day = plan_shop_day(
        order,
        quotes=stores().quotes,
        read=read_again,
        press=here.press,
        shelf=stores().shelf,
        saw=here.saw,
        day=today(),
    )
    return answer(present_shop_day(day, order.units))
