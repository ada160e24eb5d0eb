"""Measures of guards: where one is needed, how high it stands, what a child could climb on.

The height of the rails above the walking surface and above the nosing line is a dimension of the
system that every section is built to; the layout's records carry it there and nowhere else.
"""

from collections.abc import Iterator
from dataclasses import replace

from service.domain.compliance.inspection import OF_LANDING, Attribute, Inspection
from service.domain.compliance.measurement import Measurement
from service.domain.layout.deck import Edge, EdgeKind, Level, OpeningKind
from service.domain.layout.infill_records import CableRow
from service.domain.layout.records import RailRow, Section
from service.domain.layout.system import Glass, Mount

GUARD_ATTRIBUTES = frozenset({"place", "drop", "risers", "surface_height", "top_rail"})
PLACED = frozenset({"place", "drop"})
_NO_FALLS = (
    "No falls were taped outward from this edge; its own fall height is taken. Tape them, as "
    "falls_taped, out to this distance."
)


def guard_needs(seen: Inspection) -> Iterator[Measurement]:
    """Measure the drop along each open edge and stair side, and whether a guard stands there."""
    guarded = {(run.level, run.edge) for run in seen.layout.runs if not run.stair}
    for level, edge, name in seen.open_edges:
        present: bool | None = (level.name, edge.number) in guarded
        drop = seen.edge_drops[level.name, edge.number]
        notes = [drop.note, *_taken_at_edge(seen, level, edge)]
        if edge.kind is EdgeKind.EXISTING:
            present = None
            notes.append("What already stands here is not described.")
        elif not present and edge.guarded and edge.openings:
            present = True
            notes.append("Stairs or gates take up this edge.")
        attributes: dict[str, Attribute] = {"drop": drop.value, "place": "level"}
        yield Measurement(name, drop.value, attributes, " ".join(notes), present)
    for flight in seen.flights.values():
        for side in sorted(flight.stair.open_sides):
            yield Measurement(
                flight.name,
                flight.drop_nm,
                {"drop": flight.drop_nm, "place": "stair"},
                f"Beside the highest tread, {side} side, the ground there taken level with the "
                "foot of the stair.",
                side in flight.runs,
            )


def _taken_at_edge(seen: Inspection, level: Level, edge: Edge) -> Iterator[str]:
    """Say that one fall height stands for all the ground a code looks at."""
    ground, reach = seen.grounds[level.name, edge.number], seen.reach
    one_fall = ground.fall_nm is not None and not ground.falls and level.landing_of is None
    if reach is not None and one_fall:
        yield (
            "It is taken at the edge; the code measures to the lowest point within "
            f"{reach.value} {reach.unit} of it: send falls_taped, each a distance outward and a "
            "fall, out to there."
        )


def drop_reaches(seen: Inspection) -> Iterator[Measurement]:
    """Measure how far out from each open edge the greatest fall beside it was taped."""
    for level, edge, name in seen.open_edges:
        ground = seen.grounds[level.name, edge.number]
        out_nm = None if seen.reach_nm is None else ground.deepest_out_nm(seen.reach_nm)
        if out_nm is not None:
            note = "Greatest fall taped beside this edge."
        elif level.landing_of is not None:
            note = OF_LANDING
        elif ground.falls:
            note = "The falls were taped less far out than this; tape one there or beyond."
        else:
            note = _NO_FALLS
        yield Measurement(name, out_nm, {"distance": out_nm}, note, out_nm is not None or None)


def gates(seen: Inspection) -> Iterator[Measurement]:
    """Name each gate, for the openings in its leaf, which no layout holds."""
    described = {gate.name for gate in seen.layout.gates}
    for level, edge, name in seen.open_edges:
        for opening in edge.openings:
            if opening.kind is OpeningKind.GATE:
                attributes = _on_level(seen, level.name, seen.drops[name]) | {"upright": "yes"}
                what = (
                    "the inside of its leaf is"
                    if opening.name in described
                    else ("its leaf and gaps are")
                )
                yield Measurement(
                    opening.name, None, attributes, f"Gate in {name}: {what} not described."
                )


