"""How fast cut plans are proven, beside OR-Tools CP-SAT on the same demands in the same run.

    python -m tests.benchmarks.bench_cutting railing            # seeded railing jobs
    python -m tests.benchmarks.bench_cutting published [set...] # instances with known optima
    ... --cpsat SECONDS                                         # also CP-SAT, so long per demand

Times are of the processor, one thread each. Needs the extra ``bench`` for CP-SAT, and nothing
beyond the product without it. Goals: railing
jobs of 10 to 400 pieces on 4 stock lengths all proven, median under 5 ms, 95 % under 50 ms.

A railing job is one deck, or several alike beyond some 80 pieces, as in a row of houses: edges of
4 to 36 ft at 1/16 in, each divided evenly into sections of at most 6 or 8 ft, two rails a section;
half of the jobs to the nanometre, half to 1/16 in. Stock of 4 lengths with prices near
proportional. ``railing --unlike`` makes every edge of a job different instead.
"""

import argparse
import random
from collections.abc import Iterable
from decimal import Decimal
from statistics import median
from time import process_time

from service.adapters.solver.highs import HighsMasterSolver
from service.domain.cutting.cut import cut
from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.cutting.scale import Job, scale
from service.domain.lengths import INCH, inches, split_evenly
from tests.published.bin_packing.instances import HELD, instances

SOLVER = HighsMasterSolver()
SIXTEENTH = INCH // 16
DECK = 80  # pieces of one deck, about


