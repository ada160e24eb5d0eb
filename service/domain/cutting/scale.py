"""The demand in small whole numbers: what each kind of piece takes, what each stock has room for.

A cut piece takes its length and one kerf; a bar has room for its usable length and one kerf more,
because the last piece needs no kerf after it where it ends exactly at the usable end. So a set of
pieces fits plain stock exactly when ``sum(takes) <= room``. Both sides are divided by the common
divisor of the takes; a room is rounded down to it, which loses no pattern.

Prices become whole numbers of their smallest common step. Where any price is missing, length
stands for price on every stock, so that no stock looks free. An offcut without a price is free.

Guarantee: a set of bars is a plan for the demand on plain stock exactly when it is one for the
scaled job, and costs compare alike. On pre-punched stock the scaled job is a relaxation: what fits
the bar always fits the room; ``phase`` decides the rest.
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import gcd, lcm

from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.errors import PieceTooLong
from service.domain.lengths import MILLIMETRE

Pattern = tuple[int, ...]  # kinds on one bar, ascending, so longest first
Load = tuple[int, Pattern]  # (number of the stock in the job, its pattern)


@dataclass(frozen=True, slots=True)
class Job:
    """A demand in scaled whole numbers.

    Attributes:
        takes: Per kind of piece, longest first: its length and one kerf.
        counts: Per kind: how many are to be cut.
        rooms: Per stock, cheapest of equals first: usable length and one kerf.
        costs: Per stock: its price in whole ``cost_step``.
        limits: Per stock: how many bars may be used, at most one per piece.
        kinds: Per kind: its pieces, by name.
        stocks: Per stock: what is bought.
        cost_step: What one unit of cost is worth, in money or in mm of length.
        cost_is_length: True when length stands for price.
    """

    takes: tuple[int, ...]
    counts: tuple[int, ...]
    rooms: tuple[int, ...]
    costs: tuple[int, ...]
    limits: tuple[int, ...]
    kinds: tuple[tuple[Piece, ...], ...]
    stocks: tuple[StockLength, ...]
    cost_step: Fraction
    cost_is_length: bool


def scale(demand: CutDemand) -> Job:
    """Bring a demand to scaled whole numbers.

    Raises:
        PieceTooLong: A piece is longer than the usable length of every stock.
        ValueError: A length, price or limit is negative, or a name appears twice.

    Example:
        >>> stock = StockLength("R12", 12_000, Decimal("30.50"))
        >>> job = scale(CutDemand("rail", (Piece("a", "S1", 5_990),), (stock,), kerf_nm=10))
        >>> job.takes, job.rooms, job.costs
        ((1,), (2,), (1,))
    """
    _refuse_nonsense(demand)
    kinds = _kinds(demand)
    stocks = sorted(
        (s for s in demand.stocks if s.limit != 0), key=lambda s: (s.length_nm, s.sku)
    )
    usable = [usable_nm(demand, stock) for stock in stocks]
    _refuse_too_long(demand, kinds, max(usable, default=0))
    shortest = kinds[-1][0].length_nm
    kept = [i for i in range(len(stocks)) if usable[i] >= shortest]
    prices, cost_step, cost_is_length = _costs([stocks[i] for i in kept], demand)
    takes = [kind[0].length_nm + demand.kerf_nm for kind in kinds]
    unit = gcd(*takes)
    return Job(
        takes=tuple(take // unit for take in takes),
        counts=tuple(len(kind) for kind in kinds),
        rooms=tuple((usable[i] + demand.kerf_nm) // unit for i in kept),
        costs=prices,
        limits=tuple(_limit(stocks[i], len(demand.pieces)) for i in kept),
        kinds=kinds,
        stocks=tuple(stocks[i] for i in kept),
        cost_step=cost_step,
        cost_is_length=cost_is_length,
    )


def usable_nm(demand: CutDemand, stock: StockLength) -> int:
    """Give the length of a stock between its trimmed ends. [nm]"""
    return stock.length_nm - 2 * trim_nm(demand, stock)


def trim_nm(demand: CutDemand, stock: StockLength) -> int:
    """Give what is cut away at each end of a stock, the kerf of that cut included. [nm]"""
    return demand.end_trim_nm if stock.end_trim_nm is None else stock.end_trim_nm


def _kinds(demand: CutDemand) -> tuple[tuple[Piece, ...], ...]:
    """Gather pieces that are alike to the saw, longest first; order of entry does not matter."""
    groups: dict[tuple[int, int], list[Piece]] = {}
    punched = demand.pitch_nm is not None
    for piece in demand.pieces:
        first = piece.first_picket_nm if punched and piece.first_picket_nm is not None else -1
        groups.setdefault((-piece.length_nm, first), []).append(piece)
    return tuple(
        tuple(sorted(groups[key], key=lambda piece: (len(piece.name), piece.name)))
        for key in sorted(groups)
    )


def _costs(stocks: list[StockLength], demand: CutDemand) -> tuple[tuple[int, ...], Fraction, bool]:
    cost_is_length = any(stock.price is None and not stock.offcut for stock in demand.stocks)
    exact = [
        Fraction(stock.price or 0)
        if stock.offcut or not cost_is_length
        else Fraction(stock.length_nm, MILLIMETRE)
        for stock in stocks
    ]
    denominator = lcm(*(price.denominator for price in exact))
    whole = [int(price * denominator) for price in exact]
    step = gcd(*whole) or 1
    return tuple(cost // step for cost in whole), Fraction(step, denominator), cost_is_length


def _limit(stock: StockLength, pieces: int) -> int:
    return pieces if stock.limit is None else min(stock.limit, pieces)


def _refuse_nonsense(demand: CutDemand) -> None:
    lengths = [piece.length_nm for piece in demand.pieces]
    if not lengths or min(lengths) <= 0 or demand.kerf_nm < 0 or demand.end_trim_nm < 0:
        raise ValueError(f"{demand.material}: pieces must be longer than 0, kerf and trim not less")
    if len({piece.name for piece in demand.pieces}) < len(lengths):
        raise ValueError(f"{demand.material}: two pieces have the same name")
    if len({stock.sku for stock in demand.stocks}) < len(demand.stocks):
        raise ValueError(f"{demand.material}: two stock lengths have the same SKU")
    if any(s.limit is not None and s.limit < 0 for s in demand.stocks):
        raise ValueError(f"{demand.material}: a stock limit is below 0")
    if any(s.price is not None and s.price < 0 for s in demand.stocks):
        raise ValueError(f"{demand.material}: a price is below 0")


def _refuse_too_long(
    demand: CutDemand, kinds: tuple[tuple[Piece, ...], ...], usable: int
) -> None:
    longest = kinds[0][0]
    if longest.length_nm > usable:
        raise too_long(demand, longest, usable)


def too_long(demand: CutDemand, piece: Piece, usable: int) -> PieceTooLong:
    """Refuse a piece that no stock can hold, naming the section to split."""
    return PieceTooLong(
        f"{demand.material}: piece {piece.name} of {_mm(piece.length_nm)} mm is longer than "
        f"the {_mm(usable)} mm that the longest stock gives after its ends are trimmed.",
        element=piece.element,
        advice=f"Split section {piece.element} at a line post, or list a stock length of at least "
        f"{_mm(piece.length_nm + 2 * demand.end_trim_nm)} mm.",
    )


def _mm(length_nm: int) -> str:
    return f"{Decimal(length_nm) / MILLIMETRE:.1f}"
