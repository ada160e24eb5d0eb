"""How a check is put together, left open, or taken as the worst of several."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from service.domain.lengths import snap_mm
from service.domain.structure.checks import Check, CheckOutcome, Figure, Unit, outcome_of
from service.domain.structure.loads import Load
from service.domain.structure.materials import Cited
from service.domain.structure.members import Allowable, bending_allowable
from service.domain.structure.sections import AxisProperties
from service.domain.structure.specification import Member

STATICS = "Statics"
BEAM_TABLES = "Standard beam tables"
ALLOWABLE = (
    "Allowable: Aluminum Construction Manual 1.3.1, min(F_ty / 1.65, F_tu / 1.95) on the elastic "
    "section modulus"
)
WALLS = "Walls in compression: plate formula of the Aluminum Design Manual, from memory"
UNKNOWN_WALL = "No limit of the wall in compression could be checked: its flat width over thickness"


def figure(name: str, meaning: str, value: float, unit: Unit) -> Figure:
    """Give a named value."""
    return Figure(name, meaning, value, unit)


def open_check(
    name: str,
    elements: Iterable[str],
    missing: str,
    *,
    load: Load | None = None,
    assumptions: tuple[str, ...] = (),
) -> Check:
    """Give a check that could not be made for want of data."""
    return Check(
        name=name,
        load=load.words if load else "",
        elements=tuple(elements),
        worst=(),
        formula="",
        inputs=(),
        result=None,
        limit=None,
        utilisation=None,
        outcome=CheckOutcome.NOT_ASSESSED,
        source="",
        assumptions=assumptions,
        missing=missing,
        clauses=load.clauses if load else (),
    )


def missing_parts(parts: Mapping[str, object]) -> str:
    """Name what a request left out, by what it would have to say."""
    return "; ".join(words for words, part in parts.items() if part is None)


def check(
    name: str,
    elements: Iterable[str],
    formula: str,
    inputs: tuple[Figure, ...],
    result: Figure,
    limit: Figure,
    *,
    source: str,
    load: Load | None = None,
    more_is_better: bool = False,
    house: bool = False,
    assumptions: tuple[str, ...] = (),
    missing: str = "",
) -> Check:
    """Judge a result by its limit.

    Args:
        name: What is checked.
        elements: What the figures belong to.
        formula: Plain text.
        inputs: What went in.
        result: What came out.
        limit: What it is held against.
        source: Of formula and limit.
        load: What it is made for.
        more_is_better: Whether the result must reach the limit rather than stay under it.
        house: True for a check that decides no clause.
        assumptions: What was taken for granted.
        missing: A part of the check that could not be made; it stays open unless it is over.
    """
    over, under = (limit, result) if more_is_better else (result, limit)
    utilisation = _ratio(over, under)
    outcome = outcome_of(utilisation)
    if missing and outcome is CheckOutcome.OK:
        outcome = CheckOutcome.NOT_ASSESSED
    names = tuple(elements)
    return Check(
        name=name,
        load=load.words if load else "",
        elements=names,
        worst=names,
        formula=formula,
        inputs=inputs,
        result=result,
        limit=limit,
        utilisation=utilisation,
        outcome=outcome,
        source=source,
        assumptions=assumptions,
        missing=missing,
        clauses=load.clauses if load and not house else (),
    )


def _ratio(over: Figure, under: Figure) -> float:
    """Give one figure over the other; lengths on the nanometre grid, so that equal ones give 1."""
    if over.unit is Unit.LENGTH:
        above, below = snap_mm(over.value), snap_mm(under.value)
        return above / below if below > 0 else float("inf")
    return over.value / under.value if under.value > 0 else float("inf")


def worst_of(checks: Iterable[Check]) -> Check:
    """Give the worst of several checks of one kind, for the elements of all of them.

    One that could not be computed at all counts as worse than any that could.
    """
    found = tuple(checks)
    worst = max(found, key=lambda one: float("inf") if one.utilisation is None else one.utilisation)
    elements = dict.fromkeys(name for one in found for name in one.elements)
    return replace(worst, elements=tuple(elements))


def bending(
    name: str,
    elements: Iterable[str],
    member: Member,
    axis: AxisProperties,
    moment: Figure,
    *,
    formula: str,
    inputs: tuple[Figure, ...],
    load: Load,
    source: str,
    assumptions: tuple[str, ...] = (),
    house: bool = False,
) -> Check:
    """Hold the bending stress of a member against its allowable stress.

    Args:
        name: What is checked.
        elements: What the figures belong to.
        member: Section and alloy.
        axis: Which way it bends.
        moment: Moment, in the name the formula gives it.
        formula: How moment and stress are computed, plain text.
        inputs: What the moment came from.
        load: What it is made for.
        source: Of the moment.
        assumptions: What was taken for granted.
        house: True for a check that decides no clause.
    """
    alloy = member.alloy
    allowable = bending_allowable(alloy, axis.slenderness, welded=member.welded)
    if allowable is None:
        missing = f"No strength of {alloy.name} within 1 in of a weld is held."
        return open_check(name, elements, missing, load=load, assumptions=assumptions)
    stress = figure("f", "bending stress", moment.value / axis.s_mm3, Unit.STRESS)
    known = axis.slenderness is not None
    return check(
        name,
        elements,
        f"{formula}; {_allowable_formula(allowable)}",
        (*inputs, moment, *_member_figures(member, axis)),
        stress,
        figure("F", f"allowable stress, by {allowable.by}", allowable.stress_mpa, Unit.STRESS),
        source=f"{source}. {ALLOWABLE}" + (f". {WALLS}" if axis.slenderness else ""),
        load=load,
        house=house,
        assumptions=(*assumptions, *_member_notes(member)),
        missing="" if known else f"{UNKNOWN_WALL}, or the rule for a round wall, is not held.",
    )


def _allowable_formula(allowable: Allowable) -> str:
    if allowable.by == "wall buckling":
        return "F from the plate formula at b/t"
    return "F = F_ty / 1.65" if allowable.by == "yield" else "F = F_tu / 1.95"


def _member_figures(member: Member, axis: AxisProperties) -> tuple[Figure, ...]:
    alloy, welded = member.alloy, member.welded
    f_ty = alloy.welded_f_ty_mpa if welded else alloy.f_ty_mpa
    f_tu = alloy.welded_f_tu_mpa if welded else alloy.f_tu_mpa
    named = f"{alloy.name}{' by a weld' if welded else ''}"
    figures = [
        figure("S", f"section modulus, {member.section.name}", axis.s_mm3, Unit.MODULUS),
        figure("F_ty", f"yield strength, {named}", f_ty or 0.0, Unit.STRESS),
        figure("F_tu", f"ultimate strength, {named}", f_tu or 0.0, Unit.STRESS),
    ]
    if axis.slenderness:
        figures.append(figure("b/t", "flat width over thickness", axis.slenderness, Unit.NUMBER))
    return tuple(figures)


def _member_notes(member: Member) -> tuple[str, ...]:
    used = {"welded_f_ty", "welded_f_tu"} if member.welded else {"f_ty", "f_tu"}
    notes = recalled(member.alloy.name, member.alloy.cited, used)
    if member.welded:
        return (*notes, "The most bent section lies within 1 in of a weld; the weld is not checked")
    return (*notes, "No weld lies within 1 in of the most bent section")


# Names of values in the data as formulas print them.
_TOLD = {
    "e": "E",
    "f_ty": "F_ty",
    "f_tu": "F_tu",
    "welded_f_ty": "F_ty near a weld",
    "welded_f_tu": "F_tu near a weld",
    "f_c_perp": "f_c across the grain",
}


def recalled(name: str, cited: Cited, used: Iterable[str]) -> tuple[str, ...]:
    """Say which of the values used are from memory."""
    found = sorted(cited.from_memory & set(used))
    if not found:
        return ()
    told = ", ".join(_TOLD.get(one, one) for one in found)
    return (f"From memory, to be confirmed against print: {told} of {name}",)
