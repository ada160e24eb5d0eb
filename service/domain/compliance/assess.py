"""Hold every clause against every element it covers, and say so when it covers none."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from service.domain.compliance.exact import (
    Measured,
    Span,
    holds,
    margin_of,
    round_from_limits,
)
from service.domain.compliance.findings import Clause, Finding, Limit, Outcome
from service.domain.compliance.inspection import Inspection
from service.domain.compliance.measurement import Measure, Measurement
from service.domain.compliance.measures import MEASURES
from service.domain.compliance.needs import DROP, Needs, needs_by_edition, reaches_by_edition
from service.domain.compliance.site import NOTHING_SAID, Site, site_attributes
from service.domain.layout.records import Layout

_NOT_KNOWN = {
    "guard": "The fall beside it was not taped far enough; a guard is taken as required here.",
    "handrail": "The count of risers is not known; a handrail is taken as required.",
    "riser_kind": "Whether the risers are open is not described.",
    "perimeter": "Depth and width of the rail do not settle its perimeter.",
    "between": "What fills the leaf is not described.",
    "shape": "Whether the rail is round is not described.",
    "use": "What the deck belongs to is not said; the clause is taken to bind.",
    "dwelling": "Whether the deck belongs to a dwelling is not said; the clause is taken to bind.",
    "one_or_two_family": "What the deck belongs to is not said; the clause is taken to bind.",
    "private": "Whether it serves one household is not said; the clause is taken to bind.",
    "pool_barrier": "Whether the guard is a pool's barrier is not said; it is taken as one.",
}
_BEYOND = "It lies beyond the reach and decides nothing; the greatest fall within it does."
# Of several values of one element, the finding with the earliest of these outcomes is shown.
_WORST_FIRST = (Outcome.NOT_MET, Outcome.NOT_ASSESSED, Outcome.MET, Outcome.NOT_APPLICABLE)
# Looked up once: by name each member takes as long as a comparison (Python 3.11).
_MET, _NOT_MET, _NOT_ASSESSED = Outcome.MET, Outcome.NOT_MET, Outcome.NOT_ASSESSED
_JUDGED = frozenset({_MET, _NOT_MET})


@dataclass(frozen=True, slots=True)
class _Frame:
    """What a clause's words are matched against beside the element itself."""

    needs: Needs
    site: Mapping[str, str | None]


class _Seen:
    """What is measured of a layout by one reach, each measure taken once."""

    def __init__(self, inspection: Inspection) -> None:
        self._inspection = inspection
        self._taken: dict[str, Sequence[Measurement]] = {}

    def measured(self, name: str, measure: Measure) -> Sequence[Measurement]:
        if name not in self._taken:
            self._taken[name] = tuple(measure.take(self._inspection))
        return self._taken[name]


def assess(
    clauses: Iterable[Clause],
    layout: Layout,
    measures: Mapping[str, Measure] = MEASURES,
    site: Site = NOTHING_SAID,
) -> tuple[Finding, ...]:
    """Compare every element of a layout with the clauses that bind it.

    Clauses that decide a need ("a guard is needed over this drop") are held to their own element
    and also settle which elements the clauses on required ones bind: those of their own edition,
    and those of overlays that decide no need of that kind themselves.

    Args:
        clauses: Clauses in force, of one or more codes; findings come in their order.
        layout: What is to be built.
        measures: Ways of measuring by name.
        site: What else was said of the job.

    Returns:
        At least one finding for each clause.
    """
    held = tuple(clauses)
    said = site_attributes(site)
    deciding = [clause for clause in held if clause.decides and not _elsewhere(clause, said)]
    needs, reaches = needs_by_edition(held, deciding), reaches_by_edition(held, deciding)
    seen = {reach: _Seen(Inspection(layout, site, reach)) for reach in set(reaches.values())}
    views = {edition: seen[reach] for edition, reach in reaches.items()}
    frames = {edition: _Frame(needs[edition], said) for edition in views}
    found: list[Finding] = []
    for clause in held:
        edition, measure = (clause.code, clause.edition), measures[clause.measure]
        measurements = views[edition].measured(clause.measure, measure)
        judged = _assess(clause, measurements, frames[edition])
        found.extend(_worst_of_each(judged) if measure.worst_of else judged)
    return tuple(found)


def _assess(
    clause: Clause, measurements: Sequence[Measurement], frame: _Frame
) -> Iterator[Finding]:
    elsewhere = _elsewhere(clause, frame.site)
    covered = () if elsewhere else _covered(clause, measurements, frame)
    if not covered:
        note = elsewhere or "Nothing on this deck is covered by the clause."
        yield Finding(clause, "deck", Outcome.NOT_APPLICABLE, None, None, note)
    for measurement in covered:
        binds, notes = _binds(clause, measurement, frame)
        if binds is False:
            yield _finding(clause, measurement, Outcome.NOT_APPLICABLE, None, notes)
        elif clause.missing or binds is None:
            notes = (*notes, clause.missing)
            yield _finding(clause, measurement, _NOT_ASSESSED, None, notes)
        elif clause.decides:
            yield _need(clause, measurement)
        else:
            yield _compared(clause, measurement, notes)


def _worst_of_each(findings: Iterable[Finding]) -> list[Finding]:
    """Keep one finding of each element: the one furthest from being met."""
    kept: dict[str, Finding] = {}
    for finding in findings:
        known = kept.get(finding.element)
        if known is None or _rank(finding) < _rank(known):
            kept[finding.element] = finding
    return list(kept.values())


def _rank(finding: Finding) -> tuple[int, int]:
    return _WORST_FIRST.index(finding.outcome), finding.margin or 0


