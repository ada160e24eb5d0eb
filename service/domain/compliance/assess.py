"""Hold every clause against every element it covers, and say so when it covers none."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence

from service.domain.compliance.exact import (
    Measured,
    Span,
    holds,
    margin_of,
    round_from_limits,
)
from service.domain.compliance.findings import Clause, Finding, Outcome
from service.domain.compliance.measurement import Measure, Measurement
from service.domain.compliance.measures import MEASURES
from service.domain.layout.records import Layout

Needs = Mapping[str, Sequence[Clause]]

REQUIRED = "required"
NOT_REQUIRED = "not required"

_NOT_KNOWN = {
    "guard": "The fall height was not taped; a guard is taken as required here.",
    "handrail": "The count of risers is not known; a handrail is taken as required.",
    "riser_kind": "Whether the risers are open is not described; they are taken as solid.",
    "perimeter": "Depth and width of the rail do not settle its perimeter.",
    "shape": "Whether the rail is round is not described.",
}


def assess(
    clauses: Iterable[Clause], layout: Layout, measures: Mapping[str, Measure] = MEASURES
) -> tuple[Finding, ...]:
    """Compare every element of a layout with the clauses that bind it.

    Clauses that decide a need ("a guard is needed over this drop") are held to their own element
    and also settle which elements the clauses on required ones bind: those of their own edition,
    and those of overlays that decide no need of that kind themselves.

    Args:
        clauses: Clauses in force, of one or more codes; findings come in their order.
        layout: What is to be built.
        measures: Ways of measuring by name.

    Returns:
        At least one finding for each clause.
    """
    held = tuple(clauses)
    everywhere: dict[str, list[Clause]] = defaultdict(list)
    own: dict[tuple[str, str], dict[str, list[Clause]]] = defaultdict(lambda: defaultdict(list))
    for clause in held:
        if clause.decides:
            everywhere[clause.decides].append(clause)
            own[clause.code, clause.edition][clause.decides].append(clause)
    taken = {
        name: tuple(measures[name].take(layout)) for name in {clause.measure for clause in held}
    }
    return tuple(
        finding
        for clause in held
        for finding in _assess(
            clause, taken[clause.measure], {**everywhere, **own[clause.code, clause.edition]}
        )
    )


def _assess(clause: Clause, measurements: Sequence[Measurement], needs: Needs) -> Iterator[Finding]:
    covered = [one for one in measurements if _covers(clause, one, needs)]
    if not covered:
        note = "Nothing on this deck is covered by the clause."
        yield Finding(clause, "deck", Outcome.NOT_APPLICABLE, None, None, note)
    for measurement in covered:
        binds, notes = _binds(clause, measurement, needs)
        if binds is False:
            yield _finding(clause, measurement, Outcome.NOT_APPLICABLE, None, notes)
        elif clause.missing or binds is None:
            notes = (*notes, clause.missing)
            yield _finding(clause, measurement, Outcome.NOT_ASSESSED, None, notes)
        elif clause.decides:
            yield _need(clause, measurement)
        else:
            yield _compared(clause, measurement, notes)


def _compared(clause: Clause, measurement: Measurement, notes: Sequence[str]) -> Finding:
    """Judge one measured value by the limits of its clause."""
    value = measurement.value
    met = None if value is None else holds(clause.compare, value, clause.limits)
    if value is None or met is None:
        unsettled = "" if value is None else "Its bounds do not settle the value."
        return _finding(clause, measurement, Outcome.NOT_ASSESSED, None, [*notes, unsettled])
    outcome = Outcome.MET if met else Outcome.NOT_MET
    return _finding(clause, measurement, outcome, value, notes)


def _need(clause: Clause, measurement: Measurement) -> Finding:
    """Judge whether what is needed stands there."""
    value = measurement.value
    needed = None if value is None else holds(clause.compare, value, clause.limits)
    if needed is False:
        note = f"No {clause.decides} is required here."
        found = _finding(clause, measurement, Outcome.NOT_APPLICABLE, value, [note])
    elif measurement.present:
        found = _finding(clause, measurement, Outcome.MET, value, [])
    elif needed and measurement.present is False:
        note = f"A {clause.decides} is required and none stands here."
        found = _finding(clause, measurement, Outcome.NOT_MET, value, [note])
    else:
        found = _finding(clause, measurement, Outcome.NOT_ASSESSED, value, [])
    return found


def _covers(clause: Clause, measurement: Measurement, needs: Needs) -> bool:
    """Say whether a clause speaks of this kind of element at all, such as stairs or levels."""
    return all(
        name in needs or measurement.attributes.get(name) in (None, wanted)
        for name, wanted in clause.applies_when.items()
    )


def _binds(
    clause: Clause, measurement: Measurement, needs: Needs
) -> tuple[bool | None, tuple[str, ...]]:
    """Say whether a clause binds an element it covers, and what the reader should know.

    What was not given is taken as binding, and said. None stands for a number that is known
    between bounds only, and on which it depends whether this clause binds or another.
    """
    notes = []
    binds: bool | None = True
    for name, wanted in clause.applies_when.items():
        word = _word(name, measurement, needs)
        if word not in (None, wanted):
            return False, (f"Binds only where a {name} is {wanted}; here it is {word}.",)
        if word is None:
            plain = name.replace("_", " ")
            notes.append(_NOT_KNOWN.get(name, f"The {plain} is not described."))
    for condition in clause.conditions:
        value = measurement.attributes.get(condition.attribute)
        fits = None
        if value is not None and not isinstance(value, str):
            fits = holds(condition.compare, value, condition.limits)
        plain = condition.attribute.replace("_", " ")
        if fits is None:
            binds = None if isinstance(value, Span) else binds
            notes.append(_NOT_KNOWN.get(condition.attribute, f"The {plain} is not described."))
        elif not fits:
            limits = " to ".join(f"{limit.value} {limit.unit}" for limit in condition.limits)
            how = condition.compare.replace("_", " ")
            return False, (f"Binds only where the {plain} is {how} {limits}.",)
    return binds, tuple(notes)


def _word(name: str, measurement: Measurement, needs: Needs) -> str | None:
    """Give an attribute as a word; a need is settled by the clauses that decide it."""
    if name in needs:
        answers = {_is_needed(clause, measurement) for clause in needs[name]}
        if True in answers:
            return REQUIRED
        return None if None in answers else NOT_REQUIRED
    value = measurement.attributes.get(name)
    return value if isinstance(value, str) else None


def _is_needed(clause: Clause, measurement: Measurement) -> bool | None:
    value = measurement.attributes.get(clause.decides_by)
    if value is None or isinstance(value, str):
        return None
    return holds(clause.compare, value, clause.limits)


def _finding(
    clause: Clause,
    measurement: Measurement,
    outcome: Outcome,
    value: Measured | None,
    notes: Iterable[str],
) -> Finding:
    measured = None if value is None else _shown(clause, value)
    judged = outcome in (Outcome.MET, Outcome.NOT_MET) and not clause.decides
    margin = (
        margin_of(clause.compare, measured, clause.limits)
        if judged and measured is not None
        else None
    )
    return Finding(
        clause, measurement.element, outcome, measured, margin, _join([measurement.note, *notes])
    )


def _shown(clause: Clause, value: Measured) -> int:
    """Give the whole number to print: of a span, the bound with the least margin that is sure."""
    if not isinstance(value, Span):
        return round_from_limits(value, clause.limits)
    bounds = [value.low] if value.high is None else [value.low, value.high]
    whole = [round_from_limits(bound, clause.limits) for bound in bounds]
    margins = [margin_of(clause.compare, one, clause.limits) or 0 for one in whole]
    met = holds(clause.compare, value, clause.limits)
    worst = min(margins) if met else max(margins)
    return whole[margins.index(worst)]


def _join(notes: Iterable[str]) -> str:
    return " ".join(note for note in notes if note)
