"""Parts that are cut from stock lengths: what the saw is asked for, and what is ordered after.

Rails on pre-punched stock carry their pickets, so each piece says where its first and last picket
lie; on plain stock a piece is a length and nothing more.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.cutting.plan import CutPlan
from service.domain.errors import TooLarge, UnknownReference
from service.domain.layout.records import Layout
from service.domain.takeoff.kinds import Element
from service.domain.takeoff.nesting import nest_depth_nm
from service.domain.takeoff.parts import Item, PartRule, Shop

# Far above any house; a cut plan for more would take the solver out of its time.
MAX_PIECES = 20_000

Prices = Mapping[str, Decimal]


@dataclass(frozen=True, slots=True)
class StockPart:
    """A part whose order follows from a cut plan.

    Attributes:
        material: Name of its demand and of its plan.
        rule: The part.
        position: How many items stand before it on the order.
        elements: Name of the element each piece is cut for, by piece name.
    """

    material: str
    rule: PartRule
    position: int
    elements: Mapping[str, str]


# How a piece too long for its stock is made shorter, by the kind of element; others are not.
SPLIT = {
    "rail": "split section {} at a line post",
    "infill_rail": "split section {} at a line post",
    "handrail": "set a shorter longest piece for handrails, so that {} is joined of more pieces",
}


def demand_of(
    rule: PartRule,
    material: str,
    elements: Sequence[tuple[Element, int]],
    layout: Layout,
    shop: Shop,
    prices: Prices | None,
) -> tuple[CutDemand, Mapping[str, str]]:
    """Ask the saw for the pieces of one part.

    Args:
        rule: The part, with its stock.
        material: Name of the demand.
        elements: What is cut, each with the pieces needed for one of its count.
        layout: The layout, for the picket pitches of its system.
        shop: Kerf and trim.
        prices: Unit price by SKU, or None.

    Returns:
        The demand, and for each piece the name of its element.

    Raises:
        TooLarge: More pieces than the service cuts.
        UnknownReference: Rails of two pitches are asked from one punched stock.
    """
    pieces_asked = sum(element.count * times for element, times in elements)
    if pieces_asked > MAX_PIECES:
        raise TooLarge(
            f"{pieces_asked} pieces of {material} are asked for; {MAX_PIECES} are allowed.",
            element=rule.sku,
            advice="Quote the deck in parts.",
        )
    punched = any(stock.first_picket_nm is not None for stock in rule.stock)
    pitch_nm = _pitch(rule, [element for element, _ in elements], layout) if punched else None
    pieces: list[Piece] = []
    owners: dict[str, str] = {}
    for element, times in elements:
        for name in _names(element.name, element.count * times):
            pieces.append(_piece(name, element, pitch_nm))
            owners[name] = element.name
    demand = CutDemand(
        material=material,
        pieces=tuple(pieces),
        stocks=tuple(_priced(stock, prices) for stock in rule.stock),
        kerf_nm=shop.kerf_nm,
        end_trim_nm=shop.end_trim_nm,
        pitch_nm=pitch_nm,
        least_remnant_nm=shop.least_remnant_nm,
        nest_depth_nm=nest_depth_nm([element for element, _ in elements], layout.system),
        split_at=SPLIT.get(rule.per, ""),
    )
    return demand, owners


def stock_items(part: StockPart, plan: CutPlan) -> list[Item]:
    """Order what a plan buys: one item for each stock SKU, in the order the part lists them."""
    items = []
    for stock in part.rule.stock:
        bars = [bar for bar in plan.bars if bar.sku == stock.sku]
        if not bars:
            continue
        cut_here = {cut.piece for bar in bars for cut in bar.cuts}
        owners = (name for piece, name in part.elements.items() if piece in cut_here)
        items.append(
            Item(
                sku=stock.sku,
                description=part.rule.description,
                category=part.rule.category,
                needed=Decimal(len(bars)),
                ordered=to_order(Decimal(len(bars)), part.rule.minimum, part.rule.pack_size),
                unit_of_measure=part.rule.unit_of_measure,
                pack_size=part.rule.pack_size,
                elements=tuple(dict.fromkeys(owners)),
                length_nm=stock.length_nm,
                minimum=part.rule.minimum,
                packing=part.rule.packing,
            )
        )
    return items


def to_order(needed: Decimal, minimum: Decimal, pack_size: int) -> Decimal:
    """Round a need, or the least that is sold if that is more, up to whole packs, exactly.

    Example:
        >>> to_order(Decimal("100.5"), Decimal(0), 50)
        Decimal('150')
    """
    amount, parts = max(needed, minimum).as_integer_ratio()
    return Decimal(-(-amount // (parts * pack_size)) * pack_size)


def _names(name: str, pieces: int) -> Iterable[str]:
    if pieces == 1:
        return (name,)
    return (f"{name} {number}" for number in range(1, pieces + 1))


def _priced(stock: StockLength, prices: Prices | None) -> StockLength:
    return stock if prices is None else replace(stock, price=prices.get(stock.sku))


def _pitch(rule: PartRule, elements: Iterable[Element], layout: Layout) -> int:
    pickets = layout.system.pickets
    pitches = {
        pickets.stair_pitch_nm if element.attributes.get("raked") == "yes" else pickets.pitch_nm
        for element in elements
    }
    pitch_nm = pitches.pop() if len(pitches) == 1 else None
    if pitch_nm is None:
        raise UnknownReference(
            f"The part {rule.sku} is pre-punched, but its rails have no single picket pitch.",
            element=rule.sku,
            where=("stock",),
            advice="State the system's pitch, and list level and raked stock as two parts.",
        )
    return pitch_nm


def _piece(name: str, element: Element, pitch_nm: int | None) -> Piece:
    rail = element.rail
    belongs_to = element.section or element.name
    length_nm = element.length_nm or 0
    saw_deg = rail.saw_deg if rail else 0.0
    if rail is None or pitch_nm is None or rail.first_picket_nm is None:
        return Piece(name, belongs_to, length_nm, saw_deg)
    first_nm = rail.first_picket_nm
    last_nm = length_nm - first_nm - (rail.pickets - 1) * pitch_nm
    return Piece(name, belongs_to, length_nm, saw_deg, first_nm, last_nm, rail.pickets)
