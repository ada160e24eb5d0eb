"""The demand in small whole numbers: what each kind of piece takes, what each stock has room for.

A cut piece takes its length and one kerf; a bar has room for its usable length and one kerf more,
because the last piece needs no kerf after it where it ends exactly at the usable end. So a set of
pieces fits plain stock exactly when ``sum(takes) <= room``. Both sides are divided by the common
divisor of the takes; a room is rounded down to it, which loses no pattern.

Prices become whole numbers of their smallest common step. Where any price is missing, length
stands for price on every stock, so that no stock looks free. An offcut without a price is free.
The cost of a bar is its price times more bars than any plan has, plus one: of two plans the one
with the lower price costs less, and at one price the one with fewer bars.

Guarantee: a set of bars is a plan for the demand on plain stock exactly when it is one for the
scaled job, and costs compare alike. On pre-punched stock the scaled job is a relaxation: what fits
the bar always fits the room; ``phase`` decides the rest. A stock is left out only where another
without limit holds at least as much and costs no more.
"""

from decimal import Decimal
from fractions import Fraction
from math import gcd, lcm

from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.errors import PieceTooLong
from service.domain.lengths import MILLIMETRE
from service.domain.record import record

Pattern = tuple[int, ...]  # kinds on one bar, ascending, so longest first
Load = tuple[int, Pattern]  # (number of the stock in the job, its pattern)


@record(frozen=True, slots=True)
class Job:
    """A demand in scaled whole numbers.

    Attributes:
        takes: Per kind of piece, longest first: its length and one kerf.
        counts: Per kind: how many are to be cut.
        rooms: Per stock, cheapest of equals first: usable length and one kerf.
        costs: Per stock: its price and its one bar, as one whole number.
        limits: Per stock: how many bars may be used, at most one per piece.
        kinds: Per kind: its pieces, by name.
        stocks: Per stock: what is bought.
        cost_step: Costs times this, divided by ``bar_base``, count steps of price ...
        bar_base: ... with the remainder counting bars.
        price_step: What one step of price is worth, in money or in mm of length.
        cost_is_length: True when length stands for price.
    """

    takes: tuple[int, ...]
    counts: tuple[int, ...]
    rooms: tuple[int, ...]
    costs: tuple[int, ...]
    limits: tuple[int, ...]
    kinds: tuple[tuple[Piece, ...], ...]
    stocks: tuple[StockLength, ...]
    cost_step: int
    bar_base: int
    price_step: Fraction
    cost_is_length: bool

    def price_steps(self, cost: int) -> int:
        """Give the price within a cost, without the count of bars, in steps of price."""
        return cost * self.cost_step // self.bar_base

    def price(self, cost: int) -> Decimal:
        """Give the price within a cost, in money or in mm of length."""
        exact = self.price_steps(cost) * self.price_step
        return Decimal(exact.numerator) / exact.denominator


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
    stocks = sorted((s for s in demand.stocks if s.limit != 0), key=lambda s: (s.length_nm, s.sku))
    usable = {stock.sku: usable_nm(demand, stock) for stock in stocks}
    longest = kinds[0][0]
    if longest.length_nm > max(usable.values(), default=0):
        raise too_long(demand, longest, max(usable.values(), default=0))
    prices = _prices(demand)
    stocks = _worth_keeping(
        [s for s in stocks if usable[s.sku] >= kinds[-1][0].length_nm], usable, prices, demand
    )
    price_step = _common([prices[stock.sku] for stock in stocks])
    bar_base = len(demand.pieces) + 1
    costs = [int(prices[stock.sku] / price_step) * bar_base + 1 for stock in stocks]
    takes = [kind[0].length_nm + demand.kerf_nm for kind in kinds]
    unit, cost_step = gcd(*takes), gcd(*costs)
    return Job(
        takes=tuple(take // unit for take in takes),
        counts=tuple(len(kind) for kind in kinds),
        rooms=tuple((usable[stock.sku] + demand.kerf_nm) // unit for stock in stocks),
        costs=tuple(cost // cost_step for cost in costs),
        limits=tuple(_limit(stock, len(demand.pieces)) for stock in stocks),
        kinds=kinds,
        stocks=tuple(stocks),
        cost_step=cost_step,
        bar_base=bar_base,
        price_step=price_step,
        cost_is_length=_length_is_price(demand),
    )


def usable_nm(demand: CutDemand, stock: StockLength) -> int:
    """Give the length of a stock between its trimmed ends. [nm]."""
    return stock.length_nm - 2 * trim_nm(demand, stock)


def trim_nm(demand: CutDemand, stock: StockLength) -> int:
    """Give what is cut away at each end of a stock, the kerf of that cut included. [nm]."""
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


def _length_is_price(demand: CutDemand) -> bool:
    return any(stock.price is None and not stock.offcut for stock in demand.stocks)


def _prices(demand: CutDemand) -> dict[str, Fraction]:
    by_length = _length_is_price(demand)
    return {
        stock.sku: Fraction(stock.length_nm, MILLIMETRE)
        if by_length and not stock.offcut
        else Fraction(stock.price or 0)
        for stock in demand.stocks
    }


def _common(prices: list[Fraction]) -> Fraction:
    """Give the largest step of which every price is a whole number."""
    denominator = lcm(*(price.denominator for price in prices))
    step = gcd(*(int(price * denominator) for price in prices))
    return Fraction(step or 1, denominator)


def _worth_keeping(
    stocks: list[StockLength],
    usable: dict[str, int],
    prices: dict[str, Fraction],
    demand: CutDemand,
) -> list[StockLength]:
    """Leave out a stock where one without limit holds as much and costs no more."""
    kept: list[StockLength] = []
    for stock in sorted(stocks, key=lambda s: (prices[s.sku], -usable[s.sku], s.sku)):
        if not any(
            other.limit is None
            and usable[other.sku] >= usable[stock.sku]
            and (
                demand.pitch_nm is None
                or (other.first_picket_nm, trim_nm(demand, other))
                == (stock.first_picket_nm, trim_nm(demand, stock))
            )
            for other in kept
        ):
            kept.append(stock)
    return kept


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


def too_long(demand: CutDemand, piece: Piece, usable: int) -> PieceTooLong:
    """Refuse a piece that no stock can hold, naming the section to split."""
    why = (
        f"is longer than the {in_mm(usable)} mm that the longest stock gives after its ends are "
        "trimmed"
    )
    return impossible(demand, piece, why, piece.length_nm + 2 * demand.end_trim_nm)


def impossible(demand: CutDemand, piece: Piece, why: str, least_nm: int) -> PieceTooLong:
    """Refuse a piece for a reason, with the least length of stock that would hold it."""
    longer = f"list a stock length of at least {in_mm(least_nm)} mm"
    ways = (demand.split_at.format(piece.element), longer)
    advice = ", or ".join(way for way in ways if way)
    return PieceTooLong(
        f"{demand.material}: piece {piece.name} of {in_mm(piece.length_nm)} mm {why}.",
        element=piece.element,
        advice=f"{advice[0].upper()}{advice[1:]}.",
    )


def in_mm(length_nm: int) -> str:
    """Give a length for a message. [mm]."""
    return f"{Decimal(length_nm) / MILLIMETRE:.1f}"
