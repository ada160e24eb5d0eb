"""Changes of a job that may cure a clause not met: one dimension, count or choice at a time.

Each remedy takes the job and a new value and gives the changed job; what it would change is named
by its place in the request. Which of them cures a clause, and by how little, is found by laying
the changed job out again (see ``advise``).
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from service.domain.compliance.findings import Finding
from service.domain.compliance.site import Site
from service.domain.layout.deck import Deck, Landing, OpeningKind, Side, Stair, Turn
from service.domain.layout.system import Cables, InfillRails, Method
from service.domain.lengths import inches
from service.usecases.remedy import Job, Remedy

FLIGHT_LANDING_NM = inches(36)  # least landing of the residential codes held


Remedies = Callable[[Job, Finding, frozenset[int]], Iterator[Remedy]]


def remedies_for(measure: str, job: Job, finding: Finding, stairs: frozenset[int]) -> list[Remedy]:
    """Give what may cure a finding, the likeliest first.

    Args:
        measure: How the clause is measured.
        job: As it is.
        finding: One of those not met.
        stairs: Places in the request of the stairs it concerns.
    """
    found = _REMEDIES.get(measure)
    return list(found(job, finding, stairs)) if found else []


def _way(finding: Finding) -> int:
    """Say which way the measured value must go to reach its limits."""
    limits, measured = finding.held_to, finding.measured
    if not limits or measured is None:
        return 1
    return 1 if measured < limits[0].base or finding.clause.compare == "more_than" else -1


def _of_system(change: str, name: str, steps: int, member: str = "") -> Callable[[Job], Remedy]:
    def remedy(job: Job) -> Remedy:
        def apply(job: Job, value: int) -> Job:
            changes: dict[str, Any] = {f"{name}_nm": value}
            return replace(job, system=replace(job.system, **changes))

        value = getattr(job.system, f"{name}_nm")
        return Remedy(change, member or f"system.{name}", value, apply, steps)

    return remedy


def _of_part(change: str, part: str, name: str, steps: int, member: str) -> Callable[[Job], Remedy]:
    def remedy(job: Job) -> Remedy:
        def apply(job: Job, value: int) -> Job:
            changes: dict[str, Any] = {
                part: replace(getattr(job.system, part), **{f"{name}_nm": value})
            }
            return replace(job, system=replace(job.system, **changes))

        value = getattr(getattr(job.system, part), f"{name}_nm")
        return Remedy(change, member, value, apply, steps)

    return remedy


def _of_stairs(
    change: str, name: str, field: str, stairs: frozenset[int], job: Job, steps: int
) -> Iterator[Remedy]:
    """Change one dimension of the stairs concerned, all to the same value."""
    chosen = [stair for stair in job.deck.stairs if stair.index in stairs]
    if not chosen:
        return

    def apply(job: Job, value: int) -> Job:
        return _with_stairs(job, stairs, {field: value})

    values = [getattr(stair, field) for stair in chosen]
    value = min(values) if steps > 0 else max(values)
    where = ", ".join(f"deck.stairs[{stair.index}].{name}" for stair in chosen)
    yield Remedy(change, where, value, apply, steps, counted=field == "risers")


def _with_stairs(job: Job, stairs: frozenset[int], changes: Mapping[str, Any]) -> Job:
    """Change stairs; one of several flights is left alone where its risers would change."""
    changed = []
    for stair in job.deck.stairs:
        fixed = "risers" in changes and stair.flights
        wanted = stair.index in stairs and not fixed
        changed.append(replace(stair, **changes) if wanted else stair)
    deck = replace(job.deck, stairs=tuple(changed))
    if "width_nm" in changes:
        deck = _with_openings(deck)
    return replace(job, deck=deck, site=_untaped(job.site, stairs))


def _untaped(site: Site, stairs: frozenset[int]) -> Site:
    """Leave out the single tapes of stairs that are to be built anew."""
    kept = {index: facts for index, facts in site.stairs.items() if index not in stairs}
    return replace(site, stairs=kept)


def _with_openings(deck: Deck) -> Deck:
    """Make the opening of each stair as wide as its stair."""
    widths = {stair.name: stair.width_nm for stair in deck.stairs}
    levels = []
    for level in deck.levels:
        edges = tuple(
            replace(
                edge,
                openings=tuple(
                    replace(o, width_nm=widths[o.name])
                    if o.kind in (OpeningKind.STAIR, OpeningKind.ARRIVAL) and o.name in widths
                    else o
                    for o in edge.openings
                ),
            )
            for edge in level.edges
        )
        levels.append(replace(level, edges=edges))
    return replace(deck, levels=tuple(levels))


def _guard_heights(job: Job, finding: Finding, _stairs: frozenset[int]) -> Iterator[Remedy]:
    way = _way(finding)
    if finding.clause.applies_when.get("place") != "stair":
        yield _of_system("Guard height", "guard_height", way)(job)
    yield _of_system("Stair guard height", "stair_guard_height", way)(job)


def _handrail_heights(job: Job, finding: Finding, _stairs: frozenset[int]) -> Iterator[Remedy]:
    yield from _of_handrail("Handrail height", "height", _way(finding), job)
    yield _of_system("Stair guard height", "stair_guard_height", _way(finding))(job)


def _of_handrail(change: str, name: str, steps: int, job: Job) -> Iterator[Remedy]:
    if job.system.handrail:
        yield _of_part(change, "handrail", name, steps, f"system.handrail.{name}")(job)


def _openings(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    note, system = finding.note, job.system
    infill, on_stair = system.infill, bool(stairs)
    if "under" in note:
        yield _of_system("Gap under the bottom rail", "bottom_gap", -1)(job)
    elif "post to wall" in note or "post to structure" in note:
        yield _of_system("Clearance to the wall", "wall_clearance", -1)(job)
    elif isinstance(infill, Cables | InfillRails):
        member = "cables" if isinstance(infill, Cables) else "rails"
        yield _of_part("Greatest gap", "infill", "max_gap", -1, f"system.{member}.max_gap")(job)
    elif infill is None:
        if on_stair and system.pickets.stair_pitch_nm:
            change = "Pitch of the pickets on stairs"
            member = "system.pickets.stair_pitch"
            yield _of_part(change, "pickets", "stair_pitch", -1, member)(job)
        elif not on_stair and system.pickets.pitch_nm:
            member = "system.pickets.pitch"
            yield _of_part("Pitch of the pickets", "pickets", "pitch", -1, member)(job)
        else:
            member = "system.pickets.max_gap"
            yield _of_part("Greatest gap of the pickets", "pickets", "max_gap", -1, member)(job)


def _triangles(job: Job, _finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    yield _of_system("Stair gap under the bottom rail", "stair_bottom_gap", -1)(job)
    yield from _of_stairs("Risers", "risers", "risers", stairs, job, 1)


def _bottom_gaps(job: Job, _finding: Finding, _stairs: frozenset[int]) -> Iterator[Remedy]:
    yield _of_system("Gap under the bottom rail", "bottom_gap", -1)(job)


def _edge_gaps(job: Job, _finding: Finding, _stairs: frozenset[int]) -> Iterator[Remedy]:
    yield _of_system("Set-back", "set_back", -1)(job)


def _guards(job: Job, finding: Finding, _stairs: frozenset[int]) -> Iterator[Remedy]:
    def apply(job: Job, _value: int) -> Job:
        levels = tuple(
            replace(level, edges=tuple(replace(edge, guarded=True) for edge in level.edges))
            for level in job.deck.levels
        )
        return replace(job, deck=replace(job.deck, levels=levels))

    yield Remedy(f"Guard along {finding.element}", "deck.levels", 0, apply, 0, counted=True)


def _risers(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    # The riser falls as their count grows.
    yield from _of_stairs("Risers", "risers", "risers", stairs, job, -_way(finding))


def _riser_counts(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    yield from _of_stairs("Risers", "risers", "risers", stairs, job, _way(finding))
    yield from _landing(job, finding, stairs)


def _unit_runs(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    yield from _of_stairs("Unit run", "unit_run", "unit_run_nm", stairs, job, _way(finding))


def _pitches(job: Job, _finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    yield from _of_stairs("Unit run", "unit_run", "unit_run_nm", stairs, job, 1)


def _nosings(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    yield from _of_stairs("Nosing", "nosing", "nosing_nm", stairs, job, _way(finding))


def _widths(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    yield from _of_stairs("Stair width", "width", "width_nm", stairs, job, _way(finding))


def _landing(job: Job, _finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    def divided(stair: Stair) -> Stair:
        upper = stair.risers // 2
        landing = Landing(Turn.STRAIGHT, max(FLIGHT_LANDING_NM, stair.width_nm))
        return replace(stair, flights=(upper, stair.risers - upper), landings=(landing,))

    def apply(job: Job, _value: int) -> Job:
        changed = tuple(
            divided(stair) if stair.index in stairs and not stair.flights else stair
            for stair in job.deck.stairs
        )
        return replace(job, deck=replace(job.deck, stairs=changed))

    yield Remedy("Landing half way up", "deck.stairs.landings", 0, apply, 0, counted=True)


def _continuity(job: Job, _finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    def past_posts(job: Job, _value: int) -> Job:
        return replace(job, system=replace(job.system, method=Method.CONTINUOUS))

    yield from _bracketed(job, _finding, stairs)
    yield _of_system("Span on stairs", "max_stair_span", 1, "system.limits.stair_span")(job)
    yield Remedy("Rails that run past line posts", "system.method", 0, past_posts, 0, counted=True)


def _bracketed(job: Job, _finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    def apply(job: Job, _value: int) -> Job:
        return _with_stairs(job, stairs, {"handrails": frozenset(Side)})

    if job.system.handrail and stairs:
        change = "Handrails on brackets on both sides"
        yield Remedy(change, "deck.stairs.handrails", 0, apply, 0, counted=True)


def _handrail_part(change: str, name: str, steps: int) -> Remedies:
    def remedies(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
        yield from _of_handrail(change, name, steps, job)
        yield from _bracketed(job, finding, stairs)

    return remedies


def _ends(job: Job, _finding: Finding, _stairs: frozenset[int]) -> Iterator[Remedy]:
    def apply(job: Job, _value: int) -> Job:
        if job.system.handrail is None:
            return job
        handrail = replace(job.system.handrail, returned=True, bottom_treads=1)
        return replace(job, system=replace(job.system, handrail=handrail))

    if job.system.handrail:
        member = "system.handrail.returned and bottom_treads"
        yield Remedy("Handrail ends returned and extended", member, 0, apply, 0, counted=True)


def _bottom_extensions(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    yield from _ends(job, finding, stairs)

    def both(job: Job, value: int) -> Job:
        for remedy in (*_bracketed(job, finding, stairs), *_ends(job, finding, stairs)):
            job = remedy.apply(job, value)
        return job

    for remedy in _bracketed(job, finding, stairs):
        yield replace(remedy, change=f"{remedy.change}, extended at the foot", apply=both)


_REMEDIES: Mapping[str, Remedies] = {
    "guard_needs": _guards,
    "guard_heights": _guard_heights,
    "climbable_members": _bottom_gaps,
    "edge_gaps": _edge_gaps,
    "clear_openings": _openings,
    "gaps_under": _bottom_gaps,
    "upright_gaps": _openings,
    "stair_triangles": _triangles,
    "stair_risers": _risers,
    "riser_counts": _riser_counts,
    "stair_treads": _unit_runs,
    "step_sums": _unit_runs,
    "stair_pitches": _pitches,
    "stair_nosings": _nosings,
    "flight_rises": _landing,
    "stair_widths_between_rails": _widths,
    "stair_widths_between_guards": _widths,
    "stair_widths_above_rails": _widths,
    "handrail_needs": _bracketed,
    "handrail_rises": _bracketed,
    "handrail_sides": _bracketed,
    "handrail_reaches": _bracketed,
    "handrail_heights": _handrail_heights,
    "handrail_continuity": _continuity,
    "handrail_ends": _ends,
    "handrail_clearances": _handrail_part("Clearance of the handrail", "clearance", 1),
    "handrail_projections": _handrail_part("Clearance of the handrail", "clearance", -1),
    "handrail_top_extensions": _handrail_part("Extension at the top", "top_extension", 1),
    "handrail_bottom_extensions": _bottom_extensions,
    "handrail_bracket_spacings": _handrail_part("Spacing of brackets", "bracket_spacing", -1),
}
