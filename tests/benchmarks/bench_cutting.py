"""How fast cut plans are proven, beside OR-Tools CP-SAT on the same demands in the same run.

    python -m tests.benchmarks.bench_cutting railing            # seeded railing jobs
    python -m tests.benchmarks.bench_cutting published [set...] # instances with known optima
    ... --cpsat SECONDS --sample N     # also CP-SAT, so long per demand, on so many of each set

Times are of the processor, one thread each, without what is imported on first use; ``--limit`` and
CP-SAT's own limit are on the wall clock. CP-SAT (extra ``test``) is given the plain model: how
many pieces of each kind every bar holds, which stock it is, bars in falling order of price. It
gets no plan to start from. Where a limit stops it, its time is the limit, so a ratio that holds
such a time is a least one, and is printed so.

Goals: railing jobs of 10 to 400 pieces on 4 stock lengths all proven, median under 5 ms, 95 %
under 50 ms.

A railing job is one deck, or several alike beyond some 80 pieces, as in a row of houses: edges of
4 to 36 ft at 1/16 in, each divided evenly into sections of at most 6 or 8 ft, two rails a section;
half of the jobs to the nanometre, half to 1/16 in. Stock of 4 lengths with prices near
proportional. ``railing --unlike`` makes every edge of a job different instead.
"""

import argparse
import random
from collections.abc import Sequence
from decimal import Decimal
from statistics import median
from time import monotonic, process_time

from service.adapters.solver.highs import HighsMasterSolver
from service.domain.cutting.cut import cut
from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.domain.cutting.heuristics import cost_of, good_plans
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
    end, start = monotonic() + limit, process_time()
    plan = cut(demand, solver=SOLVER, seconds_left=lambda: end - monotonic())
    return process_time() - start, plan.proven_optimal, plan.cost, plan.method


def seconds_cpsat(job: Job, limit: float) -> tuple[float, bool]:
    """Solve the same job with CP-SAT; give its time and whether it proved an optimum."""
    from ortools.sat.python import cp_model

    start = process_time()
    known = min(cost_of(job, plan) for plan in good_plans(job, None))
    bars = min(sum(job.counts), known // min(job.costs))
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
    optimal = solver.solve(model) == cp_model.OPTIMAL
    return process_time() - start, optimal


def compare(demands: Sequence[CutDemand], ours: Sequence[float], limit: float, most: int) -> str:
    """Say how CP-SAT does on a seeded sample of the demands, and the ratio of the times."""
    at = sorted(random.Random(len(demands)).sample(range(len(demands)), min(most, len(demands))))
    results = [seconds_cpsat(scale(demands[i]), limit) for i in at]
    proven = sum(optimal for _, optimal in results)
    ratio = sum(seconds for seconds, _ in results) / sum(ours[i] for i in at)
    least = "" if proven == len(at) else "at least "
    return (
        f"    CP-SAT on {len(at)} of {len(demands)}: proves {proven} in {limit:g} s each; "
        f"its time is {least}{ratio:.1f} x ours"
    )


def bench_railing(asked: argparse.Namespace) -> None:
    """Print the times of railing jobs, and how many are not proven."""
    demands = railing_jobs(asked.jobs, asked.unlike)
    for demand in demands[::10]:
        cut(demand, solver=SOLVER)  # imports what is imported on first use
    results = [seconds_cut(demand, asked.limit) for demand in demands]
    times = sorted(seconds for seconds, *_ in results)
    proven = sum(optimal for _, optimal, *_ in results)
    quick = sum(method == "first fit" for *_, method in results)
    late = times[int(0.95 * (len(times) - 1))]
    print(f"railing jobs{' unlike' if asked.unlike else ''}: {proven} of {asked.jobs} proven,")
    print(f"{quick} of them without a solver; median {1e3 * median(times):.2f} ms,")
    print(f"95 % {1e3 * late:.1f} ms, longest {1e3 * times[-1]:.0f} ms")
    if asked.cpsat:
        ours = [seconds for seconds, *_ in results]
        print(compare(demands, ours, asked.cpsat, asked.sample))


def bench_published(asked: argparse.Namespace) -> None:
    """Print per set how many instances are proven at their optimum within 1, 10 and 60 s."""
    cut(railing_job(1, 60, unlike=False), solver=SOLVER)  # imports
    for name in asked.sets or list(HELD):
        held = instances(name)
        times, reached, known = [], 0, 0
        for one in held:
            seconds, proven, cost, _ = seconds_cut(one.demand, asked.limit)
            assert one.optimum is None or cost >= one.optimum
            assert one.optimum is None or not proven or cost == one.optimum
            times.append(seconds if proven else float("inf"))
            known += one.optimum is not None
            reached += cost == one.optimum
        within = " ".join(str(sum(t <= bound for t in times)).rjust(3) for bound in (1, 10, 60))
        print(f"{name:16} {len(held):3} held, proven in 1 10 60 s: {within};", end=" ")
        print(f"known optimum reached {reached} of {known}", flush=True)
        if asked.cpsat:
            ours = [min(t, asked.limit) for t in times]
            demands = [one.demand for one in held]
            print(compare(demands, ours, asked.cpsat, asked.sample), flush=True)


def main() -> None:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(description="Benchmark of the cut plans.")
    parser.add_argument("what", choices=["railing", "published"])
    parser.add_argument("sets", nargs="*")
    parser.add_argument("--jobs", type=int, default=200)
    parser.add_argument("--unlike", action="store_true")
    parser.add_argument("--limit", type=float, default=60.0, metavar="SECONDS")
    parser.add_argument("--cpsat", type=float, default=0.0, metavar="SECONDS")
    parser.add_argument("--sample", type=int, default=4, metavar="N")
    asked = parser.parse_args()
    (bench_railing if asked.what == "railing" else bench_published)(asked)


if __name__ == "__main__":
    main()
