"""What is required where: the clauses that decide whether a guard or a handrail is needed."""

from collections import defaultdict
from collections.abc import Iterable, Sequence

from service.domain.compliance.exact import Measured, holds
from service.domain.compliance.findings import Clause, Limit
from service.domain.compliance.measurement import Measurement

GUARD, DROP = "guard", "drop"
REQUIRED = "required"
NOT_REQUIRED = "not required"


class Needs:
    """Answers whether something is required at an element, for the clauses of one edition.

    Needs that an edition decides itself are its own; for any other it takes those of whatever
    stands beside it, as an overlay does.
    """

    def __init__(self, clauses: Sequence[Clause]) -> None:
        self._deciding = _by_need(clauses)
        # Per clause, which is held by what is above, and value.
        self._known: dict[tuple[int, Measured], bool | None] = {}

    def __contains__(self, need: str) -> bool:
        return need in self._deciding

    def word(self, need: str, measurement: Measurement) -> str | None:
        """Say whether it is required there, None where that is not known."""
        answers = [self._answer(clause, measurement) for clause in self._deciding[need]]
        if True in answers:
            return REQUIRED
        return None if None in answers else NOT_REQUIRED

    def _answer(self, clause: Clause, measurement: Measurement) -> bool | None:
        value = measurement.attributes.get(clause.decides_by)
        if value is None or isinstance(value, str):
            return None
        key = (id(clause), value)
        if key not in self._known:
            self._known[key] = holds(clause.compare, value, clause.limits)
        return self._known[key]


def needs_by_edition(
    clauses: Sequence[Clause], deciding: Sequence[Clause]
) -> dict[tuple[str, str], Needs]:
    """Give what is needed as each edition sees it.

    Args:
        clauses: All that are held against the deck.
        deciding: Those of them that decide a need of this job.
    """
    found = {}
    for edition in {(clause.code, clause.edition) for clause in clauses}:
        own = [clause for clause in deciding if (clause.code, clause.edition) == edition]
        decided = {clause.decides for clause in own}
        found[edition] = Needs([*own, *(c for c in deciding if c.decides not in decided)])
    return found


def reaches_by_edition(
    clauses: Sequence[Clause], deciding: Sequence[Clause]
) -> dict[tuple[str, str], Limit | None]:
    """Give how far out from an edge each edition looks for a drop; None for those that do not.

    An edition that does not itself decide where a guard is needed takes the farthest of the others.
    """
    own = {(c.code, c.edition): c.limits[0] for c in deciding if c.decides == DROP}
    guarding = {(c.code, c.edition) for c in deciding if c.decides == GUARD}
    others = max(own.values(), key=lambda limit: limit.base, default=None)
    return {
        edition: own.get(edition, None if edition in guarding else others)
        for edition in {(clause.code, clause.edition) for clause in clauses}
    }


def _by_need(clauses: Iterable[Clause]) -> dict[str, list[Clause]]:
    found: dict[str, list[Clause]] = defaultdict(list)
    for clause in clauses:
        found[clause.decides].append(clause)
    return dict(found)
