"""One deck under several codes: each check in full, then the same things row by row."""

from collections.abc import Sequence

from service.api.presenters.advice import present_advice
from service.api.presenters.findings import present_findings, present_result
from service.api.presenters.structure import present_structure
from service.api.presenters.values import Json
from service.domain.compliance.findings import Finding, Outcome
from service.domain.compliance.measures import MEASURES
from service.usecases.check_code import CodeCheck
from service.usecases.orders import Units


def present_check(check: CodeCheck, units: Units) -> Json:
    """Give the findings, advice and screening of one code."""
    return {
        **present_findings(check.findings, units),
        "advice": present_advice(check.advice, units),
        "structure": present_structure(check.screening, units),
    }


def present_comparison(checks: Sequence[CodeCheck], units: Units) -> Json:
    """Give every check, and side by side what each code says of the same measure of an element."""
    rows: dict[tuple[str, str], list[Json]] = {}
    for check in checks:
        for finding in check.findings:
            if finding.outcome is not Outcome.NOT_APPLICABLE:
                rows.setdefault(_place(finding), []).append(
                    {"name": check.name, **present_result(finding, units)}
                )
    return {
        "checks": [{"name": check.name, **present_check(check, units)} for check in checks],
        "side_by_side": [
            {"measure": measure, "element": element, "results": results}
            for (measure, element), results in rows.items()
        ],
    }


def _place(finding: Finding) -> tuple[str, str]:
    """Say what stands side by side: what is measured alike, else clauses of the same key."""
    clause = finding.clause
    alike = clause.measure if MEASURES[clause.measure].dimensioned else clause.key
    return alike, finding.element
