"""What a quote costs its dealer; never part of the customer's document."""

from service.api.presenters.values import Json, decimal, money
from service.domain.money import Money
from service.domain.pricing.costs import LineCost, Margin
from service.domain.pricing.dealers_view import DealersView
from service.domain.pricing.sensitivity import Sensitivity


def present_costs(quote_id: str, view: DealersView) -> Json:
    """Give costs and margins of every line and of all, and what drives the total."""
    costs = view.costs
    return {
        "quote": quote_id,
        "lines": [_line(line) for line in costs.lines],
        "totals": {**_margin(costs.total), "not_known_for": list(costs.unknown)},
        "drivers": [_driver(driver) for driver in view.drivers],
    }


def _line(line: LineCost) -> Json:
    nothing: Json = {"cost": None, "net": None, "margin": None, "margin_rate": None}
    return {
        "number": line.number,
        "name": line.name,
        "unit_cost": _money(line.unit_cost),
        **(_margin(line.margin) if line.margin else nothing),
    }


def _margin(margin: Margin) -> Json:
    return {
        "cost": money(margin.cost),
        "net": money(margin.net),
        "margin": money(margin.margin),
        "margin_rate": None if margin.rate is None else decimal(margin.rate),
    }


def _driver(driver: Sensitivity) -> Json:
    return {
        "kind": driver.kind,
        "name": driver.name,
        "moves": money(driver.moves),
        "share": None if driver.share is None else decimal(driver.share),
    }


def _money(amount: Money | None) -> Json | None:
    return None if amount is None else money(amount)
