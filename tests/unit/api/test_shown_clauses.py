"""Clauses of an answer are written down once, and each stays its own."""

from dataclasses import replace

import orjson
import pytest

from service.api.presenters import findings as shown
from service.api.presenters.findings import present_clause, present_findings
from service.domain.compliance.findings import (
    Clause,
    Comparison,
    Dimension,
    Finding,
    Limit,
    Outcome,
)
from service.usecases.orders import Units

HEIGHT = Clause(
    key="guard.height",
    code="IRC",
    edition="2021",
    section="R312.1.2",
    rule="Guards are at least this high.",
    measure="guard_heights",
    compare=Comparison.AT_LEAST,
    limits=(Limit("36", "in", 914_400_000, Dimension.LENGTH),),
    source="made up for this test",
    from_memory=False,
)


def clauses_of(*clauses: Clause, units: Units = Units.IMPERIAL) -> list[object]:
    found = tuple(Finding(one, "S1", Outcome.MET, 914_400_000, 0) for one in clauses)
    return orjson.loads(orjson.dumps(present_findings(found, units)))["clauses"]


def test_a_clause_is_shown_in_full_first_and_again() -> None:
    for _ in range(2):
        assert clauses_of(HEIGHT) == [
            orjson.loads(orjson.dumps(present_clause(HEIGHT, Units.IMPERIAL)))
        ]


def test_each_choice_of_units_has_its_own_words() -> None:
    imperial, metric = (
        clauses_of(HEIGHT, units=units)[0]["limits"][0]["text"]
        for units in (Units.IMPERIAL, Units.METRIC)
    )
    assert (imperial, metric) == ("3' 0\"", "914.4 mm")


def test_an_amended_clause_is_not_shown_as_the_one_it_amends() -> None:
    clauses_of(HEIGHT)
    (told,) = clauses_of(replace(HEIGHT, amended="Amended by the town."))
    assert told["amended"] == "Amended by the town."


def test_clauses_made_for_one_request_after_another_stay_apart(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Objects that are gone give their ids to new ones."""
    monkeypatch.setattr(shown, "_MOST_SHOWN", 3)
    for number in range(50):
        rule = f"Rule {number}."
        assert [told["rule"] for told in clauses_of(replace(HEIGHT, rule=rule))] == [rule]
    assert len(shown._shown) <= 3
