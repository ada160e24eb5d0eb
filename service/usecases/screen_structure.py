"""Screen what a railing is made of, and let that decide the clauses on loads."""

from service.domain.compliance.findings import Finding
from service.domain.compliance.load_clauses import decided_by, loads_of
from service.domain.layout.records import Layout
from service.domain.structure.screening import Screening, screen_guard
from service.domain.structure.specification import StructureSpec

Screened = tuple[tuple[Finding, ...], Screening | None]


def screen_structure(
    findings: tuple[Finding, ...],
    layout: Layout,
    spec: StructureSpec | None,
) -> Screened:
    """Give the findings with loads judged, and the screening; without a specification as it was."""
    if spec is None:
        return findings, None
    screening = screen_guard(layout, spec, loads_of(findings))
    return decided_by(findings, screening.checks), screening
