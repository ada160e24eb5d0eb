"""The whole order of preference on tiny demands, against all ways to share the pieces out.

First the price, then the number of bars, then the longest remnant, then the set-ups: bars of one
stock cut to the same lengths count once.
"""

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from itertools import permutations, product

from hypothesis import event, given, settings
from hypothesis import strategies as st

from service.adapters.solver.highs import HighsMasterSolver
from service.domain.cutting.cut import cut
from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.cutting.plan import GOALS, CutPlan

SOLVER = HighsMasterSolver()
PITCH = 10

Rank = tuple[Decimal, int, int, int]  # less is better; the remnant counts as its negative
Option = tuple[Decimal, int, str]  # price, remnant and stock of a bar
Bars = tuple[tuple[int, ...], ...]


@st.composite
def tiny(draw: st.DrawFn, punched: bool = False) -> CutDemand:
    lengths = draw(st.lists(st.integers(20, 70), min_size=1, max_size=4))
    row = draw(st.lists(st.sampled_from(lengths), min_size=1, max_size=4 if punched else 6))
    margins = {length: draw(st.integers(1, 9)) for length in lengths}
    pieces = tuple(
        Piece(f"p{i}", "S", length, 0.0, margins[length] if punched else None)
        for i, length in enumerate(row)
    )
    rate = draw(st.booleans())  # by length, so that plans tie in price
    stocks = []
    for length in draw(st.lists(st.sampled_from([80, 100, 160, 200]), min_size=1, unique=True)):
        price = Decimal(length if rate else draw(st.integers(1, 20)))
        limit = draw(st.sampled_from([None, None, None, 1, 2]))
        stocks.append(StockLength(f"B{length}", length, price, 3 if punched else None, limit))
    stocks.append(StockLength("B240", 240, Decimal(250), 3 if punched else None))
    pitch = PITCH if punched else None
    return CutDemand("rail", pieces, tuple(stocks), draw(st.integers(0, 3)), 0, pitch)


def shares(items: tuple[int, ...]) -> Iterator[Bars]:
    """Give every way to put items into unordered bars."""
    if not items:
        yield ()
        return
    for rest in shares(items[1:]):
        yield ((items[0],), *rest)
        for at in range(len(rest)):
            yield (*rest[:at], tuple(sorted((items[0], *rest[at]))), *rest[at + 1 :])


def left(demand: CutDemand, stock: StockLength, bar: tuple[int, ...]) -> int | None:
    """Give what a bar leaves in its best order, None where the pieces do not lie on it."""
    margins = {piece.length_nm: piece.first_picket_nm for piece in demand.pieces}
    ends = []
    for order in set(permutations(bar)) if demand.pitch_nm else [bar]:
        at = -demand.kerf_nm
        for length in order:
            at += demand.kerf_nm
            margin = margins[length]
            if margin is not None:
                while at + margin < 3 or (at + margin - 3) % PITCH:
                    at += 1
            at += length
        ends.append(at)
    rest = stock.length_nm - min(ends)
    return None if rest < 0 else max(0, rest - demand.kerf_nm)


def best_by_trying_everything(demand: CutDemand) -> Rank:
    """Rank every plan and give the best rank."""
    lengths = tuple(sorted(piece.length_nm for piece in demand.pieces))
    known: dict[tuple[int, ...], list[Option]] = {}
    ranks: list[Rank] = []
    for bars in set(shares(lengths)):
        for bar in bars:
            if bar not in known:
                known[bar] = list(_options(demand, bar))
        for chosen in product(*(known[bar] for bar in bars)):
            used = Counter(sku for _, _, sku in chosen)
            if all(
                stock.limit is None or used[stock.sku] <= stock.limit for stock in demand.stocks
            ):
                ranks.append(_rank(bars, chosen))
    return min(ranks)


def _options(demand: CutDemand, bar: tuple[int, ...]) -> Iterator[Option]:
    for stock in demand.stocks:
        rest = left(demand, stock, bar)
        if rest is not None:
            yield stock.price or Decimal(0), rest, stock.sku


def _rank(bars: Bars, chosen: tuple[Option, ...]) -> Rank:
    price = sum((option[0] for option in chosen), Decimal(0))
    longest = max(option[1] for option in chosen)
    unlike = {(sku, bar) for bar, (_, _, sku) in zip(bars, chosen, strict=True)}
    return price, len(bars), -longest, len(unlike)


def rank_of(plan: CutPlan) -> Rank:
    longest = max(bar.remnant_nm for bar in plan.bars)
    return plan.cost, len(plan.bars), -longest, plan.set_ups


def assert_as_good_as_claimed(demand: CutDemand) -> CutPlan:
    plan = cut(demand, solver=SOLVER)
    best = best_by_trying_everything(demand)
    proven = len(plan.proven)
    event(f"{proven} goals proven")
    assert rank_of(plan)[:proven] == best[:proven]
    assert rank_of(plan) >= best
    return plan


@given(tiny())
@settings(max_examples=150, deadline=None)
def test_plain_plans_are_best_in_the_whole_order(demand: CutDemand) -> None:
    plan = assert_as_good_as_claimed(demand)
    if all(stock.limit is None for stock in demand.stocks):
        assert plan.proven == GOALS


@given(tiny(punched=True))
@settings(max_examples=80, deadline=None)
def test_punched_plans_are_as_good_as_claimed(demand: CutDemand) -> None:
    plan = assert_as_good_as_claimed(demand)
    assert plan.proven[:2] == GOALS[:2]


def test_a_longer_remnant_comes_before_fewer_set_ups() -> None:
    # 50 + 30 twice is one set-up and leaves 20 and 20; 50 + 50 and 30 + 30 leaves 40.
    row = tuple(Piece(f"p{i}", "S", length) for i, length in enumerate((50, 50, 30, 30)))
    plan = cut(CutDemand("rail", row, (StockLength("B", 100, Decimal(1)),), 0), solver=SOLVER)
    assert sorted(bar.remnant_nm for bar in plan.bars) == [0, 40]
    assert plan.set_ups == 2
    assert plan.proven == GOALS


def test_fewer_set_ups_at_the_same_remnant() -> None:
    # Six bars of 50 + 30 + 10 and a short one, not three ways to reach 90.
    lengths = (50,) * 4 + (30,) * 4 + (10,) * 4 + (20,)
    row = tuple(Piece(f"p{i}", "S", length) for i, length in enumerate(lengths))
    plan = cut(CutDemand("rail", row, (StockLength("B", 90, Decimal(1)),), 0), solver=SOLVER)
    assert max(bar.remnant_nm for bar in plan.bars) == 70
    assert plan.set_ups == 2
    assert plan.proven == GOALS
