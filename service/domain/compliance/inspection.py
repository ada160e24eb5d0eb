"""One layout as clauses see it: which run, which flight, how far one can fall; each found once."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from service.domain.compliance.exact import Measured
from service.domain.compliance.findings import Limit
from service.domain.compliance.flights import Flight, facts_of_flights, ratio
from service.domain.compliance.ground import AS_GIVEN, Drop, Ground, ground_of
from service.domain.compliance.site import NOTHING_SAID, Site
from service.domain.layout.deck import Edge, EdgeKind, Level
from service.domain.layout.records import Layout, Post, Run, Section
from service.domain.lengths import mm_of, snap_mm

Attribute = str | Measured | None
OF_LANDING = "Height of the landing above the foot of its stair, the ground there taken level."


def edge_name(level: str, number: int) -> str:
    """Name an edge as the refusals of the layout do."""
    return f"level {level}, edge {number}"


@dataclass(frozen=True)
class Inspection:
    """A layout, what was said beside it, and what measures look up in both again and again.

    Attributes:
        reach: How far out from an edge a drop counts; None where only that at the edge does.
    """

    layout: Layout
    site: Site = NOTHING_SAID
    reach: Limit | None = None

    @property
    def reach_nm(self) -> int | None:
        """The same as a length. [nm]"""
        return None if self.reach is None else self.reach.base

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
        facts = dict(facts_of_flights(self.layout.deck.stairs, self.site.stairs))
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
    def grounds(self) -> dict[tuple[str, int], Ground]:
        """The ground beside each edge, by the name of its level and its number."""
        return {
            (level.name, edge.number): ground_of(
                edge.fall_height_nm,
                edge.falls,
                AS_GIVEN if level.landing_of is None else OF_LANDING,
            )
            for level in self.layout.deck.levels
            for edge in level.edges
        }

    @cached_property
    def edge_drops(self) -> dict[tuple[str, int], Drop]:
        """How far one can fall beside each edge, and which tapes say so."""
        return {place: ground.drop(self.reach_nm) for place, ground in self.grounds.items()}

    @cached_property
    def drops(self) -> dict[str, Measured | None]:
        """How far one can fall beside each edge, section, post, run and stair; None if unknown."""
        edges = {place: drop.value for place, drop in self.edge_drops.items()}
        flights: dict[str, Measured] = {name: f.drop_nm for name, f in self.flights.items()}
        drops: dict[str, Measured | None] = {
            edge_name(level, number): drop for (level, number), drop in edges.items()
        }
        for post in self.layout.posts:
            drops[post.name] = flights.get(post.stair, edges.get((post.level, post.edge)))
        for gate in self.layout.gates:
            drops[gate.name] = edges.get((gate.level, gate.edge))
        for run in self.layout.runs:
            drops[run.name] = flights.get(run.stair, edges.get((run.level, run.edge)))
        for section in self.layout.sections:
            drops[section.name] = drops[section.run]
        return drops | flights
