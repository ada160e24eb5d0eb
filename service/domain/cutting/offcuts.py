"""Offcuts on hand: used before anything is bought, and gained from what bars leave over."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from service.domain.cutting.demand import CutDemand, StockLength
from service.domain.cutting.nest import Saw, cut_nested
from service.domain.cutting.plan import GOALS, Bar, CutPlan, Remnant
from service.domain.cutting.verify import replay
from service.domain.errors import NotEnoughStock, PieceTooLong


@dataclass(frozen=True, slots=True)
class Offcut:
    """A remnant on hand.

    Attributes:
        name: Unique among those offered: its id where it is stored, else the caller's word.
        sku: Part it is a remnant of, or a stock length of that part.
        length_nm: Usable, between clean ends; nothing is trimmed off. [nm]
        first_picket_nm: From its start to its first punched place; None on plain stock. [nm]
        value: What using it up counts as, in the currency of the prices. It weighs against what
            would be bought, and is on no line of a quote.
        stored: Whether it is kept by the service, and so can be reserved.
    """

    name: str
    sku: str
    length_nm: int
    first_picket_nm: int | None = None
    value: Decimal = Decimal(0)
    stored: bool = False


def cut_for_shop(demand: CutDemand, offcuts: Iterable[Offcut], saw: Saw) -> CutPlan:
    """Cut a demand from offcuts on hand and bought bars, and name what is worth keeping.

    Args:
        demand: Pieces and the stock that can be bought.
        offcuts: Remnants of the same material; those that do not suit it are left aside.
        saw: Plans the cutting.

    Raises:
        PieceTooLong, NotEnoughStock: As the saw.

    Example:
        >>> from service.domain.cutting.cut import cut
        >>> from service.domain.cutting.demand import Piece
        >>> pieces = (Piece("S1 top", "S1", 900),)
        >>> demand = CutDemand("rail", pieces, (StockLength("R", 2000, Decimal(9)),), kerf_nm=3)
        >>> plan = cut_for_shop(demand, [Offcut("left over", "R", 1000)], cut)
        >>> plan.bars[0].sku, plan.cost, plan.bars[0].remnant_nm
        ('left over', Decimal('0'), 97)
    """
    stock = offcut_stock(demand, offcuts)
    if not stock:
        return name_remnants(cut_nested(demand, saw), demand)
    alike = _alike(stock)
    grouped = replace(demand, stocks=(*demand.stocks, *_grouped(alike)))
    plan = _named(cut_nested(grouped, saw), alike)
    complete = replace(demand, stocks=(*demand.stocks, *stock))
    replay(plan, complete)
    return name_remnants(_without_offcuts(plan, demand, saw) or plan, complete)


def _without_offcuts(plan: CutPlan, demand: CutDemand, saw: Saw) -> CutPlan | None:
    """Give the plan that leaves every offcut on its shelf, where that costs no more."""
    if not any(bar.offcut for bar in plan.bars) or not plan.cost:
        return None
    try:
        bought = cut_nested(demand, saw)
    except (PieceTooLong, NotEnoughStock):  # some stock is limited
        return None
    if bought.cost > plan.cost:
        return None
    proven = plan.lower_bound >= bought.cost
    goals = GOALS[:1] if proven else ()  # at that price, what is on the shelf comes before bars
    return replace(bought, lower_bound=plan.lower_bound, proven_optimal=proven, proven=goals)


def suits(demand: CutDemand, offcut: Offcut) -> bool:
    """Tell whether it is known where an offcut is punched, exactly when the material is."""
    return (offcut.first_picket_nm is not None) == (demand.pitch_nm is not None)


def offcut_stock(demand: CutDemand, offcuts: Iterable[Offcut]) -> tuple[StockLength, ...]:
    """Give the offcuts that suit a demand as stock of which there is one each."""
    priced = all(stock.price is not None for stock in demand.stocks)
    return tuple(
        StockLength(
            sku=offcut.name,
            length_nm=offcut.length_nm,
            price=offcut.value if priced else None,
            first_picket_nm=offcut.first_picket_nm,
            limit=1,
            end_trim_nm=0,
            offcut=True,
        )
        for offcut in offcuts
        if suits(demand, offcut)
    )


def _alike(stock: Iterable[StockLength]) -> dict[StockLength, list[str]]:
    """Gather offcuts that are alike to the saw, which then has fewer kinds of stock to weigh."""
    groups: dict[StockLength, list[str]] = {}
    for one in stock:
        groups.setdefault(replace(one, sku=""), []).append(one.sku)
    return groups


def _grouped(groups: Mapping[StockLength, Sequence[str]]) -> tuple[StockLength, ...]:
    return tuple(replace(kind, sku=names[0], limit=len(names)) for kind, names in groups.items())


def _named(plan: CutPlan, groups: Mapping[StockLength, Sequence[str]]) -> CutPlan:
    """Give each bar that is an offcut the name of one of its group."""
    waiting = {names[0]: iter(names) for names in groups.values()}
    bars = tuple(
        replace(bar, sku=next(waiting[bar.sku])) if bar.offcut else bar for bar in plan.bars
    )
    return replace(plan, bars=bars)


def name_remnants(plan: CutPlan, demand: CutDemand) -> CutPlan:
    """Name each remnant at least as long as the shortest worth keeping.

    A remnant begins a kerf after the last piece and ends where the far end is trimmed, so both
    its ends are clean. On punched stock it keeps the places that fall on it.
    """
    if not demand.least_remnant_nm:
        return plan
    stocks = {stock.sku: stock for stock in demand.stocks}
    bars, number = [], 0
    for bar in plan.bars:
        if bar.remnant_nm >= demand.least_remnant_nm:
            number += 1
            first_nm = _first_picket(bar, stocks[bar.sku], demand)
            name = f"{demand.material} remnant {number}"
            bars.append(replace(bar, reusable=Remnant(name, bar.remnant_nm, first_nm)))
        else:
            bars.append(bar)
    return replace(plan, bars=tuple(bars))


def _first_picket(bar: Bar, stock: StockLength, demand: CutDemand) -> int | None:
    """Give where the first punched place of a remnant lies, from the remnant's start. [nm]."""
    if demand.pitch_nm is None:
        return None
    last = bar.cuts[-1]
    start = last.start_nm + last.length_nm + demand.kerf_nm
    first = demand.pitch_nm // 2 if stock.first_picket_nm is None else stock.first_picket_nm
    return first - start if first >= start else (first - start) % demand.pitch_nm
