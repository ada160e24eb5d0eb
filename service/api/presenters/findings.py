"""Findings and the clauses they rest on, as plain dicts."""

from collections import Counter
from typing import NamedTuple

import orjson

from service.api.presenters.values import Json, length
from service.domain.compliance.findings import Clause, Dimension, Finding, Limit, Outcome
from service.spoken_lengths import in_units
from service.usecases.orders import Units

# Looked up once: by name each member takes as long as what is done with it (Python 3.11).
_LENGTH, _COUNT = Dimension.LENGTH, Dimension.COUNT
# Unit shown, and steps of the base in one of it.
_UNITS = {
    Dimension.COUNT: ("1", 1),
    Dimension.ANGLE: ("deg", 3_600),
    Dimension.SLOPE: ("ratio", 3_600_000),
    Dimension.FORCE: ("N", 1_000),
    Dimension.LINE_LOAD: ("N/m", 1_000),
    Dimension.PRESSURE: ("Pa", 1),
    Dimension.SHARE: ("percent", 10_000),
}


_MOST_SHOWN = 4_096  # clauses, each in one choice of units


class _Shown(NamedTuple):
    """A clause as it is shown; the clause itself is held so that no other can have its id."""

    clause: Clause
    cited: str
    compare: str
    limits: list[Json]
    whole: orjson.Fragment


_shown: dict[tuple[int, Units], _Shown] = {}


def _show(clause: Clause, units: Units) -> _Shown:
    """Write a clause down once: those of a library stay the same for every quote."""
    known = _shown.get((id(clause), units))
    if known is not None:
        return known
    if len(_shown) >= _MOST_SHOWN:
        _shown.clear()
    limits = _limits(clause.limits, units)
    whole = orjson.Fragment(orjson.dumps(present_clause(clause, units)))
    shown = _Shown(clause, _cited(clause), clause.compare.value, limits, whole)
    _shown[id(clause), units] = shown
    return shown


def present_findings(findings: tuple[Finding, ...], units: Units) -> Json:
    """Give the count of each outcome, every finding, and each clause once in full."""
    found = {id(finding.clause): finding.clause for finding in findings}
    clauses = list({_key(clause): clause for clause in found.values()}.values())
    shown = {id_: _show(clause, units) for id_, clause in found.items()}
    outcomes = Counter(finding.outcome for finding in findings)
    return {
        "codes": list(dict.fromkeys(f"{clause.code} {clause.edition}" for clause in clauses)),
        "outcomes": {outcome.value: outcomes[outcome] for outcome in Outcome},
        "findings": [_finding(finding, units, shown[id(finding.clause)]) for finding in findings],
        "clauses": [shown[id(clause)].whole for clause in clauses],
    }


def _finding(finding: Finding, units: Units, shown: _Shown) -> Json:
    result = _result(finding, units, shown)
    result["rule"], result["element"] = finding.clause.rule, finding.element
    return result


def _key(clause: Clause) -> tuple[str, str, str]:
    return clause.code, clause.edition, clause.key


def _cited(clause: Clause) -> str:
    return f"{clause.code} {clause.edition} {clause.section}"


def present_result(finding: Finding, units: Units) -> Json:
    """Give what came of one clause on one element."""
    return _result(finding, units, _show(finding.clause, units))


def _result(finding: Finding, units: Units, shown: _Shown) -> Json:
    clause = finding.clause
    return {
        "clause": clause.key,
        "section": shown.cited,
        "outcome": str(finding.outcome),
        "measured": _measured(clause, finding.measured, units),
        "compare": shown.compare,
        "limits": _limits(finding.limits, units) if finding.limits else shown.limits,
        "margin": _measured(clause, finding.margin, units),
        "note": in_units(finding.note, units),
        "amended": clause.amended,
        "from_memory": clause.from_memory,
    }


def present_clause(clause: Clause, units: Units) -> Json:
    """Give one clause in full."""
    return {
        "key": clause.key,
        "code": clause.code,
        "edition": clause.edition,
        "section": clause.section,
        "rule": clause.rule,
        "compare": clause.compare.value,
        "limits": _limits(clause.limits, units),
        "applies_when": dict(clause.applies_when),
        "conditions": [
            {
                "attribute": condition.attribute,
                "compare": condition.compare.value,
                "limits": _limits(condition.limits, units),
            }
            for condition in clause.conditions
        ],
        "exceptions": clause.exceptions,
        "how_measured": clause.how_measured,
        "reading": clause.reading,
        "source": clause.source,
        "from_memory": clause.from_memory,
        "named_text_seen": clause.named_text_seen,
        "editions_seen": list(clause.editions_seen),
        "decides": clause.decides,
        "missing": clause.missing,
        "measure": clause.measure,
        "amended": clause.amended,
        "deleted": clause.deleted,
        "adopted": clause.adopted,
    }


def _limit(limit: Limit, units: Units) -> Json:
    enacted = limit.value if limit.unit == "count" else f"{limit.value} {limit.unit}"
    if limit.or_less:
        enacted += f", or the {limit.or_less.replace('_', ' ')} if less"
    return {"enacted": enacted, **_value(limit.dimension, limit.base, units)}


def _limits(limits: tuple[Limit, ...], units: Units) -> list[Json]:
    return [_limit(limit, units) for limit in limits]


def _measured(clause: Clause, base: int | None, units: Units) -> Json | None:
    """Give a measured value or a margin in the kind of quantity its clause limits."""
    if base is None:
        return None
    return _value(clause.limits[0].dimension if clause.limits else _COUNT, base, units)


def _value(dimension: Dimension, base: int, units: Units) -> Json:
    if dimension is _LENGTH:
        return length(base, units)
    unit, steps = _UNITS[dimension]
    return {"value": base / steps, "unit": unit, "text": _text(dimension, base, unit, steps)}


def _text(dimension: Dimension, base: int, unit: str, steps: int) -> str:
    number = f"{base / steps:.6g}"
    if dimension is Dimension.COUNT:
        return number
    if dimension is Dimension.ANGLE:
        return f"{number}°"
    if dimension is Dimension.SLOPE:
        return f"1:{steps / base:.4g}" if base else "flat"
    return f"{number} {unit}"
