"""A re-priced quote: what was answered first, with other prices."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from service.api.presenters.quote_links import links_of
from service.api.presenters.quote_money import (
    present_lines,
    present_payments,
    present_table,
    present_totals,
)
from service.api.presenters.values import Json
from service.domain.pricing.settings import CHARGE
from service.usecases.orders import Units
from service.usecases.ports import Repriced
from service.usecases.price_repriced import PricedAgain

_UNTOUCHED = ("description", "length", "elements")  # of a line, by prices


def present_repriced(first: Mapping[str, Any], again: PricedAgain) -> Json:
    """Give the whole quote: its deck, parts and bars as they were, its money as it is now.

    Args:
        first: Answer of the quote whose order it has.
        again: What it comes to.
    """
    quote, priced = again.quote, again.priced
    return {
        **first,
        "id": quote.id,
        "series": quote.series,
        "revision": quote.revision,
        "revises": quote.revises,
        "created_on": quote.created_at.date().isoformat(),
        "on": quote.order.material.priced_on.isoformat(),
        "service_version": quote.service_version,
        "price_table": present_table(again.table),
        "totals": present_totals(priced.totals),
        "payments": present_payments(priced.payments),
        "lines": list(_lines(first["lines"], present_lines(priced.lines, Units(first["units"])))),
        "cut_plans": [_as_quoted(plan, first["on"]) for plan in first["cut_plans"]],
        "links": links_of(quote.id, quote.revises),
    }


def ordered_again(first: Mapping[str, Any], quote: Repriced) -> Json:
    """Give the body that orders the same by the prices of another day."""
    order = quote.order.material
    table = {"stored": order.table_id, "version": order.version}
    body = {**first, "price_table": table, "on": order.priced_on.isoformat()}
    return {**body, "draft": quote.draft}


def _lines(first: Iterable[Json], again: Iterable[Json]) -> Iterator[Json]:
    """Give lines with what no price touches; goods and labour come in the same order."""
    untouched = [line for line in first if line["kind"] != CHARGE]
    for number, line in enumerate(again):
        if line["kind"] == CHARGE:
            yield line
        else:
            yield {**line, **{name: untouched[number][name] for name in _UNTOUCHED}}


def _as_quoted(plan: Mapping[str, Any], day: str) -> Json:
    """Give a cut plan without what it claims by the prices of another day."""
    if plan.get("cost_is_length"):
        return dict(plan)
    said = f"{plan['method']}; as quoted on {day}, not cut anew for these prices"
    unproven: Json = {"cost": None, "lower_bound": None, "proven_optimal": False, "proven": []}
    return {**plan, **unproven, "method": said}
