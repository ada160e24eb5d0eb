"""Advice on clauses not met, as plain dicts."""

from collections.abc import Iterable

from service.api.presenters.values import Json, length
from service.domain.compliance.findings import Clause
from service.quantities import length_text
from service.usecases.advice import Advice
from service.usecases.orders import Units

NONE_FOUND = "No single change that was tried would meet it."
NONE_CURES = "No single change that was tried would keep it within what is allowed."
CUT_SHORT = (
    "Not every change could be tried in one answer on a deck of this size: less may do, or "
    "something else. Ask for fewer codes, or for a part of the deck."
)


def present_advice(advice: Iterable[Advice], units: Units) -> list[Json]:
    """Give the smallest change for each cause of a clause not met."""
    return [_one(one, units) for one in advice]


def _one(advice: Advice, units: Units) -> Json:
    return {
        "clause": advice.clause.key,
        "section": _cited(advice.clause),
        "elements": list(advice.elements),
        "cause": advice.cause,
        "change": advice.change,
        "member": advice.member,
        "from": _value(advice, advice.before, advice.told[0], units),
        "to": _value(advice, advice.after, advice.told[1], units),
        "also_meets": [_cited(clause) for clause in advice.also_met],
        "breaks": [_cited(clause) for clause in advice.no_longer_met],
        "still_over": list(advice.still_over),
        "meets_together": advice.together,
        "every_change_tried": not advice.cut_short,
        "text": _text(advice, units),
    }


def _cited(clause: Clause) -> str:
    return f"{clause.code} {clause.edition} {clause.section} ({clause.key})"


def _value(advice: Advice, value: int, told: str, units: Units) -> Json | None:
    """Give a length, a count or a name; nothing where the change is a choice."""
    if not advice.change or (advice.counted and not advice.before and not told):
        return None
    if advice.counted:
        return {"text": told} if told else {"value": value, "unit": "1", "text": str(value)}
    given = length(value, units)
    return {**given, "text": told} if told else given


def _text(advice: Advice, units: Units) -> str:
    said = [_change(advice, units) if advice.change else NONE_CURES if advice.cause else NONE_FOUND]
    if advice.still_over:
        over = "; ".join(advice.still_over)
        said.append(f"This alone leaves over: {over}.")
    if advice.together is not None:
        verb = "meet" if advice.together else "do not meet"
        said.append(f"The changes named for this clause {verb} it together.")
    if advice.no_longer_met:
        broken = "; ".join(_cited(clause) for clause in advice.no_longer_met)
        said.append(f"This alone would no longer meet {broken}.")
    if advice.cut_short:
        said.append(CUT_SHORT)
    return " ".join(said)


def _change(advice: Advice, units: Units) -> str:
    before, after = advice.told
    if not before and not advice.counted:
        before, after = (length_text(one, units) for one in (advice.before, advice.after))
    elif not before and advice.before:
        before, after = str(advice.before), str(advice.after)
    return f"{advice.change}: {before} to {after}." if before else f"{advice.change}."
