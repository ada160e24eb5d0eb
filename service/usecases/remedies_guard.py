"""Changes that may cure clauses on guards: heights, gaps, set-backs, guards that are missing."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from service.domain.compliance.findings import Finding
from service.domain.compliance.inspection import edge_name
from service.domain.layout.deck import Edge
from service.domain.layout.system import Cables, InfillRails, Pickets
from service.domain.lengths import inches
from service.usecases.remedy import Job, Remedy
from service.usecases.remedy_parts import (
    Remedies,
    of_part,
    of_system,
    way,
)

PICKET_NM = inches(0, 3, 4)  # tried where a system has none; common practice, no source


def _guard_heights(job: Job, finding: Finding, _stairs: frozenset[int]) -> Iterator[Remedy]:
    up_or_down, place = way(finding), finding.clause.applies_when.get("place")
    if place != "stair":
        yield of_system("Guard height", "guard_height", up_or_down)(job)
    yield of_system("Stair guard height", "stair_guard_height", up_or_down)(job)
    if place is None:
        yield _both_heights(job, up_or_down)


def _both_heights(job: Job, up_or_down: int) -> Remedy:
    """Bring the guard to one height on level and stair, for codes that know but one."""

    def apply(job: Job, value: int) -> Job:
        return replace(
            job, system=replace(job.system, guard_height_nm=value, stair_guard_height_nm=value)
        )

    heights = (job.system.guard_height_nm, job.system.stair_guard_height_nm)
    value = min(heights) if up_or_down > 0 else max(heights)
    member = "system.guard_height and system.stair_guard_height"
    return Remedy("Guard height, on stairs too", member, value, apply, up_or_down)


def _openings(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    note, system = finding.note, job.system
    infill, on_stair = system.infill, bool(stairs)
    if "under" in note:
        yield of_system("Gap under the bottom rail", "bottom_gap", -1)(job)
    elif "post to wall" in note or "post to structure" in note:
        yield of_system("Clearance to the wall", "wall_clearance", -1)(job)
    elif isinstance(infill, Cables | InfillRails):
        member = "cables" if isinstance(infill, Cables) else "rails"
        yield of_part("Greatest gap", "infill", "max_gap", -1, f"system.{member}.max_gap")(job)
    elif infill is None:
        if on_stair and system.pickets.stair_pitch_nm:
            change = "Pitch of the pickets on stairs"
            member = "system.pickets.stair_pitch"
            yield of_part(change, "pickets", "stair_pitch", -1, member)(job)
        elif not on_stair and system.pickets.pitch_nm:
            member = "system.pickets.pitch"
            yield of_part("Pitch of the pickets", "pickets", "pitch", -1, member)(job)
        else:
            member = "system.pickets.max_gap"
            yield of_part("Greatest gap of the pickets", "pickets", "max_gap", -1, member)(job)


def _bottom_gaps(job: Job, _finding: Finding, _stairs: frozenset[int]) -> Iterator[Remedy]:
    yield of_system("Gap under the bottom rail", "bottom_gap", -1)(job)


def _climbing(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    """Lower the bottom rail out of the band; rails or cables in it give way to upright pickets."""
    yield from _bottom_gaps(job, finding, stairs)
    infill = job.system.infill
    if isinstance(infill, Cables | InfillRails):
        most_nm = infill.max_gap_nm

        def apply(job: Job, _value: int) -> Job:
            pickets = Pickets(PICKET_NM, None, None, most_nm)
            return replace(job, system=replace(job.system, infill=None, pickets=pickets))

        kind = "cables" if isinstance(infill, Cables) else "rails"
        change = f"Upright pickets 3/4 in wide in place of the {kind}"
        yield Remedy(change, f"system.{kind}", 0, apply, 0, counted=True)


def _edge_gaps(job: Job, _finding: Finding, _stairs: frozenset[int]) -> Iterator[Remedy]:
    yield of_system("Set-back", "set_back", -1)(job)


def _guards(job: Job, finding: Finding, _stairs: frozenset[int]) -> Iterator[Remedy]:
    def apply(job: Job, _value: int) -> Job:
        levels = tuple(
            replace(level, edges=tuple(guarded(level.name, edge) for edge in level.edges))
            for level in job.deck.levels
        )
        return replace(job, deck=replace(job.deck, levels=levels))

    def guarded(level: str, edge: Edge) -> Edge:
        wanted = edge_name(level, edge.number) == finding.element
        return replace(edge, guarded=True) if wanted else edge

    yield Remedy(f"Guard along {finding.element}", "deck.levels", 0, apply, 0, counted=True)


OF_GUARDS: Mapping[str, Remedies] = {
    "guard_needs": _guards,
    "guard_heights": _guard_heights,
    "climbable_members": _climbing,
    "edge_gaps": _edge_gaps,
    "clear_openings": _openings,
    "gaps_under": _bottom_gaps,
    "upright_gaps": _openings,
}
