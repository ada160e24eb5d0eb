"""The take-off and the cut plans as plain dicts."""

from collections.abc import Iterable

from service.api.presenters.values import Json, decimal, length, length_or_none
from service.domain.cutting.plan import Bar, Cut, CutPlan
from service.domain.takeoff.parts import Item, LabourItem
from service.domain.takeoff.take_off import Takeoff
from service.usecases.orders import Units


def present_takeoff(takeoff: Takeoff, units: Units) -> Json:
    """Give parts to order, hours as they are charged, and what no part covers."""
    return {
        "items": [_item(item, units) for item in takeoff.items],
        "labour": [_labour(task) for task in takeoff.labour],
        "notes": list(takeoff.notes),
    }


def _item(item: Item, units: Units) -> Json:
    return {
        "sku": item.sku,
        "description": item.description,
        "category": item.category,
        "needed": decimal(item.needed),
        "ordered": decimal(item.ordered),
        "unit_of_measure": item.unit_of_measure,
        "pack_size": item.pack_size,
        "length": length_or_none(item.length_nm, units),
        "elements": list(item.elements),
    }


def _labour(task: LabourItem) -> Json:
    return {"task": task.task, "hours": decimal(task.hours), "elements": list(task.elements)}


def present_cut_plans(plans: Iterable[CutPlan], units: Units) -> list[Json]:
    """Give every cut plan, its bars in the order they are sawn."""
    return [
        {
            "material": plan.material,
            "bars": [_bar(bar, units) for bar in plan.bars],
            "cost": decimal(plan.cost),
            "lower_bound": decimal(plan.lower_bound),
            "cost_is_length": plan.cost_is_length,
            "proven_optimal": plan.proven_optimal,
            "yield": decimal(round(plan.yield_ratio, 4)),
            "method": plan.method,
        }
        for plan in plans
    ]


def _bar(bar: Bar, units: Units) -> Json:
    return {
        "sku": bar.sku,
        "offcut": bar.offcut,
        "length": length(bar.length_nm, units),
        "trim": length(bar.trim_nm, units),
        "cuts": [_cut(cut, units) for cut in bar.cuts],
        "kerf": length(bar.kerf_nm, units),
        "drop": length(bar.drop_nm, units),
        "remnant": length(bar.remnant_nm, units),
    }


def _cut(cut: Cut, units: Units) -> Json:
    return {
        "piece": cut.piece,
        "from_start": length(cut.start_nm, units),
        "length": length(cut.length_nm, units),
        "first_picket": cut.first_picket,
    }
