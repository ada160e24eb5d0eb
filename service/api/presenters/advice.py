"""Advice on clauses not met, as plain dicts."""

from collections.abc import Iterable

from service.api.presenters.values import Json, length
from service.domain.compliance.findings import Clause
from service.quantities import length_text
from service.usecases.advise import Advice
from service.usecases.orders import Units

NONE_FOUND = "No single change that was tried would meet it."


def present_advice(advice: Iterable[Advice], units: Units) -> list[Json]:
    """Give the smallest change for each clause not met."""
    return [_one(one, units) for one in advice]


def _one(advice: Advice, units: Units) -> Json:
    return {
        "clause": advice.clause.key,
        "section": _cited(advice.clause),
        "elements": list(advice.elements),
        "change": advice.change,
        "member": advice.member,
        "from": _value(advice, advice.before, units),
        "to": _value(advice, advice.after, units),
        "also_meets": [_cited(clause) for clause in advice.also_met],
        "breaks": [_cited(clause) for clause in advice.no_longer_met],
        "text": _text(advice, units),
    }


def _cited(clause: Clause) -> str:
    return f"{clause.code} {clause.edition} {clause.section} ({clause.key})"


def _value(advice: Advice, value: int, units: Units) -> Json | None:
    """Give a length or a count; nothing where the change is a choice."""
    if not advice.change or (advice.counted and advice.before == 0):
        return None
    if advice.counted:
        return {"value": value, "unit": "1", "text": str(value)}
    return length(value, units)


def _text(advice: Advice, units: Units) -> str:
    if not advice.change:
        return NONE_FOUND
    if advice.counted:
        moved = f": {advice.before} to {advice.after}" if advice.before else ""
    else:
        before, after = length_text(advice.before, units), length_text(advice.after, units)
        moved = f": {before} to {after}"
    said = f"{advice.change}{moved}."
    if advice.no_longer_met:
        broken = "; ".join(_cited(clause) for clause in advice.no_longer_met)
        said += f" This alone would no longer meet {broken}."
    return said
