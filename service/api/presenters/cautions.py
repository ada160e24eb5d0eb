"""What every answer says about its own limits."""

from collections.abc import Iterable

from service.domain.compliance.findings import Finding, Outcome
from service.domain.compliance.needs import DROP, GUARD

SCREENING = (
    "This is a screening of what was submitted, not an approval: the local code official decides "
    "what the code asks for and whether it is met."
)
SYSTEM = (
    "The railing system's test report and installation instructions come first; where they differ "
    "from this answer, follow them."
)
STRUCTURE = (
    "Posts, fastenings and the framing they bear on belong to licensed practice; decking alone is "
    "never structure."
)
SITE = "Lengths follow from the taped dimensions as they were given: measure again before cutting."
STANDING = (SCREENING, SYSTEM, STRUCTURE, SITE)
WORDS = (
    "Rules are told in our own words; codes are copyrighted and their print governs. Where a text "
    "was not read, the clause says so."
)
READING = (WORDS, SCREENING, SYSTEM)


def cautions(findings: tuple[Finding, ...] = ()) -> list[str]:
    """Give the standing cautions, then those the findings call for."""
    said = list(STANDING)
    not_met = _sections(_with(Outcome.NOT_MET, findings))
    if not_met:
        said.append(f"Not met on this deck: {'; '.join(not_met)}. See the findings.")
    not_assessed = _sections(_with(Outcome.NOT_ASSESSED, findings))
    if not_assessed:
        said.append(f"Not assessed, for want of data: {'; '.join(not_assessed)}.")
    on_edge_falls = _on_edge_falls(findings)
    if on_edge_falls:
        said.append(
            f"No guard called for by the fall at the edge alone: {'; '.join(on_edge_falls)}. The "
            "ground may fall on within the reach of the code: tape it outward, as falls_taped, "
            "before leaving a guard out."
        )
    recalled = _sections([f for f in findings if f.clause.from_memory])
    if recalled:
        said.append(f"Limits not read in a copy of the code: {'; '.join(recalled)}.")
    said.extend(dict.fromkeys([f.clause.adopted for f in findings if f.clause.adopted]))
    return said


def _with(outcome: Outcome, findings: Iterable[Finding]) -> list[Finding]:
    return [finding for finding in findings if finding.outcome is outcome]


def _on_edge_falls(findings: Iterable[Finding]) -> list[str]:
    """Name the edges that need no guard only as far as anyone looked for the drop.

    Codes with a reach leave it unassessed where nothing was taped out to it.
    """
    found = [f for f in findings if f.clause.decides]
    untaped = {
        (f.clause.code, f.clause.edition, f.element)
        for f in found
        if f.clause.decides == DROP and f.outcome is Outcome.NOT_ASSESSED
    }
    return [
        f"{f.element} ({', '.join(_sections([f]))})"
        for f in found
        if f.clause.decides == GUARD
        and f.outcome is Outcome.NOT_APPLICABLE
        and (f.clause.code, f.clause.edition, f.element) in untaped
    ]


def _sections(findings: Iterable[Finding]) -> list[str]:
    clauses = {id(finding.clause): finding.clause for finding in findings}.values()
    return list(dict.fromkeys([f"{c.code} {c.edition} {c.section}" for c in clauses]))
