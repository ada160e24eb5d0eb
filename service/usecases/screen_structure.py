"""Screen what a railing is made of, and let that decide the clauses on loads."""

from service.domain.compliance.findings import Finding
from service.domain.compliance.load_clauses import decided_by, loads_of
from service.domain.layout.records import Layout
from service.domain.structure.materials import Materials
from service.domain.structure.screening import Screening, screen_guard
from service.usecases.orders import StructureWish

Screened = tuple[tuple[Finding, ...], Screening | None]


def screen_structure(
    findings: tuple[Finding, ...],
    layout: Layout,
    wish: StructureWish | None,
    materials: Materials,
) -> Screened:
    """Give the findings with loads judged, and the screening; both as they were without a wish."""
    if wish is None:
        return findings, None
    screening = screen_guard(layout, wish(materials), loads_of(findings))
    return decided_by(findings, screening.checks), screening
