"""Offcuts on hand: which ones a job may use, and what it leaves over."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from typing import TypeVar

from service.domain.cutting.offcuts import Offcut
from service.domain.cutting.plan import CutPlan
from service.domain.takeoff.parts import PartRule
from service.domain.takeoff.stock import StockPart
from service.usecases.orders import QuoteOrder, TakeoffOrder
from service.usecases.ports import LeftOver, Shelf

MOST_STORED = 200  # weighed in one plan: the longest

Order = TypeVar("Order", QuoteOrder, TakeoffOrder)


def with_stored_offcuts(order: Order, shelf: Shelf, day: date) -> Order:
    """Add what the shelf has free of the order's parts, where that was asked for."""
    if not order.use_offcuts:
        return order
    known: list[str] = sorted({sku for rule in order.parts.parts for sku in skus_of(rule)})
    sent: set[str] = {offcut.name for offcut in order.offcuts}
    stored: list[Offcut] = [
        one for one in stored_offcuts(shelf, known, day) if one.name not in sent
    ]
    return replace(order, offcuts=(*order.offcuts, *stored))


def stored_offcuts(
    shelf: Shelf, skus: Sequence[str], day: date, also_of: Sequence[str] = ()
) -> list[Offcut]:
    """Give what the shelf has free of some SKUs, or what some quotes hold of them."""
    return [
        Offcut(o.id, o.sku, o.length_nm, o.first_picket_nm, o.value, stored=True)
        for o in shelf.free(skus, MOST_STORED, day, also_of)
    ]


def skus_of(rule: PartRule) -> tuple[str, ...]:
    """Give the SKUs by which an offcut of a part is known; none where it is not cut."""
    return (rule.sku, *(stock.sku for stock in rule.stock)) if rule.stock else ()


def used_offcuts(plans: Iterable[CutPlan], offcuts: Iterable[Offcut]) -> tuple[Offcut, ...]:
    """Give the offcuts that some plans cut up."""
    names = {bar.sku for plan in plans for bar in plan.bars if bar.offcut}
    return tuple(offcut for offcut in offcuts if offcut.name in names)


def left_over(
    parts: Sequence[StockPart], plans: Sequence[CutPlan], reference: str
) -> tuple[LeftOver, ...]:
    """Give what plans leave that is worth keeping, as the shelf would know it."""
    return tuple(
        LeftOver(
            sku=part.rule.sku,
            length_nm=bar.reusable.length_nm,
            first_picket_nm=bar.reusable.first_picket_nm,
            note=f"{bar.reusable.name}, {reference}" if reference else bar.reusable.name,
        )
        for part, plan in zip(parts, plans, strict=True)
        for bar in plan.bars
        if bar.reusable is not None
    )
