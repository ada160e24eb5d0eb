"""What a quote's text says of the code: findings, advice, and the screening of the structure.

A stored quote may be older than advice and screening; what it does not have is left out.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from service.adapters.documents.columns import cleaned, heading, paragraph

Json = Mapping[str, Any]

_COMPARED = {
    "at_least": "at least",
    "at_most": "at most",
    "more_than": "more than",
    "less_than": "less than",
    "within": "within",
    "outside": "outside",
    "required": "required",
}
_CLOSE_MM = 0.8  # nearer to its limit than that, a length is printed exactly
_MOST_NAMES = 6  # of elements told one by one


def code_lines(compliance: Json, structure: Json | None) -> Iterator[str]:
    """Tell findings, advice and screening, each under a heading."""
    yield from _findings(compliance)
    if compliance.get("advice"):
        yield from heading("ADVICE")
    for advice in compliance.get("advice", ()):
        yield from paragraph(_advised(advice), 4, "  - ")
    if structure:
        yield from _structure(structure)


def _findings(compliance: Json) -> Iterator[str]:
    yield from heading(f"CODE FINDINGS  {', '.join(map(cleaned, compliance['codes']))}")
    yield _counted(compliance["outcomes"])
    for outcome in ("not_met", "not_assessed"):
        found = [f for f in compliance["findings"] if f["outcome"] == outcome]
        if found:
            yield f"{_words(outcome).capitalize()}:"
        for told in _gathered(found):
            yield from paragraph(told, 4, "  - ")


def _words(key: str) -> str:
    return key.replace("_", " ")


def _counted(outcomes: Json) -> str:
    return ", ".join(f"{outcomes[key]} {_words(key)}" for key in outcomes) + "."


def _gathered(findings: Sequence[Json]) -> Iterator[str]:
    """Tell findings one clause at a time; elements that share all else are listed together."""
    groups: dict[tuple[str, ...], list[str]] = {}
    for finding in findings:
        memory = "Limit from memory." if finding.get("from_memory") else ""
        key = (finding["section"], finding["clause"], _measured(finding), finding["note"],
               finding.get("amended", ""), memory)  # fmt: skip
        groups.setdefault(key, []).append(finding["element"])
    for (section, clause, *told), elements in groups.items():
        said = " ".join(part for part in told if part)
        yield f"{section} ({clause}), {'; '.join(elements)}: {said}"


def _measured(finding: Json) -> str:
    limits = " to ".join(limit["enacted"] for limit in finding["limits"])
    asked = f"{_COMPARED.get(finding['compare'], finding['compare'])} {limits}".strip()
    measured = finding["measured"]
    if measured is None:
        return f"{asked}, not measured."
    margin, exact = finding.get("margin") or {}, ""
    if "mm" in measured and 0 < abs(margin.get("mm", 0)) < _CLOSE_MM:
        exact = f" (exactly {measured['mm']:f} mm)"
    return f"{measured['text']}{exact}, asked {asked}."


def _advised(advice: Json) -> str:
    cause = f", {advice['cause']}" if advice.get("cause") else ""
    return f"{advice['section']}{cause}, {_named(advice['elements'])}: {advice['text']}"


def _named(elements: Sequence[str]) -> str:
    more = len(elements) - _MOST_NAMES
    named = "; ".join(elements[:_MOST_NAMES] if more > 1 else elements)
    return f"{named} and {more} more" if more > 1 else named


def _structure(structure: Json) -> Iterator[str]:
    yield from heading("STRUCTURE, SCREENED BY CALCULATION")
    yield _counted(structure["outcomes"])
    for outcome in ("over", "not_assessed"):
        checks = [check for check in structure["checks"] if check["outcome"] == outcome]
        if checks:
            yield f"{_words(outcome).capitalize()}:"
        for check in checks:
            yield from paragraph(_checked(check), 4, "  - ")
    used = ", ".join(_most_used(structure["checks"]))
    if used:
        yield "Ok, with the most that any uses of what is allowed:"
        yield from paragraph(f"{used}.", 4, "  - ")
    holes = structure["holes"]
    if holes:
        lead = f"{holes['lead_least']['text']} to {holes['lead_most']['text']}"
        told = f"Holes for lag screws: {holes['clearance']['text']} for the shank, {lead} for the "
        yield from paragraph(f"{told}thread ({holes['gravity_class']}).", 4, "  - ")
    for caution in structure["cautions"]:
        yield from paragraph(caution, 4, "  - ")


def _most_used(checks: Sequence[Json]) -> Iterator[str]:
    """Tell checks that hold by their name alone; the quote itself has them in full."""
    most: dict[str, float] = {}
    for check in checks:
        if check["outcome"] == "ok":
            used = check["utilisation"] or 0.0
            most[check["name"]] = max(used, most.get(check["name"], 0.0))
    for name, used in most.items():
        yield f"{name} {used:.2f}" if used else name


def _checked(check: Json) -> str:
    load = f" under {check['load']}" if check["load"] else ""
    told = f"{check['name']}{load}, {_named(check['worst'] or check['elements'])}:"
    if check["result"] is not None:
        used = check["utilisation"]
        share = "more than can be balanced" if used is None else f"{used:.4g} of what is allowed"
        told += f" {check['result']['text']}, limit {check['limit']['text']}, {share}."
    if check["missing"]:
        told += f" Missing: {check['missing'].removesuffix('.')}."
    if not check["decides"]:
        told += " Decides no clause."
    return told.removesuffix(":")
