"""Load clauses: the loads they ask for, and what a screening of the structure makes of them.

A clause whose key begins with "load.guard" or "load.handrail" limits a force, a line load or a
pressure; the layout alone cannot judge it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from service.domain.compliance.findings import Clause, Dimension, Finding, Outcome
from service.domain.lengths import snap_mm
from service.domain.structure.checks import Check, CheckOutcome, Unit
from service.domain.structure.loads import Load, LoadPlace
from service.domain.structure.rail_checks import BS_6180_MOVEMENT

_KINDS = {
    Dimension.FORCE: (Unit.FORCE, 1_000),  # steps in a newton
    Dimension.LINE_LOAD: (Unit.LINE_LOAD, 1_000_000),  # in a newton per millimetre
    Dimension.PRESSURE: (Unit.PRESSURE, 1),
}
_FOOT_MM = 304.8
DEFLECTION = "load.guard.deflection"
SCREENED = "Screened by calculation; the system's test report comes first."
MOVED = "The middle of the top rail with its posts, their feet taken as rigid."
_METRIC_PATCH_MM = 300.0


def is_screened(clause: Clause) -> bool:
    """Tell whether a screening of the structure decides a clause."""
    return clause.key == DEFLECTION or _place(clause) is not None


def decides(check: Check, clause: Clause) -> bool:
    """Tell whether a check decides a clause."""
    if clause.key == DEFLECTION:
        return check.name == BS_6180_MOVEMENT and _of_code(clause) in check.load
    return name_of(clause) in check.clauses


def _of_code(clause: Clause) -> str:
    return f"({clause.code} {clause.edition} "


def name_of(clause: Clause) -> str:
    """Name a clause as loads and checks do.

    Example:
        >>> from types import SimpleNamespace as Printed
        >>> name_of(Printed(code="IRC", edition="2021", key="load.guard.top"))
        'IRC 2021 load.guard.top'
    """
    return f"{clause.code} {clause.edition} {clause.key}"


def loads_of(findings: Iterable[Finding]) -> tuple[Load, ...]:
    """Give the loads that bind this deck, from the findings of their clauses.

    A force on infill lies on one square foot where the code gives pounds, on 300 mm square where
    it gives kilonewtons.
    """
    found: dict[str, Load] = {}
    for finding in findings:
        clause = finding.clause
        place = _place(clause)
        if place is None or finding.outcome is Outcome.NOT_APPLICABLE or not clause.limits:
            continue
        limit = clause.limits[0]
        if limit.dimension not in _KINDS:
            continue
        kind, steps = _KINDS[limit.dimension]
        text = f"{limit.value} {limit.unit}"
        patch = _FOOT_MM if limit.unit == "lb" else _METRIC_PATCH_MM
        name = name_of(clause)
        found[name] = Load(place, kind, limit.base / steps, text, (name,), patch)
    return tuple(found.values())


def _place(clause: Clause) -> LoadPlace | None:
    if clause.key.startswith("load.handrail"):
        return LoadPlace.HANDRAIL
    if not clause.key.startswith("load.guard"):
        return None
    if "infill" in clause.key:
        return LoadPlace.INFILL
    return LoadPlace.DOWNWARD if "vertical" in clause.key else LoadPlace.TOP


def decided_by(findings: Iterable[Finding], checks: Sequence[Check]) -> tuple[Finding, ...]:
    """Give the findings again, those on loads as the checks decide them.

    A clause is met where every check that decides it holds, not met as soon as one is over, and
    not assessed while one is open. What no check decides stays as it was.
    """
    return tuple(_decided(finding, checks) for finding in findings)


def _decided(finding: Finding, checks: Sequence[Check]) -> Finding:
    if finding.clause.key == DEFLECTION:
        return _moved(finding, checks)
    deciding = [check for check in checks if decides(check, finding.clause)]
    if finding.outcome is not Outcome.NOT_ASSESSED or not deciding:
        return finding
    over = [check for check in deciding if check.outcome is CheckOutcome.OVER]
    unsettled = [check for check in deciding if check.outcome is CheckOutcome.NOT_ASSESSED]
    if over:
        named = "; ".join(_printed(check) for check in over)
        return replace(finding, outcome=Outcome.NOT_MET, note=f"{SCREENED} Over: {named}.")
    if unsettled:
        named = "; ".join(f"{check.name} ({check.missing})" for check in unsettled)
        return replace(finding, note=f"{SCREENED} Left open: {named}.")
    worst = max(deciding, key=lambda check: check.utilisation or 0.0)
    note = f"{SCREENED} The most used: {_printed(worst)}."
    return replace(finding, outcome=Outcome.MET, note=note)


def _moved(finding: Finding, checks: Sequence[Check]) -> Finding:
    """Decide a limit on movement by how far the rails move under the loads of the same code."""
    clause = finding.clause
    found = [check for check in checks if decides(check, clause)]
    results = [snap_mm(check.result.value) for check in found if check.result is not None]
    if finding.outcome is not Outcome.NOT_ASSESSED or not results:
        return finding
    worst_nm = max(results)
    margin_nm = clause.limits[0].base - worst_nm
    outcome = Outcome.MET if margin_nm >= 0 else Outcome.NOT_MET
    note = f"{SCREENED} {MOVED}"
    return replace(finding, outcome=outcome, measured=worst_nm, margin=margin_nm, note=note)


def _printed(check: Check) -> str:
    used = "" if check.utilisation is None else f" {check.utilisation:.2f} of what is allowed"
    return f"{check.name}{used} at {', '.join(check.worst[:3]) or 'its elements'}"
