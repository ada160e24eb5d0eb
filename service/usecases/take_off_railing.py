"""Order everything a railing needs, with a plan for the saw."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from service.domain.cutting.plan import CutPlan
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout
from service.domain.pricing.price_table import PriceTable
from service.domain.takeoff.parts import PartsList
from service.domain.takeoff.take_off import Takeoff, take_off, with_cut_plans
from service.usecases.orders import TakeoffOrder
from service.usecases.ports import Saw


@dataclass(frozen=True, slots=True)
class Order:
    """Parts and hours, bars included, and how the bars are cut."""

    takeoff: Takeoff
    cut_plans: tuple[CutPlan, ...]


def take_off_railing(order: TakeoffOrder, *, saw: Saw) -> Order:
    """Lay the deck out and order what it needs."""
    layout = lay_out(order.deck, order.system)
    return order_parts(layout, order.parts, order.prices, saw)


def order_parts(layout: Layout, parts: PartsList, table: PriceTable | None, saw: Saw) -> Order:
    """Take off a layout, cut its stock and add the bars to the order."""
    takeoff = take_off(layout, parts, _unit_prices(table))
    plans = tuple(saw(demand) for demand in takeoff.demands)
    return Order(with_cut_plans(takeoff, plans), plans)


def _unit_prices(table: PriceTable | None) -> Mapping[str, Decimal] | None:
    if table is None:
        return None
    return {sku: row.unit_price for sku, row in table.rows.items()}
