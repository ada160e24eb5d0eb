"""Changes of a job that may cure a clause not met: one dimension, count or choice at a time.

Each remedy takes the job and a new value and gives the changed job; what it would change is named
by its place in the request. Which of them cures a clause, and by how little, is found by laying
the changed job out again (see ``advise``).
"""

from collections.abc import Mapping

from service.domain.compliance.findings import Finding
from service.usecases.remedies_built import OF_BUILT
from service.usecases.remedies_grip import OF_HOLDS
from service.usecases.remedies_guard import OF_GUARDS
from service.usecases.remedies_handrail import OF_HANDRAILS
from service.usecases.remedies_stair import OF_STAIRS
from service.usecases.remedy import Job, Remedy
from service.usecases.remedy_parts import Remedies

_REMEDIES: Mapping[str, Remedies] = {
    **OF_GUARDS, **OF_STAIRS, **OF_HANDRAILS, **OF_BUILT, **OF_HOLDS,
}  # fmt: skip


def remedies_for(measure: str, job: Job, finding: Finding, stairs: frozenset[int]) -> list[Remedy]:
    """Give what may cure a finding, the likeliest first.

    Args:
        measure: How the clause is measured.
        job: As it is.
        finding: One of those not met.
        stairs: Places in the request of the stairs it concerns.
    """
    found = _REMEDIES.get(measure)
    return list(found(job, finding, stairs)) if found else []