def railing_job(seed: int, pieces: int, unlike: bool) -> CutDemand:
    """Make up one job."""
    draw = random.Random(f"railing {seed} {pieces}")
    rate = draw.uniform(3.5, 9.0)
    feet = draw.choice([(8, 12, 16, 20), (6, 8, 10, 12), (8, 10, 12, 16), (6, 8, 16, 20)])
    stocks = []
    for length in feet:
        cents = round(100 * rate * length * draw.uniform(0.97, 1.03) * (1.04 - 0.004 * length))
        stocks.append(StockLength(f"R{length}", inches(12 * length), Decimal(cents) / 100))
    span = inches(min(draw.choice([72, 96]), 12 * feet[-1] - 12))
    decks = 1 if unlike else max(1, round(pieces / DECK))
    lengths: list[int] = []
    while len(lengths) < -(-pieces // decks):
        edge = draw.randrange(4 * 12 * 16, 36 * 12 * 16) * SIXTEENTH
        sections = -(-edge // span)
        rail = split_evenly(edge - (sections + 1) * inches(2), sections)[0]
        if seed % 2:
            rail -= rail % SIXTEENTH
        lengths += [rail] * (2 * sections)
    row = [Piece(f"p{i}", f"S{i}", length) for i, length in enumerate((lengths * decks)[:pieces])]
    return CutDemand("rail", tuple(row), tuple(stocks), inches(0, 1, 8), inches(0, 1, 4))


def railing_jobs(jobs: int, unlike: bool) -> list[CutDemand]:
    """Make up jobs of 10 to 400 pieces, as many small as large on a scale of ratios."""
    sizes = [round(10 * 40 ** (i / (jobs - 1))) for i in range(jobs)]
    return [railing_job(seed, size, unlike) for seed, size in enumerate(sizes)]


def seconds_cut(demand: CutDemand, limit: float) -> tuple[float, bool, Decimal, str]:
    """Cut once within a time; give the time, whether proven, the cost and the stage."""
    start = process_time()
    plan = cut(demand, solver=SOLVER, seconds_left=lambda: start + limit - process_time())
    return process_time() - start, plan.proven_optimal, plan.cost, plan.method


def seconds_cpsat(job: Job, bars: int, limit: float) -> tuple[float, bool]:
    """Solve the same job with CP-SAT: pieces of a kind per bar, stock per bar."""
    from ortools.sat.python import cp_model

    start = process_time()
    model = cp_model.CpModel()
    stocks = range(len(job.rooms))
    held = [[model.new_int_var(0, n, "") for n in job.counts] for _ in range(bars)]
    bought = [[model.new_bool_var("") for _ in stocks] for _ in range(bars)]
    for bar in range(bars):
        room = sum(job.rooms[s] * bought[bar][s] for s in stocks)
        load = sum(take * n for take, n in zip(job.takes, held[bar], strict=True))
        model.add(load <= room)
        model.add(sum(bought[bar]) <= 1)
    for kind, count in enumerate(job.counts):
        model.add(sum(held[bar][kind] for bar in range(bars)) == count)
    spent = [sum(job.costs[s] * bought[bar][s] for s in stocks) for bar in range(bars)]
    for bar in range(bars - 1):
        model.add(spent[bar] >= spent[bar + 1])
    model.minimize(sum(spent))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = limit
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    return process_time() - start, status == cp_model.OPTIMAL


def compare(demands: Iterable[CutDemand], ours: list[float], limit: float) -> str:
    """Say how CP-SAT does on the same demands, and the ratio of the times."""
    times, proven = [], 0
    for demand in demands:
        plan = cut(demand)
        seconds, optimal = seconds_cpsat(scale(demand), len(plan.bars), limit)
        times.append(seconds)
        proven += optimal
    ratio = sum(times) / sum(ours)
    return f"CP-SAT proves {proven} of {len(times)} in {limit:g} s; its time is {ratio:.0f} x ours"


def bench_railing(jobs: int, unlike: bool, cpsat: float) -> None:
    """Print the times of railing jobs, and the jobs not proven."""
    demands = railing_jobs(jobs, unlike)
    for demand in demands[::10]:
        cut(demand, solver=SOLVER)  # imports what is imported on first use
    results = [seconds_cut(demand, 60.0) for demand in demands]
    times = sorted(seconds for seconds, *_ in results)
    proven = sum(optimal for _, optimal, *_ in results)
    quick = sum(method == "first fit" for *_, method in results)
    late = times[int(0.95 * (len(times) - 1))]
    print(f"railing jobs{' unlike' if unlike else ''}: {proven} of {jobs} proven, {quick} of them")
    print(f"without a solver; median {1e3 * median(times):.2f} ms, 95 % {1e3 * late:.1f} ms,")
    print(f"longest {1e3 * times[-1]:.0f} ms")
    if cpsat:
        print(compare(demands, [seconds for seconds, *_ in results], cpsat))


def bench_published(names: list[str], limit: float, cpsat: float) -> None:
    """Print per set how many instances are proven at their optimum within 1, 10 and 60 s."""
    for name in names or list(HELD):
        held = instances(name)
        times = []
        reached = 0
        for one in held:
            seconds, proven, cost, _ = seconds_cut(one.demand, limit)
            assert one.optimum is None or cost >= one.optimum
            assert one.optimum is None or not proven or cost == one.optimum
            times.append(seconds if proven else float("inf"))
            reached += one.optimum is not None and cost == one.optimum
        within = " ".join(str(sum(t <= bound for t in times)).rjust(4) for bound in (1, 10, 60))
        print(f"{name:16} {len(held):4} held, proven in 1 10 60 s: {within}; optimum {reached}")
        if cpsat:
            print(compare([one.demand for one in held], [min(t, limit) for t in times], cpsat))


def main() -> None:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(description="Benchmark of the cut plans.")
    parser.add_argument("what", choices=["railing", "published"])
    parser.add_argument("sets", nargs="*")
    parser.add_argument("--jobs", type=int, default=200)
    parser.add_argument("--unlike", action="store_true")
    parser.add_argument("--limit", type=float, default=60.0)
    parser.add_argument("--cpsat", type=float, default=0.0, metavar="SECONDS")
    asked = parser.parse_args()
    if asked.what == "railing":
        bench_railing(asked.jobs, asked.unlike, asked.cpsat)
    else:
        bench_published(asked.sets, asked.limit, asked.cpsat)


if __name__ == "__main__":
    main()
