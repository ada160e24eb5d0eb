"""Each stage of the engine alone: scaling, bounds, heuristics, patterns, requirements, tidying."""

import random
from decimal import Decimal
from itertools import combinations_with_replacement

import numpy as np
import pytest

from service.adapters.solver.highs import HighsMasterSolver
from service.domain.cutting import bounds, heuristics
from service.domain.cutting.catalogue import Catalogue
from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.cutting.exact import Search
from service.domain.cutting.master import MasterProblem
from service.domain.cutting.requirements import broken
from service.domain.cutting.rounding import Effort
from service.domain.cutting.scale import Job, Pattern, scale
from service.domain.cutting.table import Table
from service.domain.cutting.tidy import gather_remnant

SOLVER = HighsMasterSolver()


def job(
    lengths: list[int], stocks: list[tuple[int, str]], kerf: int = 0, limit: int | None = None
) -> Job:
    row = tuple(Piece(f"p{i}", f"S{i}", length) for i, length in enumerate(lengths))
    bought = tuple(StockLength(f"B{n}", n, Decimal(p), limit=limit) for n, p in stocks)
    return scale(CutDemand("rail", row, bought, kerf))


def drawn(seed: int, pieces: int = 24) -> Job:
    draw = random.Random(seed)
    lengths = draw.sample(range(20, 90), 7)
    return job([draw.choice(lengths) for _ in range(pieces)], [(101, "7.1"), (149, "10")], kerf=1)


def all_patterns(one: Job, stock: int) -> list[Pattern]:
    most = one.rooms[stock] // min(one.takes)
    return [
        pattern
        for n in range(1, most + 1)
        for pattern in combinations_with_replacement(range(len(one.takes)), n)
        if sum(one.takes[k] for k in pattern) <= one.rooms[stock]
        and all(pattern.count(k) <= one.counts[k] for k in pattern)
    ]


class TestScale:
    def test_takes_are_divided_by_their_common_divisor(self) -> None:
        scaled = job([290, 190, 90], [(1000, "1")], kerf=10)
        assert (scaled.takes, scaled.rooms) == ((3, 2, 1), (10,))

    def test_alike_pieces_are_one_kind_longest_first(self) -> None:
        scaled = job([5, 7, 5, 7, 7], [(20, "1")])
        assert (scaled.takes, scaled.counts) == ((7, 5), (3, 2))

    def test_a_price_comes_before_any_number_of_bars(self) -> None:
        scaled = job([5] * 9, [(10, "0.01"), (20, "0.02")])
        one, two = scaled.costs
        assert 2 * one > two
        assert scaled.price(2 * one) == scaled.price(two) == Decimal("0.02")

    def test_a_stock_that_another_beats_is_left_out(self) -> None:
        assert len(job([5], [(10, "3"), (20, "2")]).rooms) == 1

    def test_a_limited_stock_does_not_push_another_out(self) -> None:
        row = (Piece("p", "S", 5), Piece("q", "S", 5))
        stocks = (
            StockLength("A", 10, Decimal(3)),
            StockLength("B", 20, Decimal(2), limit=1),
        )
        assert len(scale(CutDemand("rail", row, stocks, 0)).rooms) == 2


class TestBounds:
    def test_two_long_pieces_never_share_a_bar(self) -> None:
        # By length 3 bars would do; only one piece of 51 goes on a bar of 100.
        six = job([51] * 6, [(100, "1")])
        assert bounds.least_cost(six, 10) == 6

    def test_whole_bars_are_counted(self) -> None:
        # 210 of length on bars of 100 and 120: 2 x 120 at 24 is least, 21 would be by length.
        one = job([70, 70, 70], [(100, "10"), (120, "12")])
        best = bounds.least_cost(one, sum(one.costs) * 3)
        assert one.price(best) >= 24

    @pytest.mark.parametrize("seed", range(12))
    def test_bounds_never_pass_the_optimum(self, seed: int) -> None:
        one = drawn(seed)
        loads = min(heuristics.good_plans(one, None), key=lambda p: heuristics.cost_of(one, p))
        search = Search(one, loads, SOLVER)
        optimum = search.prove()
        assert optimum == search.cost
        assert bounds.least_cost(one, search.cost + 1) <= optimum


class TestHeuristics:
    @pytest.mark.parametrize("seed", range(8))
    def test_every_plan_cuts_each_piece_once(self, seed: int) -> None:
        one = drawn(seed)
        for loads in heuristics.good_plans(one, None):
            cut = [kind for _, pattern in loads for kind in pattern]
            assert [cut.count(kind) for kind in range(len(one.takes))] == list(one.counts)
            for stock, pattern in loads:
                assert sum(one.takes[kind] for kind in pattern) <= one.rooms[stock]

    def test_filling_beats_first_fit_where_a_perfect_fill_exists(self) -> None:
        # First fit puts 60 + 30 on a bar; filling finds 60 + 25 + 15 and 55 + 30 + 15 at 100 each.
        one = job([60, 55, 30, 25, 15, 15], [(100, "1")])
        filled = heuristics.fill(one, 60)
        assert filled is not None
        assert len(filled) == 2

    def test_limits_that_forbid_every_plan_give_none(self) -> None:
        assert heuristics.good_plans(job([60, 60], [(100, "1")], limit=1), None) == []


