"""Why a clause is not met: a measure of the layout, or a check of the structure that is over."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from service.domain.compliance.findings import Clause, Comparison, Dimension, Finding, Outcome
from service.domain.compliance.load_clauses import decides, is_screened
from service.domain.layout.records import Layout
from service.domain.structure.checks import Check, CheckOutcome
from service.domain.structure.post_checks import FASCIA
from service.usecases.remedies import remedies_for
from service.usecases.remedy import Job, Remedy
from service.usecases.strengthen import remedies_for_check
from service.usecases.weakness import Weakness

_BY_ELEMENT = frozenset({
    "guard_needs", "gates_shutting", "release_heights", "release_openings", "releases_below_top",
})  # fmt: skip
_BY_PLACE = frozenset({"landing_depths", "stair_slopes"})
CheckKey = tuple[str, str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Cause:
    """One reason why a clause is not met.

    Attributes:
        elements: Where.
        place: Which openings it speaks of, "" for a clause on anything else.
        check: Name of the structural check that is over; "" where a measure is at fault.
        on_rim: Whether that check is on posts fixed to a rim.
        sound: Structural checks that are not over and must stay so.
        short_nm: How far the worst finding is from being met. [nm]
        remedies: What may cure it, the likeliest first.
    """

    clause: Clause
    elements: tuple[str, ...]
    place: str
    check: str
    on_rim: bool
    sound: frozenset[CheckKey]
    short_nm: int
    remedies: tuple[Remedy, ...]

    def asked(self, clauses: Sequence[Clause]) -> list[Clause]:
        """Give the clauses a trial needs: this one, what decides its needs, all loads with it."""
        return [
            clause
            for clause in clauses
            if clause == self.clause or clause.decides or (self.check and is_screened(clause))
        ]

    def cured(self, findings: Iterable[Finding], checks: Iterable[Check], layout: Layout) -> bool:
        """Tell whether the changed job has got rid of it without a check going over instead."""
        if not self.check:
            return not any(
                finding.outcome is Outcome.NOT_MET
                for finding in findings
                if finding.clause == self.clause and _place(finding) == self.place
            )
        surfaces = _surfaces(layout)
        return not any(
            _key(check) in self.sound
            or (
                check.name == self.check
                and decides(check, self.clause)
                and _on_rim(check, surfaces) == self.on_rim
            )
            for check in checks
            if check.outcome is CheckOutcome.OVER
        )


def causes_of(
    findings: Sequence[Finding], checks: Sequence[Check], job: Job, layout: Layout
) -> Iterator[Cause]:
    """Give the causes of the clauses not met: openings by their place, loads by their check."""
    wanting = Outcome.NOT_MET
    not_met = [finding for finding in findings if finding.outcome is wanting]
    stairs = _stairs_of(layout)
    for group in _grouped(not_met):
        if is_screened(group[0].clause):
            yield from _structural(group[0].clause, checks, job, layout)
        else:
            yield _measured(group, job, stairs)


def _grouped(not_met: Sequence[Finding]) -> Iterable[list[Finding]]:
    groups: dict[tuple[str, str, str, str], list[Finding]] = {}
    for finding in not_met:
        clause = finding.clause
        key = (clause.code, clause.edition, clause.key, _place(finding))
        groups.setdefault(key, []).append(finding)
    return groups.values()


def _place(finding: Finding) -> str:
    """Say what of its element a finding speaks of: which openings, which landing, which edge."""
    if finding.clause.measure in _BY_ELEMENT:
        return finding.element
    first = finding.note.partition(".")[0]
    return first if "pening" in first or finding.clause.measure in _BY_PLACE else ""


def _stairs_of(layout: Layout) -> dict[str, int]:
    """Give the place in the request of the stair that each element belongs to."""
    places = {stair.name: stair.index for stair in layout.deck.stairs}
    runs = {run.name: places[run.stair] for run in layout.runs if run.stair in places}
    sections = {s.name: runs[s.run] for s in layout.sections if s.run in runs}
    handrails = {h.name: places[h.stair] for h in layout.handrails}
    posts = {p.name: places[p.stair] for p in layout.posts if p.stair in places}
    return {**sections, **handrails, **posts, **places}


def _measured(group: Sequence[Finding], job: Job, stairs: dict[str, int]) -> Cause:
    elements = tuple(dict.fromkeys(finding.element for finding in group))
    concerned = frozenset(stairs[name] for name in elements if name in stairs)
    worst = min(group, key=lambda finding: finding.margin or 0)
    clause = worst.clause
    remedies = tuple(remedies_for(clause.measure, job, worst, concerned))
    strict = clause.compare in (Comparison.LESS_THAN, Comparison.MORE_THAN, Comparison.OUTSIDE)
    short_nm = abs(worst.margin or 0) + strict
    return Cause(clause, elements, _place(worst), "", False, frozenset(), short_nm, remedies)


def _structural(
    clause: Clause, checks: Sequence[Check], job: Job, layout: Layout
) -> Iterator[Cause]:
    surfaces, stairs = _surfaces(layout), _stairs_of(layout)
    over: dict[tuple[str, bool], list[Check]] = {}
    for check in checks:
        if check.outcome is CheckOutcome.OVER and decides(check, clause):
            over.setdefault((check.name, _on_rim(check, surfaces)), []).append(check)
    sound = frozenset(_key(c) for c in checks if c.clauses and c.outcome is not CheckOutcome.OVER)
    spread = any(limit.dimension is not Dimension.FORCE for limit in clause.limits)
    for (name, on_rim), found in over.items():
        elements = tuple(dict.fromkeys(element for check in found for element in check.worst))
        on_stair = all(element in stairs for element in elements)
        weak = Weakness(name, on_rim, on_stair, spread)
        remedies = tuple(remedies_for_check(weak, job))
        yield Cause(clause, elements, "", name, on_rim, sound, 0, remedies)


def _surfaces(layout: Layout) -> dict[str, str]:
    return {post.name: post.surface for post in layout.posts}


def _on_rim(check: Check, surfaces: dict[str, str]) -> bool:
    return any(surfaces.get(element) == FASCIA for element in check.elements)


def _key(check: Check) -> CheckKey:
    return check.name, check.load, check.clauses
