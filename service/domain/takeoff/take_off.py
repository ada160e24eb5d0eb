"""The order and the hours, from the layout and the parts list of its railing system.

Each rule counts the elements it names; needs of one SKU are summed over the whole job and only
then rounded up to packs. Parts cut from stock become demands for the saw, and ``with_cut_plans``
adds the bars that the plans buy. What no part covers is said in a note, never left out silently.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from operator import attrgetter

from service.domain.cutting.demand import CutDemand
from service.domain.cutting.plan import CutPlan
from service.domain.errors import NoPriceInForce, TooLarge, UnknownReference
from service.domain.layout.records import Layout
from service.domain.layout.system import Glass, RailingSystem
from service.domain.record import record
from service.domain.takeoff.coverage import ITSELF, Count, is_itself, uncovered, unmeasured
from service.domain.takeoff.elements import elements_of
from service.domain.takeoff.kinds import LENGTH, Element
from service.domain.takeoff.matching import Groups, Selection
from service.domain.takeoff.part_checks import check_part
from service.domain.takeoff.parts import Item, LabourItem, LabourRule, PartRule, PartsList
from service.domain.takeoff.rules import Rule, check_words, exact_sum, need, placed, times
from service.domain.takeoff.stock import Prices, StockPart, demand_of, stock_items, to_order

# A quantity past this is a slip of the keyboard, and its price would not fit a printed line.
MAX_QUANTITY = Decimal(10**9)


@record(frozen=True, slots=True)
class Takeoff:
    """What the job needs.

    Attributes:
        items: Counted parts in the order of the parts list; bars once plans are in.
        labour: Time for each task.
        demands: What the saw is asked for, one per part cut from stock.
        notes: What no part covers, in words for the quote.
        stock: The parts behind the demands, in the same order.
    """

    items: tuple[Item, ...]
    labour: tuple[LabourItem, ...]
    demands: tuple[CutDemand, ...]
    notes: tuple[str, ...]
    stock: tuple[StockPart, ...]


def take_off(layout: Layout, parts: PartsList, prices: Prices | None = None) -> Takeoff:
    """Count every part and task of a layout.

    Args:
        layout: The laid-out job.
        parts: Rules of its railing system.
        prices: Unit price of every SKU of the price table, so that the saw can choose the
            cheapest stock; None cuts for the least length.

    Raises:
        UnknownReference: A rule names a kind, attribute or value that does not exist, or rules of
            one SKU contradict each other.
        NoPriceInForce: Prices are given, but some stock has none; names every part without one.
        TooLarge: A quantity or number of pieces passes the bound of the service.
    """
    groups = Groups(elements_of(layout))
    stocks = _stocks(layout.system)
    items: list[Item] = []
    demands: list[CutDemand] = []
    stock: list[StockPart] = []
    materials = _materials(parts.parts)
    counts_of_parts = list(_counts(parts.parts, groups, stocks))
    for counts in counts_of_parts:
        rule = counts[0].rule
        if not rule.stock:
            with placed(parts.parts, rule):
                items.extend(_items(counts))
        elif cut := _to_cut(counts):
            material = materials[rule.sku]
            with placed(parts.parts, rule):
                demand, owners = demand_of(rule, material, cut, layout, parts.shop, prices)
            demands.append(demand)
            stock.append(StockPart(material, rule, len(items), owners))
    if prices is not None:
        _refuse_stock_without_price(items, demands, prices)
    labour = _labour(parts.labour, groups, stocks)
    notes = _notes(groups, [count for counts in counts_of_parts for count in counts], parts.labour)
    return Takeoff(tuple(items), labour, tuple(demands), notes, tuple(stock))


def _notes(
    groups: Groups, counts: Sequence[Count], labour: Iterable[LabourRule]
) -> tuple[str, ...]:
    """Say what no part covers, and what a rule could not measure."""
    notes = list(uncovered(groups, counts))
    rules: list[tuple[Rule, str]] = [(count.rule, count.rule.sku) for count in counts]
    rules.extend((rule, rule.task) for rule in labour)
    for rule, name in rules:
        if rule.per_length and rule.along != LENGTH:
            notes.extend(unmeasured(rule.along, name, groups.matching(rule.per, rule.where)))
    return tuple(notes)


def _stocks(system: RailingSystem) -> Mapping[str, frozenset[str]]:
    """Name the post and panel stock of a system by the kind of element that has it."""
    panels = system.infill.stock if isinstance(system.infill, Glass) else ()
    return {
        "post": frozenset(stock.name for stock in system.posts),
        "panel": frozenset(stock.name for stock in panels),
    }


def with_cut_plans(takeoff: Takeoff, plans: Iterable[CutPlan]) -> Takeoff:
    """Order the bars that the plans buy, each where its part stands in the parts list.

    Args:
        takeoff: A take-off without its bars.
        plans: One plan for each demand, in any order.

    Raises:
        UnknownReference: A demand has no plan.
    """
    plan_of = {plan.material: plan for plan in plans}
    items: list[Item] = []
    taken = 0
    for part in takeoff.stock:
        if part.material not in plan_of:
            raise UnknownReference(f"No cut plan is given for {part.material}.")
        items.extend(takeoff.items[taken : part.position])
        taken = part.position
        items.extend(stock_items(part, plan_of[part.material]))
    items.extend(takeoff.items[taken:])
    return replace(takeoff, items=_merged(items))


def _counts(
    rules: Sequence[PartRule], groups: Groups, stocks: Mapping[str, frozenset[str]]
) -> Iterable[list[Count]]:
    """Gather the rules of each SKU, checked, with what they count."""
    by_sku: dict[str, list[Count]] = {}
    for rule in rules:
        counts = by_sku.setdefault(rule.sku, [])
        with placed(rules, rule):
            check_words(rule, rule.sku, stocks)
            check_part(rule)
            if counts:
                _refuse_contradiction(counts[0].rule, rule)
        counts.append(Count(rule, groups.matching(rule.per, rule.where)))
    return by_sku.values()


_agreeing = attrgetter(
    "description",
    "category",
    "unit_of_measure",
    "pack_size",
    "stock",
    "minimum",
    "packing",
)


def _refuse_contradiction(first: PartRule, other: PartRule) -> None:
    if _agreeing(other) != _agreeing(first):
        raise UnknownReference(
            f"The part {first.sku} is listed twice with different descriptions, units, packs, "
            "stock, minimum or weight.",
            element=first.sku,
            advice="Give both rules the same description, category, unit, pack, stock, minimum, "
            "weight and package.",
        )


def _materials(rules: Iterable[PartRule]) -> Mapping[str, str]:
    """Name each stock part for the reader, with its SKU where two descriptions are alike."""
    described = {rule.sku: rule.description for rule in rules if rule.stock}
    names = list(described.values())
    return {
        sku: name if names.count(name) == 1 else f"{name} ({sku})"
        for sku, name in described.items()
    }


def _items(counts: Sequence[Count]) -> Iterable[Item]:
    rule = counts[0].rule
    needs = [need(count.rule, count.rule.quantity, count.selected) for count in counts]
    needed = exact_sum(needs)
    wasted = [times(n, c.rule.waste) for n, c in zip(needs, counts, strict=True) if c.rule.waste]
    waste = exact_sum(wasted)
    if needed + waste > MAX_QUANTITY:
        raise TooLarge(
            f"{needed} of {rule.sku} are needed; at most {MAX_QUANTITY} are quoted.",
            element=rule.sku,
            where=("quantity",),
            advice="Check the quantity of its rule.",
        )
    if needed:
        counting = [count for count in counts if count.rule.quantity]
        yield Item(
            sku=rule.sku,
            description=rule.description,
            category=rule.category,
            needed=needed,
            ordered=to_order(exact_sum((needed, *wasted)), rule.minimum, rule.pack_size),
            unit_of_measure=rule.unit_of_measure,
            pack_size=rule.pack_size,
            elements=_names([count.selected for count in counting]),
            waste=waste,
            minimum=rule.minimum,
            packing=rule.packing,
            piece_nm=max(map(_piece_nm, counting), default=0) or None,
        )


def _piece_nm(count: Count) -> int:
    """Give the longest element that the part itself is; what is cut from a coil is none. [nm]"""
    rule = count.rule
    if rule.per not in ITSELF or rule.per == "cable" or rule.per_length or not is_itself(rule):
        return 0
    return count.selected.longest_nm()


def _names(of_rules: Sequence[Selection]) -> tuple[str, ...]:
    if len(of_rules) == 1:
        return of_rules[0].names
    return tuple(dict.fromkeys(name for selected in of_rules for name in selected.names))


def _to_cut(counts: Sequence[Count]) -> list[tuple[Element, int]]:
    """Give each element with how many pieces one of its count needs, over all rules of a SKU."""
    pieces: dict[int, tuple[Element, int]] = {}
    for count in counts:
        if not count.rule.quantity:
            continue
        each = int(count.rule.quantity)
        for rank, element in zip(count.selected.ranks, count.selected.elements, strict=True):
            before = pieces[rank][1] if rank in pieces else 0
            pieces[rank] = (element, before + each)
    return list(pieces.values())


def _labour(
    rules: Sequence[LabourRule], groups: Groups, stocks: Mapping[str, frozenset[str]]
) -> tuple[LabourItem, ...]:
    """Sum the minutes of each task; a task may be timed by several rules."""
    minutes: dict[str, list[Decimal]] = {}
    categories: dict[str, str] = {}
    names: dict[str, list[Selection]] = {}
    for rule in rules:
        with placed(rules, rule):
            check_words(rule, rule.task, stocks)
            if categories.setdefault(rule.task, rule.category) != rule.category:
                raise UnknownReference(
                    f"The task {rule.task} is timed by rules of two categories.",
                    element=rule.task,
                    where=("category",),
                    advice="Give all rules of a task the same category.",
                )
        matched = groups.matching(rule.per, rule.where)
        time = need(rule, rule.minutes, matched)
        if time > 0:
            minutes.setdefault(rule.task, []).append(time)
            names.setdefault(rule.task, []).append(matched)
    return tuple(
        LabourItem(task, exact_sum(times), _names(names[task]), categories[task])
        for task, times in minutes.items()
    )


def _refuse_stock_without_price(
    items: Iterable[Item], demands: Iterable[CutDemand], prices: Prices
) -> None:
    """The cheapest plan is not known while a length it may use has no price."""
    stock = [stock.sku for demand in demands for stock in demand.stocks]
    if all(sku in prices for sku in stock):
        return
    wanted = [*(item.sku for item in items), *stock]
    missing = tuple(dict.fromkeys(sku for sku in wanted if sku not in prices))
    raise NoPriceInForce(
        f"The price table has no price for {', '.join(missing)}.",
        skus=missing,
        where=("price_table", "rows"),
        advice="Add a row for each of them, or take the stock length out of the parts list.",
    )


def _merged(items: Iterable[Item]) -> tuple[Item, ...]:
    """Join items of one SKU, as where two materials are cut from the same stock."""
    by_sku: dict[str, Item] = {}
    for item in items:
        if item.sku not in by_sku:
            by_sku[item.sku] = item
            continue
        first = by_sku[item.sku]
        needed, waste = first.needed + item.needed, first.waste + item.waste
        by_sku[item.sku] = replace(
            first,
            needed=needed,
            waste=waste,
            ordered=to_order(needed + waste, first.minimum, first.pack_size),
            elements=tuple(dict.fromkeys((*first.elements, *item.elements))),
        )
    return tuple(by_sku.values())
