"""Order everything a railing needs, with a plan for the saw."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from service.domain.cutting.cut import cut
from service.domain.cutting.plan import CutPlan
from service.domain.layout.records import Layout
from service.domain.pricing.price_table import PriceTable
from service.domain.takeoff.parts import PartsList
from service.domain.takeoff.rules import placed
from service.domain.takeoff.take_off import Takeoff, take_off, with_cut_plans
from service.usecases.choose_layout import lay_out_as_wished
from service.usecases.orders import QuoteOrder, TakeoffOrder
from service.usecases.ports import Saw


@dataclass(frozen=True, slots=True)
class Order:
    """Parts and hours, bars included, and how the bars are cut."""

    takeoff: Takeoff
    cut_plans: tuple[CutPlan, ...]


def take_off_railing(order: TakeoffOrder, *, saw: Saw) -> Order:
    """Lay the deck out and order what it needs."""
    layout = lay_out_to_order(order)
    return order_parts(layout, order.parts, order.prices, saw)


def lay_out_to_order(order: TakeoffOrder | QuoteOrder) -> Layout:
    """Lay the deck out as wished; least material is weighed by what its order would cost.

    Many layouts are weighed, so their cut plans are the heuristics' own; the layout chosen is
    then cut with the solver.
    """

    def weigh(layout: Layout) -> Decimal:
        return _cost(order_parts(layout, order.parts, order.prices, cut), order.prices)

    return lay_out_as_wished(order.deck, order.system, order.preference, weigh)


def _cost(order: Order, table: PriceTable | None) -> Decimal:
    """Price of the parts; without prices, the length of stock bought."""
    prices = _unit_prices(table)
    if prices is None:
        return sum((plan.cost for plan in order.cut_plans), Decimal(0))
    items = order.takeoff.items
    return sum((item.ordered * prices.get(item.sku, Decimal(0)) for item in items), Decimal(0))


def order_parts(layout: Layout, parts: PartsList, table: PriceTable | None, saw: Saw) -> Order:
    """Take off a layout, cut its stock and add the bars to the order."""
    takeoff = take_off(layout, parts, _unit_prices(table))
    plans: list[CutPlan] = []
    for demand, part in zip(takeoff.demands, takeoff.stock, strict=True):
        with placed(parts.parts, part.rule):
            plans.append(saw(demand))
    return Order(with_cut_plans(takeoff, plans), tuple(plans))


def _unit_prices(table: PriceTable | None) -> Mapping[str, Decimal] | None:
    if table is None:
        return None
    return {sku: row.unit_price for sku, row in table.rows.items()}
