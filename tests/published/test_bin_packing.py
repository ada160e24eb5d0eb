"""Published cutting and packing instances, cut to their known optimum.

Sources, with the address each file was converted from in its first lines:

- E. Falkenauer, "A hybrid grouping genetic algorithm for bin packing", J. Heuristics 2 (1996).
- A. Scholl, R. Klein, C. Juergens, "BISON", Computers & Operations Research 24 (1997).
- P. Schwerin, G. Waescher, "The bin-packing problem: a problem generator ...", ITOR 4 (1997).
- G. Waescher, T. Gau, "Heuristics for the integer one-dimensional cutting stock problem",
  OR Spektrum 18 (1996).
- J. Schoenfield, "Fast, exact solution of open bin packing problems ...", 2002 (Hard28).
- M. Delorme, M. Iori, S. Martello, "Bin packing and cutting stock problems", EJOR 255 (2016).
- M. Monaci, "Algorithms for packing and scheduling problems", thesis, Bologna, 2002, and
  M. Haouari, M. Serairi, Computers & Operations Research 36 (2009): several bar lengths.

A sample runs here; ``tests/benchmarks/bench_cutting.py`` runs all.
"""

import pytest

from service.adapters.solver.highs import HighsMasterSolver
from service.domain.cutting.cut import cut
from tests.published.bin_packing.instances import HELD, Instance, instances

SOLVER = HighsMasterSolver()

SAMPLE = {
    "falkenauer_t": slice(0, 12, 3),
    "falkenauer_u": slice(0, None, 4),
    "random_sample": slice(0, 30, 3),
    "scholl1_sample": slice(0, None, 4),
    "scholl2_sample": slice(0, None, 3),
    "schwerin_sample": slice(0, None, 4),
    "waescher": slice(0, 4),
    "hard28": slice(3, 4),
}


def _sample() -> list[Instance]:
    return [one for name, part in SAMPLE.items() for one in instances(name)[part]]


@pytest.mark.parametrize("name", HELD)
def test_each_set_is_held_whole(name: str) -> None:
    assert len(instances(name)) == HELD[name]


@pytest.mark.parametrize("instance", _sample(), ids=lambda instance: instance.name)
def test_the_known_optimum_is_reached_and_proven(instance: Instance) -> None:
    plan = cut(instance.demand, solver=SOLVER)
    assert plan.cost == instance.optimum
    assert plan.proven_optimal


@pytest.mark.parametrize("instance", instances("ai_ani_sample")[:2], ids=lambda one: one.name)
def test_bounds_without_a_solver_never_pass_the_optimum(instance: Instance) -> None:
    plan = cut(instance.demand)
    assert instance.optimum is not None
    assert plan.lower_bound <= instance.optimum <= plan.cost


@pytest.mark.parametrize("instance", instances("vsbpp_monaci")[:5], ids=lambda one: one.name)
def test_several_bar_lengths_are_proven(instance: Instance) -> None:
    plan = cut(instance.demand, solver=SOLVER)
    assert plan.proven_optimal
    assert plan.cost <= cut(instance.demand).cost