class TestPatterns:
    @pytest.mark.parametrize("seed", range(6))
    def test_catalogue_and_table_agree_with_writing_all_out(self, seed: int) -> None:
        one = drawn(seed, pieces=14)
        draw = random.Random(seed)
        values = [draw.randrange(0, 1 << 40) for _ in one.takes]
        written = Catalogue.write(one, 10_000)
        assert written is not None
        for patterns in (written, Table(one, None), Table(one, self.by_room(one))):
            patterns.value(values, one.counts)
            for stock in range(len(one.rooms)):
                worths = {p: sum(values[k] for k in p) for p in all_patterns(one, stock)}
                most = max(worths.values())
                assert patterns.most(stock) == most
                best = patterns.above(stock, most - 1)
                assert best
                assert worths[best[0]] == most
                least = most * 9 // 10
                listed = patterns.reaching(stock, least, 10_000)
                assert listed is not None
                assert set(listed) <= {p for p, w in worths.items() if w >= least}
                full = {p for p, w in worths.items() if w >= least and self.full(one, stock, p)}
                assert full <= set(listed)

    @staticmethod
    def by_room(one: Job) -> heuristics.Fits:
        return lambda stock, pattern: sum(one.takes[k] for k in pattern) <= one.rooms[stock]

    @staticmethod
    def full(one: Job, stock: int, pattern: Pattern) -> bool:
        rest = one.rooms[stock] - sum(one.takes[k] for k in pattern)
        return not any(
            one.takes[k] <= rest and pattern.count(k) < one.counts[k] for k in range(len(one.takes))
        )

    def test_small_values_give_the_same_most(self) -> None:
        one = drawn(3, pieces=14)
        values = np.array([[3, 2, 2, 1, 1, 1, 0], [7, 6, 5, 4, 3, 2, 1]])[:, : len(one.takes)]
        written = Catalogue.write(one, 10_000)
        assert written is not None
        expected = [
            [max(sum(row[k] for k in p) for p in all_patterns(one, s)) for s in (0, 1)]
            for row in values.tolist()
        ]
        assert written.mosts(values).tolist() == expected
        assert Table(one, None).mosts(values).tolist() == expected

    def test_too_many_patterns_are_not_written_out(self) -> None:
        assert Catalogue.write(drawn(1), 5) is None


class TestMaster:
    @pytest.mark.parametrize("seed", range(6))
    def test_bound_is_not_over_any_plan_and_near_the_linear_optimum(self, seed: int) -> None:
        one = drawn(seed)
        written = Catalogue.write(one, 10_000)
        assert written is not None
        master = MasterProblem(one, written, SOLVER, 1_000, lambda: 1e9)
        loads = min(heuristics.good_plans(one, None), key=lambda p: heuristics.cost_of(one, p))
        master.add(loads)
        bars = tuple((0, limit) for limit in one.limits)
        proof = master.relax(one.counts, bars, 1 << 60)
        assert proof.bound <= heuristics.cost_of(one, loads)
        # Exactly priced: no pattern is worth more than its bar, up to the rounding of the duals.
        for stock in range(len(one.rooms)):
            for pattern in all_patterns(one, stock):
                worth = sum(proof.values[kind] for kind in pattern)
                assert worth <= proof.mosts[stock]

    def test_requirements_hold_for_a_plan_and_cut_off_the_linear_solution(self) -> None:
        # Two pieces a bar of 104, one a bar of 100: 2.5 bars of 104 hold five pieces by measure,
        # but whole bars must be three in all.
        one = job([51] * 5, [(100, "3"), (104, "4")])
        written = Catalogue.write(one, 100)
        assert written is not None
        found = broken(written, [1], one.counts, [0.0, 2.5])
        assert ((1, 1), 3) in found
        for worths, least in found:
            for plan in ((5, 0), (3, 1), (1, 2), (0, 3)):
                assert sum(w * n for w, n in zip(worths, plan, strict=True)) >= least


class TestExact:
    def test_effort_of_one_branch_leaves_an_honest_gap(self) -> None:
        one = drawn(5, pieces=40)
        loads = heuristics.good_plans(one, None)[0]
        full = Search(one, loads, SOLVER)
        proven = full.prove()
        assert proven == full.cost
        short = Search(one, loads, SOLVER, None, Effort(branches=1, listed=1))
        bound = short.prove()
        assert bound <= full.cost <= short.cost


class TestTidy:
    def test_pieces_change_places_until_one_remnant_is_long(self) -> None:
        one = job([60, 50, 30, 20], [(100, "1")])
        loads = [(0, (0, 2)), (0, (1, 3))]  # 90 and 70: exchanging 50 for 30 gives 100 less
        tidied = gather_remnant(one, loads, None)
        rests = sorted(one.rooms[s] - sum(one.takes[k] for k in p) for s, p in tidied)
        assert rests[-1] >= 3
        assert sorted(k for _, p in tidied for k in p) == [0, 1, 2, 3]
        assert sum(rests) == 2 * one.rooms[0] - sum(one.takes)
