"""No plan can cost less: bounds on the cost of a job, without a solver.

A rounding ``f(x) = floor(j * x / take)`` never gives a pattern more than it gives the room of its
stock, because ``f(a) + f(b) <= f(a + b)`` (a superadditive, so dual feasible function; Lueker 1983,
Fekete and Schepers 2001). With ``j = 1`` it counts the pieces at least as long as one kind, with
``j = 2`` or ``3`` it also weighs halves and thirds. So the bars of any plan, each counted by its
room, must together reach what all pieces count, for every rounding and for the length itself.

Guarantee: ``least_cost`` is a whole number of cost steps that no plan undercuts; where
``too_little`` says so, there is no plan.
"""

from collections.abc import Sequence
from operator import mul

from service.domain.cutting.scale import Job

SHARES = (1, 2, 3)
KEPT = 8  # roundings looked at together
KINDS = 12  # kinds whose takes make roundings
SUMS = 1_000  # of the costs of bars that are told apart
VISITS = 300  # of numbers of bars tried

Need = tuple[tuple[int, ...], int]  # worth of a bar per stock, and what all bars must reach


def least_cost(job: Job, cost: int) -> int:
    """Bound the cost of a job from below, up to a cost already known.

    Finds the cheapest whole numbers of bars that meet the needs of length and of the strongest
    roundings. Where that takes too long, the strongest single need is the bound.

    Args:
        job: The scaled job.
        cost: Cost of a plan; the bound is not raised past it.
    """
    needs = _needs(job)
    single = max(_alone(job, need) for need in needs)
    if single >= cost:
        return cost
    return max(single, _together(job, needs, cost, single))


def most_cost(job: Job) -> int:
    """Give a cost that no plan within the limits passes."""
    return sum(limit * cost for limit, cost in zip(job.limits, job.costs, strict=True))


def too_little(job: Job) -> bool:
    """Tell whether all bars within the limits together fall short of a need."""
    return any(
        sum(map(mul, worths, job.limits)) < reached for worths, reached in _needs(job, every=True)
    )


def _needs(job: Job, every: bool = False) -> list[Need]:
    """Give the need of length and of the strongest roundings, strongest first, or of all."""
    total = sum(take * count for take, count in zip(job.takes, job.counts, strict=True))
    found = {(job.rooms, total): _alone(job, (job.rooms, total))}
    step = -(-len(job.takes) // KINDS)
    for take in job.takes[::step]:
        for share in SHARES:
            pairs = zip(job.takes, job.counts, strict=True)
            reached = sum([share * other // take * count for other, count in pairs])
            need = (tuple([share * room // take for room in job.rooms]), reached)
            if reached and need not in found:
                found[need] = _alone(job, need)
    return sorted(found, key=lambda need: -found[need])[: None if every else KEPT]


def _alone(job: Job, need: Need) -> int:
    """Bound the cost by one need, bars not whole, cheapest for their worth first."""
    worths, left = need
    cost = 0.0
    ranked = [
        (job.costs[s] / worth, worth * job.limits[s]) for s, worth in enumerate(worths) if worth
    ]
    ranked.sort()
    for rate, supply in ranked:
        used = min(left, supply)
        cost += used * rate
        left -= used
        if not left:
            break
    return _up(cost)


def _up(cost: float) -> int:
    """Round a bound up, not over what an error of the float could have added."""
    return -int(-cost * (1 - 1e-12) // 1)


def _together(job: Job, needs: Sequence[Need], cost: int, enough: int) -> int:
    """Find the cheapest whole bars that meet all needs; ``enough`` where that takes too long."""
    order = sorted(range(len(job.costs)), key=lambda s: -job.costs[s] / max(needs[0][0][s], 0.1))
    costs = [job.costs[s] for s in order]
    limits = [job.limits[s] for s in order]
    worths = [[need[0][s] for need in needs] for s in order]
    rates = [
        [
            min(
                (c / w[k] for c, w in zip(costs[at:], worths[at:], strict=True) if w[k]),
                default=1e30,
            )
            for k in range(len(needs))
        ]
        for at in range(len(costs))
    ]
    best, visits, last = cost, 0, len(costs) - 1

    def visit(at: int, spent: int, left: list[int]) -> None:
        nonlocal best, visits
        visits += 1
        if visits > VISITS or spent + max(map(mul, left, rates[at])) * (1 - 1e-12) > best - 1:
            return
        most = max([0] + [-(-n // w) for n, w in zip(left, worths[at], strict=True) if w])
        if at == last:
            short = any(n > 0 for n, w in zip(left, worths[at], strict=True) if not w)
            if most <= limits[at] and not short:
                best = min(best, spent + most * costs[at])
            return
        for bars in range(min(most, limits[at]) + 1):
            if spent + bars * costs[at] >= best:
                return
            visit(
                at + 1,
                spent + bars * costs[at],
                [n - bars * w for n, w in zip(left, worths[at], strict=True)],
            )

    visit(0, 0, [reached for _, reached in needs])
    return enough if visits > VISITS else best


def sums_of_bars(costs: tuple[int, ...], most: int) -> Sequence[int]:
    """Give every cost up to the most that bars can add up to, in order; all where too many."""
    sums = {0}
    for cost in set(costs):
        newest = sums
        while newest := {total + cost for total in newest if total + cost <= most}:
            sums = sums | newest
            if len(sums) > SUMS:
                return range(most + 1)
    return sorted(sums)
