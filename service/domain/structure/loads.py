"""Loads of the code in force, and what of them reaches a post."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum

from service.domain.structure.checks import Unit

PRESSURE_MPA = 1e-6  # MPa in one Pa


class LoadPlace(StrEnum):
    """Where a load acts."""

    TOP = "top"
    DOWNWARD = "downward"  # on the top, as the code limits it
    HANDRAIL = "handrail"
    INFILL = "infill"


_WHERE = {
    LoadPlace.TOP: "at the top",
    LoadPlace.DOWNWARD: "downward on the top",
    LoadPlace.HANDRAIL: "on the handrail",
    LoadPlace.INFILL: "on the infill",
}


@dataclass(frozen=True, slots=True)
class Load:
    """One load.

    Attributes:
        kind: FORCE in newtons, LINE_LOAD in newtons per millimetre, or PRESSURE in pascals.
        text: As the code prints it, such as "200 lb".
        clauses: Those that ask for it, such as "IRC 2021 load.guard.top"; empty for wind, which
            no clause held asks for.
        patch_mm: Side of the square a force on infill is spread over. [mm]
    """

    place: LoadPlace
    kind: Unit
    value: float
    text: str
    clauses: tuple[str, ...] = ()
    patch_mm: float = 304.8

    @property
    def words(self) -> str:
        """The load in words, such as "200 lb at the top (IRC 2021 load.guard.top)"."""
        if not self.clauses:
            return self.text
        return f"{self.text} {_WHERE[self.place]} ({', '.join(self.clauses)})"

    def on_post(
        self, tributary_mm: float, height_mm: float, arm_mm: float, reaction: float = 1.0
    ) -> tuple[float, float]:
        """Give the force on a post and its arm about what holds the post. [N], [mm]

        Args:
            tributary_mm: Length of guard that leans on the post. [mm]
            height_mm: Of the top of the rail above the surface. [mm]
            arm_mm: From the top of the rail down to what holds the post. [mm]
            reaction: What a continuous rail sends to a middle post over the plain half spans.
        """
        if self.kind is Unit.FORCE:
            return self.value, arm_mm
        if self.kind is Unit.LINE_LOAD:
            return self.value * tributary_mm * reaction, arm_mm
        face = tributary_mm * reaction * height_mm
        return self.value * PRESSURE_MPA * face, arm_mm - height_mm / 2


def at_top(loads: Iterable[Load], *, stair: bool) -> tuple[Load, ...]:
    """Give the loads that push at the top of a guard, equal ones as one.

    On a stair the top rail is taken as the handrail, so that loads on handrails count too.
    """
    merged: dict[tuple[Unit, float], Load] = {}
    for load in loads:
        if load.place not in (LoadPlace.TOP, *((LoadPlace.HANDRAIL,) if stair else ())):
            continue
        key = (load.kind, load.value)
        before = merged.get(key)
        clauses = (*before.clauses, *load.clauses) if before else load.clauses
        merged[key] = replace(before or load, clauses=clauses)
    return tuple(merged.values())
