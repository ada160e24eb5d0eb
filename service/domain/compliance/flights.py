"""The flights of a deck's stairs, each as laid out and with its part of what was taped."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from service.domain.compliance.site import StairFacts
from service.domain.layout.deck import Side, Stair
from service.domain.layout.records import Run, StairPlan
from service.domain.layout.stair_records import Handrail

NOTHING_TAPED = StairFacts()


def ratio(numerator: int, denominator: int) -> int | Fraction:
    """Divide exactly, giving a plain integer where it comes out even."""
    whole, rest = divmod(numerator, denominator)
    return Fraction(numerator, denominator) if rest else whole


@dataclass(frozen=True, slots=True)
class Flight:
    """One flight as taped and as laid out.

    Attributes:
        unit_rise_nm: Exact riser of the flight as laid out. [nm]
        unit_run_nm: Exact run of one tread, nosing to nosing. [nm]
        drop_nm: Drop beside the highest tread, the ground there being level with the foot: the
            walking surface at the head of the flight belongs to its level. [nm]
        runs: Guard along its sides.
        bracketed: Handrails on brackets along it.
        facts: What was taped singly, of this flight alone.
    """

    stair: Stair
    plan: StairPlan
    unit_rise_nm: int | Fraction
    unit_run_nm: int | Fraction
    drop_nm: int | Fraction
    runs: Mapping[Side, Run]
    bracketed: tuple[Handrail, ...]
    facts: StairFacts

    @property
    def name(self) -> str:
        """Name of the flight, which is its stair's where it has one flight."""
        return self.stair.name

    @property
    def risers(self) -> int:
        """Count of risers."""
        return self.stair.risers

    @property
    def railed(self) -> frozenset[Side]:
        """Sides with something for a hand: handrails on brackets, else the guard's top rails."""
        if self.bracketed:
            return frozenset(handrail.side for handrail in self.bracketed)
        return frozenset(self.runs)


def facts_of_flights(
    stairs: Iterable[Stair], said: Mapping[int, StairFacts]
) -> Iterator[tuple[str, StairFacts]]:
    """Give each flight its part of its stair's tapes; flights stand from the top down.

    A flight has as many nosings as risers, its head's among them, and one tread less.
    """
    risers_above: Counter[int] = Counter()
    flights_above: Counter[int] = Counter()
    for stair in stairs:
        facts = said.get(stair.index, NOTHING_TAPED)
        start, end = risers_above[stair.index], risers_above[stair.index] + stair.risers
        done = flights_above[stair.index]
        risers_above[stair.index] = end
        flights_above[stair.index] += 1
        yield (
            stair.name,
            replace(
                facts,
                risers_nm=facts.risers_nm[start:end],
                treads_nm=facts.treads_nm[start - done : end - done - 1],
                nosings_nm=facts.nosings_nm[start:end],
            ),
        )
