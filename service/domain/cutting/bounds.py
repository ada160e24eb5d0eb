"""No plan can cost less: bounds on the cost of a job, without a solver.

Guarantee: each function returns a whole number of cost steps that no plan of the job undercuts.
"""

from service.domain.cutting.scale import Job


def continuous(job: Job) -> int:
    """Bound by length: all pieces laid on the stock that is cheapest for its room.

    Stocks with a limit are used up first where they are cheaper for their room.
    """
    needed = sum(take * count for take, count in zip(job.takes, job.counts, strict=True))
    cost_num, cost_den = 0, 1
    for stock in sorted(
        range(len(job.rooms)), key=lambda s: (job.costs[s] / job.rooms[s], s)
    ):
        used = min(needed, job.rooms[stock] * job.limits[stock])
        cost_num = cost_num * job.rooms[stock] + used * job.costs[stock] * cost_den
        cost_den *= job.rooms[stock]
        needed -= used
        if not needed:
            break
    return -(-cost_num // cost_den)