def gate_heights(seen: Inspection) -> Iterator[Measurement]:
    """Measure the top of each gate's leaf; None where the system describes no gates."""
    parts = seen.layout.system.gates
    tops = {
        gate.name: gate.leaf_height_nm + parts.bottom_gap_nm
        for gate in seen.layout.gates
        if parts is not None
    }
    for gate in gates(seen):
        top_nm = tops.get(gate.element)
        yield gate if top_nm is None else replace(gate, value=top_nm, note="Top of its leaf.")


def guard_heights(seen: Inspection) -> Iterator[Measurement]:
    """Measure the top of the top rail above the walking surface or the nosing line."""
    system = seen.layout.system
    for section, run in seen.level_sections:
        drop = seen.drops[section.name]
        attributes = _on_level(seen, run.level, drop)
        yield Measurement(section.name, system.guard_height_nm, attributes)
    yield from gate_heights(seen)
    for section, _run, flight in seen.stair_sections:
        yield Measurement(
            section.name,
            system.stair_guard_height_nm,
            {
                "place": "stair",
                "drop": seen.drops[section.name],
                "risers": flight.risers,
                "surface_height": flight.drop_nm,
                "top_rail": "guard only" if flight.bracketed else "handrail",
            },
        )


def _on_level(seen: Inspection, level: str, drop: Attribute) -> dict[str, Attribute]:
    """Describe a guard on a level; its drop stands in for a height above ground not given."""
    return {
        "place": "level",
        "drop": drop,
        "risers": 0,
        "surface_height": seen.site.surface_heights_nm.get(level, drop),
        "top_rail": "guard only",
        "guard_height": seen.layout.system.guard_height_nm,
    }


def climbable_members(seen: Inspection) -> Iterator[Measurement]:
    """Measure the top of each rail or cable under the top rail that a foot could stand on.

    A row of several gives them all; a finding shows the one that lies deepest in the band.
    """
    for section in seen.layout.sections:
        attributes: dict[str, Attribute] = {
            "place": "level" if section.rake is None else "stair",
            "drop": seen.drops[section.name],
        }
        for top in member_tops_nm(seen, section):
            yield Measurement(section.name, top, attributes)


def member_tops_nm(seen: Inspection, section: Section) -> list[int]:
    """Give the top of each level member under the top rail, above what one stands on. [nm]"""
    system, infill = seen.layout.system, section.infill
    tops = []
    if has_bottom_rail(seen):
        gap = system.bottom_gap_nm if section.rake is None else system.stair_bottom_gap_nm
        tops.append(gap + system.bottom_rail.depth_nm)
    if isinstance(infill, CableRow):
        tops += [height + infill.diameter_nm // 2 for height in infill.heights_nm]
    elif isinstance(infill, RailRow):
        tops += [height + infill.depth_nm // 2 for height in infill.heights_nm]
    return tops


def has_bottom_rail(seen: Inspection) -> bool:
    """Say whether the guard has a bottom rail; glass may stand without one."""
    infill = seen.layout.system.infill
    return not isinstance(infill, Glass) or infill.bottom_rail


def edge_gaps(seen: Inspection) -> Iterator[Measurement]:
    """Measure from the deck's edge to the inner face of a guard that stands outboard of it."""
    system = seen.layout.system
    rail = max(system.bottom_rail.width_nm, system.top_rail.width_nm)
    for section, _run in seen.level_sections:
        gap = system.set_back_nm - rail // 2 if system.mount is Mount.FASCIA else None
        attributes = {"mount": _mount(seen), "drop": seen.drops[section.name], "place": "level"}
        yield Measurement(section.name, gap, attributes)


def undescribed_edges(seen: Inspection) -> Iterator[Measurement]:
    """Name each open edge, for what one fall height does not tell of the ground beside it."""
    for _level, _edge, name in seen.open_edges:
        yield Measurement(name, None)


def undescribed_guards(seen: Inspection) -> Iterator[Measurement]:
    """Name the guard of the deck, for what the layout does not hold of it, as its strength."""
    if seen.layout.sections:
        yield Measurement("deck", None, {"mount": _mount(seen)})


def undescribed_deck(_seen: Inspection) -> Iterator[Measurement]:
    """Name the deck itself, whose framing the layout does not hold."""
    yield Measurement("deck", None)


def _mount(seen: Inspection) -> str:
    return "top" if seen.layout.system.mount is Mount.SURFACE else "side"
