"""One layout as clauses see it: which run, which flight, how far one can fall; each found once."""

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from service.domain.compliance.exact import Exact, Measured
from service.domain.compliance.site import NOTHING_SAID, Site, StairFacts
from service.domain.layout.deck import Edge, EdgeKind, Level, Side, Stair
from service.domain.layout.records import Layout, Post, Run, Section, StairPlan
from service.domain.layout.stair_records import Handrail
from service.domain.lengths import mm_of, snap_mm

Attribute = str | Measured | None
NOTHING_TAPED = StairFacts()


def edge_name(level: str, number: int) -> str:
    """Name an edge as the refusals of the layout do."""
    return f"level {level}, edge {number}"


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


@dataclass(frozen=True)
class Inspection:
    """A layout, what was said beside it, and what measures look up in both again and again."""

    layout: Layout
    site: Site = NOTHING_SAID

    @cached_property
    def posts(self) -> dict[str, Post]:
        """Posts by name."""
        return {post.name: post for post in self.layout.posts}

    @cached_property
    def runs(self) -> dict[str, Run]:
        """Runs by name."""
        return {run.name: run for run in self.layout.runs}

    @cached_property
    def level_sections(self) -> tuple[tuple[Section, Run], ...]:
        """Sections on the level, each with its run."""
        return tuple(self._sections(raked=False))

    @cached_property
    def stair_sections(self) -> tuple[tuple[Section, Run, Flight], ...]:
        """Sections on stairs, each with its run and flight."""
        return tuple(
            (section, run, self.flights[run.stair]) for section, run in self._sections(raked=True)
        )

    def _sections(self, *, raked: bool) -> Iterator[tuple[Section, Run]]:
        for section in self.layout.sections:
            run = self.runs[section.run]
            if bool(run.stair) is raked:
                yield section, run

    @cached_property
    def open_edges(self) -> tuple[tuple[Level, Edge, str], ...]:
        """Edges a person could fall from, those with an existing guard among them, and names.

        The chords of an arc are one edge.
        """
        found: dict[str, tuple[Level, Edge, str]] = {}
        for level in self.layout.deck.levels:
            for edge in level.edges:
                name = edge_name(level.name, edge.number)
                if edge.kind is not EdgeKind.WALL:
                    found.setdefault(name, (level, edge, name))
        return tuple(found.values())

    @cached_property
    def flights(self) -> dict[str, Flight]:
        """Flights by name, in the layout's order."""
        taped = {stair.name: stair for stair in self.layout.deck.stairs}
        facts = dict(_facts_of_flights(self.layout.deck.stairs, self.site.stairs))
        found = {}
        for plan in self.layout.stairs:
            stair = taped[plan.name]
            rise = ratio(plan.rake.rise_nm, stair.risers)
            found[plan.name] = Flight(
                stair=stair,
                plan=plan,
                unit_rise_nm=rise,
                unit_run_nm=ratio(plan.rake.run_nm, stair.risers),
                drop_nm=plan.rake.rise_nm - rise,
                runs={
                    run.side: run
                    for run in self.layout.runs
                    if run.stair == plan.name and run.side is not None
                },
                bracketed=tuple(h for h in self.layout.handrails if h.stair == plan.name),
                facts=facts[plan.name],
            )
        return found

    @cached_property
    def flight_attributes(self) -> dict[str, Mapping[str, Attribute]]:
        """What each flight is like, for the conditions of clauses on stairs."""
        return {
            name: {
                "rails": str(len(flight.railed)),
                "risers": flight.risers,
                "total_rise": flight.plan.rake.rise_nm,
                "tread": flight.unit_run_nm,
                "riser_kind": flight.facts.riser_kind,
                "width": flight.stair.width_nm,
            }
            for name, flight in self.flights.items()
        }

    def landing_above(self, flight: Flight) -> int | None:
        """Give the depth of the landing at a flight's head, as taped or as laid out. [nm]"""
        if self._number(flight) == 0:
            return flight.facts.top_landing_nm
        return self._landings[flight.stair.index][self._number(flight) - 1]

    def landing_below(self, flight: Flight) -> int | None:
        """Give the depth of the landing at a flight's foot, as taped or as laid out. [nm]"""
        number, landings = self._number(flight), self._landings.get(flight.stair.index, [])
        return landings[number] if number < len(landings) else flight.facts.bottom_landing_nm

    def _number(self, flight: Flight) -> int:
        same = [s.name for s in self.layout.deck.stairs if s.index == flight.stair.index]
        return same.index(flight.name)

    @cached_property
    def _landings(self) -> dict[int, list[int]]:
        """Lengths of the landings of each stair from the top: the side along the upper flight."""
        found: dict[int, list[int]] = {}
        for level in self.layout.deck.levels:
            if level.landing_of is not None:
                (ax, ay), (bx, by) = level.outline[:2]
                length = snap_mm(math.hypot(mm_of(bx - ax), mm_of(by - ay)))
                found.setdefault(level.landing_of, []).append(length)
        return found

    @cached_property
    def drops(self) -> dict[str, Exact | None]:
        """How far one can fall beside each edge, section, post, run and stair; None if unknown."""
        edges: dict[tuple[str, int], Exact | None] = {
            (level.name, edge.number): edge.fall_height_nm
            for level in self.layout.deck.levels
            for edge in level.edges
        }
        flights: dict[str, Exact] = {name: f.drop_nm for name, f in self.flights.items()}
        drops: dict[str, Exact | None] = {
            edge_name(level, number): drop for (level, number), drop in edges.items()
        }
        for post in self.layout.posts:
            drops[post.name] = flights.get(post.stair, edges.get((post.level, post.edge)))
        for gate in self.layout.gates:
            drops[gate.name] = edges.get((gate.level, gate.edge))
        for run in self.layout.runs:
            drops[run.name] = flights.get(run.stair, run.fall_height_nm)
        for section in self.layout.sections:
            drops[section.name] = drops[section.run]
        return drops | flights


def _facts_of_flights(
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
