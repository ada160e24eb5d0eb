"""What would cure one cause of a clause not met."""

from collections.abc import Iterable
from dataclasses import dataclass

from service.domain.compliance.findings import Clause, Finding, Outcome


@dataclass(frozen=True, slots=True)
class Advice:
    """What would meet one clause, or cure one check that keeps it from being met.

    Attributes:
        clause: Not met as the job stands.
        elements: Where it is not met.
        cause: Name of the structural check that is cured; "" where a measure is.
        change: What to change; "" where nothing tried would do.
        member: Its place in the request.
        before, after: Its value; lengths in nanometres, else counts; 0 and 1 for a choice.
        counted: Whether these are counts.
        told: The two values in words, where lengths and counts would not do.
        also_met: Clauses not met now that the change meets too.
        no_longer_met: Clauses met now that the change breaks.
        still_over: Other checks that keep the clause from being met even with the change.
        together: Whether all changes for the clause meet it; None where that is not asked.
        cut_short: Whether the trials of one answer ran out, so that less may do, or something.
    """

    clause: Clause
    elements: tuple[str, ...]
    cause: str = ""
    change: str = ""
    member: str = ""
    before: int = 0
    after: int = 0
    counted: bool = False
    told: tuple[str, str] = ("", "")
    also_met: tuple[Clause, ...] = ()
    no_longer_met: tuple[Clause, ...] = ()
    still_over: tuple[str, ...] = ()
    together: bool | None = None
    cut_short: bool = False


def failing(findings: Iterable[Finding]) -> dict[tuple[str, str, str], Clause]:
    """Give the clauses that some finding does not meet, by code, edition and key."""
    return {
        (f.clause.code, f.clause.edition, f.clause.key): f.clause
        for f in findings
        if f.outcome is Outcome.NOT_MET
    }
