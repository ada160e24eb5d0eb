"""Changes of single clauses: how a place's or a caller's amendment reads beside the model code."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from service.adapters.code_clauses import read_limits
from service.adapters.data_files import (
    CodeFileError,
    Raw,
)
from service.domain.compliance.findings import Amendment, Clause
from service.domain.errors import InvalidAmendment

INLINE = "the request"
_MORE = {
    "applies_when": "where it binds",
    "rule": "its wording",
    "measure": "how it is measured",
    "compare": "how it is compared",
    "section": "its section",
    "exceptions": "its exceptions",
}


def told(who: str, old: Raw, change: Raw) -> str:
    """Say who changed what, in a sentence.

    Example:
        >>> limit = {"limit": {"value": "36", "unit": "in"}}
        >>> told("Nowhere", limit, {"limit": {"value": "42", "unit": "in"}})
        'Amended by Nowhere: 42 in in place of 36 in.'
    """
    if change.get("deleted"):
        return f"Struck out by {who}."
    if not old:
        return f"Added by {who}."
    said = []
    if change.keys() & {"limit", "limits"}:
        said.append(f"{_limits_text(change)} in place of {_limits_text(old)}")
    said.extend(f"{words} changed" for key, words in _MORE.items() if key in change)
    return f"Amended by {who}: {', '.join(said)}." if said else f"Amended by {who}."


def _limits_text(raw: Raw) -> str:
    limits = [raw["limit"]] if "limit" in raw else raw.get("limits", [])
    return " to ".join(f"{one['value']} {one['unit']}" for one in limits) or "no limit"


def amend(clauses: Sequence[Clause], amendments: Iterable[Amendment]) -> tuple[Clause, ...]:
    """Apply a caller's amendments to the clauses asked for.

    Raises:
        InvalidAmendment: An amendment names no clause asked for, or its limits cannot take the
            place of the clause's.
    """
    amended = list(clauses)
    for index, amendment in enumerate(amendments):
        where = ("code", "amendments", index)
        places = [place for place, clause in enumerate(amended) if _means(amendment, clause)]
        if not places:
            raise InvalidAmendment(
                f"No clause asked for has the key {amendment.clause}.",
                where=(*where, "clause"),
                advice="See GET /v1/codes/{code}/{edition} for the keys of a code.",
            )
        for place in places:
            try:
                amended[place] = _amended(amended[place], amendment)
            except CodeFileError as reason:
                raise InvalidAmendment(
                    f"The limits do not fit the clause: {reason}.",
                    where=where,
                    advice="Give as many limits as the clause has, of the same kind, in order.",
                ) from reason
    return tuple(amended)


def _means(amendment: Amendment, clause: Clause) -> bool:
    return amendment.clause == clause.key and amendment.code.upper() in ("", clause.code)


def _amended(clause: Clause, amendment: Amendment) -> Clause:
    new: Mapping[str, object] = {"deleted": True}
    limits = clause.limits
    if not amendment.deleted:
        raw = [{"value": value, "unit": unit} for value, unit in amendment.limits]
        limits = read_limits({"limits": raw}, clause.compare, clause.key)
        new = {"limits": raw}
        kinds = {limit.dimension for limit in clause.limits}
        if {limit.dimension for limit in limits} != kinds:
            raise CodeFileError(f"{clause.key} limits something else than these")
    old = {"limits": [{"value": limit.value, "unit": limit.unit} for limit in clause.limits]}
    earlier = f"{clause.amended} " if clause.amended else ""
    who = amendment.by or INLINE
    return replace(
        clause,
        limits=limits,
        deleted=amendment.deleted,
        amended=f"{earlier}{told(who, old, new)} Source given: {amendment.source}",
    )