def _compared(clause: Clause, measurement: Measurement, notes: Sequence[str]) -> Finding:
    """Judge one measured value by the limits of its clause."""
    value, limits = measurement.value, _limits(clause, measurement)
    met = None if value is None else holds(clause.compare, value, limits)
    if value is None or met is None:
        unsettled = "" if value is None else "Its bounds do not settle the value."
        return _finding(clause, measurement, _NOT_ASSESSED, None, [*notes, unsettled])
    outcome = _MET if met else _NOT_MET
    return _finding(clause, measurement, outcome, value, notes, limits)


def _limits(clause: Clause, measurement: Measurement) -> tuple[Limit, ...]:
    """Give the limits an element is held to: some give way to a lesser dimension of its own."""
    for limit in clause.limits:
        if limit.or_less:
            break
    else:
        return clause.limits
    held = []
    for limit in clause.limits:
        own = measurement.attributes.get(limit.or_less)
        base = min(limit.base, own) if isinstance(own, int) else limit.base
        held.append(replace(limit, base=base))
    return tuple(held)


def _need(clause: Clause, measurement: Measurement) -> Finding:
    """Judge whether what is needed stands there."""
    value = measurement.value
    needed = None if value is None else holds(clause.compare, value, clause.limits)
    if needed is False:
        note = _BEYOND if clause.decides == DROP else f"No {clause.decides} is required here."
        found = _finding(clause, measurement, Outcome.NOT_APPLICABLE, value, [note])
    elif measurement.present:
        found = _finding(clause, measurement, Outcome.MET, value, [])
    elif needed and measurement.present is False:
        note = f"A {clause.decides} is required and none stands here."
        found = _finding(clause, measurement, Outcome.NOT_MET, value, [note])
    else:
        found = _finding(clause, measurement, Outcome.NOT_ASSESSED, value, [])
    return found


def _elsewhere(clause: Clause, site: Mapping[str, str | None]) -> str:
    """Say why a clause has nothing to do with this whole job, "" if it may."""
    if clause.deleted:
        return clause.amended
    for name, wanted in clause.applies_when.items():
        word = site.get(name)
        if word is not None and word != wanted:
            return f"Binds only where {name.replace('_', ' ')} is {wanted}; here it is {word}."
    return ""


def _covered(
    clause: Clause, measurements: Sequence[Measurement], frame: _Frame
) -> Sequence[Measurement]:
    """Give those of the kind of element a clause speaks of at all, such as stairs or levels."""
    kinds = [named for named in clause.applies_when.items() if named[0] not in frame.needs]
    for name, wanted in kinds:
        measurements = [one for one in measurements if one.attributes.get(name) in (None, wanted)]
    return measurements


def _binds(
    clause: Clause, measurement: Measurement, frame: _Frame
) -> tuple[bool | None, tuple[str, ...]]:
    """Say whether a clause binds an element it covers, and what the reader should know.

    What was not given is taken as binding, and said. None stands for a number that is known
    between bounds only, and on which it depends whether this clause binds or another.
    """
    if not clause.applies_when and not clause.conditions:
        return True, ()
    notes = []
    binds: bool | None = True
    for name, wanted in clause.applies_when.items():
        word = _word(name, measurement, frame)
        if word is None:
            notes.append(_not_known(name))
        elif word != wanted:
            return False, (f"Binds only where a {name} is {wanted}; here it is {word}.",)
    for condition in clause.conditions:
        value = measurement.attributes.get(condition.attribute)
        fits = None
        if value is not None and not isinstance(value, str):
            fits = holds(condition.compare, value, condition.limits)
        if fits is None:
            binds = None if isinstance(value, Span) else binds
            notes.append(_not_known(condition.attribute))
        elif not fits:
            plain = condition.attribute.replace("_", " ")
            limits = " to ".join(f"{limit.value} {limit.unit}" for limit in condition.limits)
            how = condition.compare.replace("_", " ")
            return False, (f"Binds only where the {plain} is {how} {limits}.",)
    return binds, tuple(notes)


def _not_known(name: str) -> str:
    return _NOT_KNOWN.get(name) or f"The {name.replace('_', ' ')} is not described."


def _word(name: str, measurement: Measurement, frame: _Frame) -> str | None:
    """Give an attribute as a word; a need is settled by the clauses that decide it."""
    if name in frame.needs:
        return frame.needs.word(name, measurement)
    value = measurement.attributes.get(name)
    return value if isinstance(value, str) else frame.site.get(name)


def _finding(
    clause: Clause,
    measurement: Measurement,
    outcome: Outcome,
    value: Measured | None,
    notes: Iterable[str],
    limits: tuple[Limit, ...] = (),
) -> Finding:
    own = limits or clause.limits
    measured = None if value is None else _shown(clause, value, own)
    margin = None
    if measured is not None and not clause.decides and outcome in _JUDGED:
        margin = margin_of(clause.compare, measured, own)
    note = _join([measurement.note, *notes]) if notes else measurement.note
    held_to = () if own is clause.limits else own
    return Finding(clause, measurement.element, outcome, measured, margin, note, held_to)


def _shown(clause: Clause, value: Measured, limits: tuple[Limit, ...]) -> int:
    """Give the whole number to print: of a span, the bound with the least margin that is sure."""
    if not isinstance(value, Span):
        return round_from_limits(value, limits)
    bounds = [value.low] if value.high is None else [value.low, value.high]
    whole = [round_from_limits(bound, limits) for bound in bounds]
    margins = [margin_of(clause.compare, one, limits) or 0 for one in whole]
    met = holds(clause.compare, value, limits)
    worst = min(margins) if met else max(margins)
    return whole[margins.index(worst)]


def _join(notes: Iterable[str]) -> str:
    return " ".join(note for note in notes if note)
