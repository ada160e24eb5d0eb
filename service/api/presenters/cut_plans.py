"""A shop day's cut plans as plain dicts."""

from service.api.presenters.cautions import cautions
from service.api.presenters.offcuts import present_used
from service.api.presenters.takeoff import present_cut_plans
from service.api.presenters.values import Json, decimal
from service.domain.cutting.combine import CombinedPlan
from service.usecases.combine_cutting import ShopDay
from service.usecases.orders import Units


def present_shop_day(day: ShopDay, units: Units) -> Json:
    """Give every plan with what it saves."""
    return {
        "units": units.value,
        "currency": day.currency or None,
        "jobs": [{"name": name, "quote": quote or None} for name, quote in day.jobs],
        "materials": [_combined(plan, units) for plan in day.plans],
        "cautions": cautions(),
    }


def _combined(combined: CombinedPlan, units: Units) -> Json:
    (plan,) = present_cut_plans([combined.plan], units)
    return {
        "sku": combined.sku,
        "cut_plan": plan,
        "pieces": [
            {"piece": piece.piece, "job": piece.job, "section": piece.section}
            for piece in combined.pieces
        ],
        "offcuts": [present_used(offcut, units) for offcut in combined.offcuts],
        "alone": [
            {"job": alone.job, "cost": decimal(alone.cost), "bars": alone.bars}
            for alone in combined.alone
        ],
        "saved": {"cost": decimal(combined.saved_cost), "bars": combined.saved_bars},
    }
