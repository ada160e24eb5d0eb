"""The take-off and the cut plans as plain dicts."""

from collections.abc import Iterable

from service.api.presenters.values import Json, decimal, length, length_or_none, weight_or_none
from service.domain.cutting.plan import Bar, Cut, CutPlan, Remnant
from service.domain.takeoff.parts import Item, LabourItem
from service.domain.takeoff.shipping import Shipping, ship
from service.domain.takeoff.take_off import Takeoff
from service.spoken_lengths import all_in_units
from service.usecases.orders import Units


def present_takeoff(takeoff: Takeoff, units: Units) -> Json:
    """Give parts to order, hours as they are charged, and what no part covers."""
    return {
        "items": [_item(item, units) for item in takeoff.items],
        "labour": [_labour(task) for task in takeoff.labour],
        "shipping": _shipping(ship(takeoff.items), units),
        "notes": all_in_units(takeoff.notes, units),
    }


def _shipping(shipping: Shipping, units: Units) -> Json:
    return {
        "weight": weight_or_none(shipping.weight_kg, units),
        "weight_not_known_for": list(shipping.weight_unknown),
        "longest_package": length_or_none(shipping.longest_nm, units),
        "longest_sku": shipping.longest,
        "packages": shipping.packages,
        "packages_not_known_for": list(shipping.packages_unknown),
        "notes": all_in_units(shipping.notes, units),
    }


def _item(item: Item, units: Units) -> Json:
    return {
        "sku": item.sku,
        "description": item.description,
        "category": item.category,
        "needed": decimal(item.needed),
        "waste": decimal(item.waste),
        "ordered": decimal(item.ordered),
        "unit_of_measure": item.unit_of_measure,
        "pack_size": item.pack_size,
        "length": length_or_none(item.length_nm, units),
        "weight": weight_or_none(item.weight_kg, units),
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
            "proven": list(plan.proven),
            "set_ups": plan.set_ups,
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
        "shared": length(bar.shared_nm, units),
        "remnant": length(bar.remnant_nm, units),
        "reusable": None if bar.reusable is None else _remnant(bar.reusable, units),
    }


def _remnant(remnant: Remnant, units: Units) -> Json:
    return {
        "name": remnant.name,
        "length": length(remnant.length_nm, units),
        "first_picket": length_or_none(remnant.first_picket_nm, units),
    }


def _cut(cut: Cut, units: Units) -> Json:
    return {
        "piece": cut.piece,
        "from_start": length(cut.start_nm, units),
        "length": length(cut.length_nm, units),
        "first_picket": cut.first_picket,
    }
