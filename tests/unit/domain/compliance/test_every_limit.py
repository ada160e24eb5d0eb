"""Every clause of every file, held just below, at and just above each of its limits.

What must come out follows from the comparison alone, written out here as a table: strict limits
fail at the limit itself, others do not, and the ends of a band belong to it.
"""

from collections.abc import Iterator
from typing import Any

import pytest

from service.domain.compliance.assess import assess
from service.domain.compliance.findings import Clause, Comparison, Limit, Outcome
from service.domain.compliance.measures import MEASURES
from service.domain.compliance.needs import DROP
from tests.unit.domain.compliance.builders import LIBRARY, layout
from tests.unit.domain.compliance.rigs import GREATEST, RIGS, SMALLEST_STEP, rigged

MET, NOT_MET = Outcome.MET, Outcome.NOT_MET
NEEDED_AND_ABSENT, NOT_NEEDED = Outcome.NOT_MET, Outcome.NOT_APPLICABLE
# Outcome below, at and above a limit; windows and bands by which of their limits it is.
EXPECTED = {
    (Comparison.AT_LEAST, 0): (NOT_MET, MET, MET),
    (Comparison.AT_MOST, 0): (MET, MET, NOT_MET),
    (Comparison.MORE_THAN, 0): (NOT_MET, NOT_MET, MET),
    (Comparison.LESS_THAN, 0): (MET, NOT_MET, NOT_MET),
    (Comparison.WITHIN, 0): (NOT_MET, MET, MET),
    (Comparison.WITHIN, 1): (MET, MET, NOT_MET),
    (Comparison.OUTSIDE, 0): (MET, NOT_MET, NOT_MET),
    (Comparison.OUTSIDE, 1): (NOT_MET, NOT_MET, MET),
}
WHEN_NEEDED = {
    Comparison.MORE_THAN: (NOT_NEEDED, NOT_NEEDED, NEEDED_AND_ABSENT),
    Comparison.AT_LEAST: (NOT_NEEDED, NEEDED_AND_ABSENT, NEEDED_AND_ABSENT),
}
WITHIN_REACH = (MET, MET, NOT_NEEDED)  # a fall taped beyond the reach decides nothing
LEAST = {"handrail_needs": 1}  # no flight has fewer risers
CLAUSES = [clause for key in LIBRARY.editions() for clause in LIBRARY.clauses(*key)]
DECIDED = [clause for clause in CLAUSES if not clause.missing]


def _rows() -> Iterator[Any]:
    for clause in DECIDED:
        name = f"{clause.code} {clause.edition} {clause.key}"
        if clause.compare is Comparison.REQUIRED:
            yield pytest.param(clause, 0, NOT_MET, id=f"{name}: absent")
            yield pytest.param(clause, 1, MET, id=f"{name}: there")
        for index, limit in enumerate(clause.limits):
            if clause.decides == DROP:
                outcomes = WITHIN_REACH
            elif clause.decides:
                outcomes = WHEN_NEEDED[clause.compare]
            else:
                outcomes = EXPECTED[clause.compare, index]
            if index == 1 and _binds_up_to(clause, limit):
                outcomes = (*outcomes[:2], NOT_NEEDED)
            step = SMALLEST_STEP.get(clause.measure, 1)
            for where, offset, outcome in zip(
                ("below", "at", "above"), (-step, 0, step), outcomes, strict=True
            ):
                value = limit.base + offset
                if LEAST.get(clause.measure, 0) <= value <= GREATEST.get(clause.measure, value):
                    sign = f"{name}: {where} {limit.value} {limit.unit}"
                    yield pytest.param(clause, value, outcome, id=sign)


def _binds_up_to(clause: Clause, limit: Limit) -> bool:
    """Say whether beyond this limit another clause takes over, as that on finger recesses."""
    return clause.measure == "grip_perimeters" and any(
        condition.limits[0].base == limit.base for condition in clause.conditions
    )


ROWS = list(_rows())


@pytest.mark.parametrize(("clause", "value", "outcome"), ROWS)
def test_clause_at_its_limits(clause: Clause, value: int, outcome: Outcome) -> None:
    deck = rigged(clause, value)
    clauses = LIBRARY.clauses(clause.code, clause.edition)
    bound = [c for c in clauses if c.decides or c.key == clause.key]
    found = assess(bound, layout(**deck.built), site=deck.site)
    outcomes = {f.outcome for f in found if f.clause.key == clause.key}
    worst_first = (Outcome.NOT_MET, Outcome.NOT_ASSESSED, Outcome.MET, Outcome.NOT_APPLICABLE)
    assert next(worst for worst in worst_first if worst in outcomes) is outcome


def test_every_measure_with_values_has_a_rig() -> None:
    valued = {name for name, measure in MEASURES.items() if measure.dimensioned}
    assert set(RIGS) == valued


@pytest.mark.parametrize("edition", LIBRARY.editions(), ids=" ".join)
def test_file_has_a_row_for_each_clause_or_says_what_is_missing(edition: tuple[str, str]) -> None:
    """Met and not met have both been seen of every clause that submitted data can decide."""
    rows = [row.values for row in ROWS if row.values[0] in LIBRARY.clauses(*edition)]
    for clause in LIBRARY.clauses(*edition):
        outcomes = {outcome for held, _value, outcome in rows if held is clause}
        if clause.missing:
            assert not MEASURES[clause.measure].dimensioned, clause.key
        elif clause.decides == DROP:
            assert outcomes == {MET, NOT_NEEDED}, clause.key
        elif clause.decides:
            always = clause.limits[0].base == LEAST.get(clause.measure)
            expected = {NEEDED_AND_ABSENT} if always else {NOT_NEEDED, NEEDED_AND_ABSENT}
            assert outcomes == expected, clause.key
        else:
            assert outcomes >= {MET, NOT_MET}, clause.key
