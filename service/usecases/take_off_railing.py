"""Order everything a railing needs, with a plan for the saw."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import cache, partial

from service.domain.cutting.cut import cut
from service.domain.cutting.demand import CutDemand
from service.domain.cutting.offcuts import Offcut, cut_for_shop, suits
from service.domain.cutting.plan import CutPlan
from service.domain.errors import NotEnoughStock
from service.domain.layout.records import Layout
from service.domain.pricing.settings import PricingSettings
from service.domain.pricing.unit_prices import first_prices
from service.domain.takeoff.parts import PartsList
from service.domain.takeoff.rules import placed
from service.domain.takeoff.stock import Prices
from service.domain.takeoff.take_off import Takeoff, take_off, with_cut_plans
from service.usecases.choose_layout import lay_out_as_wished
from service.usecases.offcuts_on_hand import skus_of, used_offcuts, with_stored_offcuts
from service.usecases.orders import QuoteOrder, TakeoffOrder
from service.usecases.ports import Saw, Shelf
from service.usecases.watching import UNWATCHED, Watch


@dataclass(frozen=True, slots=True)
class Order:
    """Parts and hours, bars included, how the bars are cut, and the offcuts used for it."""

    takeoff: Takeoff
    cut_plans: tuple[CutPlan, ...]
    offcuts: tuple[Offcut, ...] = ()


def take_off_railing(order: TakeoffOrder, *, saw: Saw, shelf: Shelf, day: date) -> Order:
    """Lay the deck out and order what it needs; the day tells which offcuts are free."""
    order = with_stored_offcuts(order, shelf, day)
    layout = lay_out_to_order(order, day)
    prices = unit_prices(order, day)
    return order_parts(layout, order.parts, prices, saw, order.offcuts)


def lay_out_to_order(order: TakeoffOrder | QuoteOrder, day: date) -> Layout:
    """Lay the deck out as wished; least material is weighed by what its order costs on a day.

    Many layouts are weighed, so their cut plans are the heuristics' own; the layout chosen is
    then cut with the solver.
    """
    prices_known = cache(partial(unit_prices, order, day))

    def weigh(layout: Layout) -> Decimal:
        prices = prices_known()
        try:
            weighed = order_parts(layout, order.parts, prices, cut, order.offcuts)
        except NotEnoughStock:  # the solver may yet find how, if this is the layout chosen
            return Decimal("Infinity")
        return _cost(weighed, prices)

    return lay_out_as_wished(order.deck, order.system, order.preference, weigh)


def _cost(order: Order, prices: Prices | None) -> Decimal:
    """Price of the parts; without prices, the length of stock bought."""
    if prices is None:
        return sum((plan.cost for plan in order.cut_plans), Decimal(0))
    items = order.takeoff.items
    return sum((item.ordered * prices.get(item.sku, Decimal(0)) for item in items), Decimal(0))


def order_parts(
    layout: Layout,
    parts: PartsList,
    prices: Prices | None,
    saw: Saw,
    offcuts: Sequence[Offcut] = (),
    *,
    watch: Watch = UNWATCHED,
) -> Order:
    """Take off a layout, cut its stock, offcuts first, and add the bars to the order."""
    with watch.stage("take-off"):
        takeoff = take_off(layout, parts, prices)
    plans: list[CutPlan] = []
    left = list(offcuts)
    with watch.stage("cut"):
        for demand, part in zip(takeoff.demands, takeoff.stock, strict=True):
            mine = [offcut for offcut in left if offcut.sku in skus_of(part.rule)]
            takeoff = replace(takeoff, notes=(*takeoff.notes, *_left_aside(demand, mine)))
            with placed(parts.parts, part.rule):
                plans.append(cut_for_shop(demand, mine, saw))
            used = used_offcuts(plans[-1:], mine)
            left = [offcut for offcut in left if offcut not in used]
    return Order(with_cut_plans(takeoff, plans), tuple(plans), used_offcuts(plans, offcuts))


def _left_aside(demand: CutDemand, offcuts: Sequence[Offcut]) -> Iterator[str]:
    """Say which offcuts cannot be used, because their punched places are not as needed."""
    aside = [offcut.name for offcut in offcuts if not suits(demand, offcut)]
    if aside:
        what = "their first picket is not stated" if demand.pitch_nm else "they are pre-punched"
        yield f"Offcuts left aside for {demand.material}, since {what}: {', '.join(aside)}."


def unit_prices(order: TakeoffOrder | QuoteOrder, day: date) -> Prices | None:
    """Give the price of each SKU on a day, None without a table.

    They are those of the quote, so that no cut plan tells a cost. A take-off has no rules that
    make prices, and knows list prices only.
    """
    if order.prices is None:
        return None
    settings = order.pricing if isinstance(order, QuoteOrder) else PricingSettings(None, ())
    categories = {part.sku: part.category for part in order.parts.parts}
    for part in order.parts.parts:
        categories.update((stock.sku, part.category) for stock in part.stock)
    return first_prices(order.prices, day, settings, categories)
