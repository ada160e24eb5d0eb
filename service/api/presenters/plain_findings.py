"""Findings for people who know no code: what counts in a few sentences, clause by clause."""

from collections import Counter
from collections.abc import Sequence

from service.api.presenters.findings import present_result
from service.api.presenters.values import Json
from service.domain.compliance.findings import Comparison, Finding, Outcome
from service.spoken_lengths import in_units
from service.usecases.orders import Units

_MOST_PLACES = 12
_ASKED = {
    Comparison.AT_LEAST: "at least {}",
    Comparison.AT_MOST: "at most {}",
    Comparison.MORE_THAN: "more than {}",
    Comparison.LESS_THAN: "less than {}",
    Comparison.WITHIN: "between {} and {}",
    Comparison.OUTSIDE: "outside {} to {}",
}


def plain_findings(findings: Sequence[Finding], units: Units) -> Json:
    """Say how the findings come out, and tell of each clause that is not met or not judged."""
    counts = Counter(finding.outcome for finding in findings)
    return {
        "summary": _summary(findings, counts),
        "outcomes": {outcome.value: counts[outcome] for outcome in Outcome},
        "not_met": _told(findings, Outcome.NOT_MET, units),
        "not_judged": _told(findings, Outcome.NOT_ASSESSED, units),
    }


def _summary(findings: Sequence[Finding], counts: Counter[Outcome]) -> str:
    codes = dict.fromkeys(f"{f.clause.code} {f.clause.edition}" for f in findings)
    parts = [f"{counts[Outcome.MET]} met", f"{counts[Outcome.NOT_MET] or 'none'} missed"]
    if counts[Outcome.NOT_ASSESSED]:
        parts.append(f"{counts[Outcome.NOT_ASSESSED]} open because too little was said")
    judged = len(findings) - counts[Outcome.NOT_APPLICABLE]
    return f"{judged} points held against {' and '.join(codes)}: {', '.join(parts)}."


def _told(findings: Sequence[Finding], outcome: Outcome, units: Units) -> list[Json]:
    """Tell of each clause once, with the places where it came out so."""
    by_clause: dict[tuple[str, str, str], list[Finding]] = {}
    for finding in findings:
        if finding.outcome is outcome:
            clause = finding.clause
            by_clause.setdefault((clause.code, clause.edition, clause.key), []).append(finding)
    return [_one(found, units) for found in by_clause.values()]


def _one(found: Sequence[Finding], units: Units) -> Json:
    results = [present_result(finding, units) for finding in found]
    clause = found[0].clause
    places = [_place(f.element, r) for f, r in zip(found, results, strict=True)]
    notes = dict.fromkeys(in_units(finding.note, units) for finding in found if finding.note)
    words = [clause.rule, *([_limit(clause.compare, results[0])] if clause.limits else ())]
    return {
        "section": results[0]["section"],
        "text": " ".join(words),
        "why": " ".join(notes),
        "places": list(dict.fromkeys(places))[:_MOST_PLACES],
    }


def _limit(compare: Comparison, result: Json) -> str:
    limits = result["limits"]
    enacted = [one["enacted"] for one in limits] if isinstance(limits, list) else []
    asked = _ASKED.get(compare, "").format(*enacted, "")
    return f"Asked for: {asked}." if asked and enacted else ""


def _place(element: str, result: Json) -> str:
    measured = result["measured"]
    text = measured.get("text", "") if isinstance(measured, dict) else ""
    return f"{element}: {text}" if text else element
