"""Changes that may cure clauses on handrails: heights, ends, brackets, rails that run on."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from service.domain.compliance.findings import Finding
from service.domain.compliance.site import Grip, GripShape
from service.domain.layout.deck import Side
from service.domain.layout.stair_records import HandrailParts
from service.domain.layout.system import Method
from service.domain.lengths import inches
from service.usecases.remedy import Job, Remedy
from service.usecases.remedy_parts import (
    Remedies,
    of_handrail,
    of_system,
    way,
    with_stairs,
)

# What is tried where a system has no handrail of its own. Common practice, no source: a round pipe
# or wood rail that fits the grips of every code held, extended and returned.
ORDINARY = HandrailParts(
    height_nm=inches(36), width_nm=inches(1, 1, 2), clearance_nm=inches(2, 1, 4),
    bracket_spacing_nm=inches(36), bracket_end_nm=inches(12), longest_nm=inches(240),
    top_extension_nm=inches(12), bottom_treads=1,
)  # fmt: skip
ROUND = Grip(GripShape.ROUND, diameter_nm=inches(1, 1, 2), edge_radius_nm=inches(0, 3, 4))
ORDINARY_TOLD = (
    "Handrails on brackets on both sides, such as round ones 1-1/2 in across, 36 in above the "
    "nosing line, 2-1/4 in clear, extended and returned"
)


def _handrail_heights(job: Job, finding: Finding, _stairs: frozenset[int]) -> Iterator[Remedy]:
    yield from of_handrail("Handrail height", "height", way(finding), job)
    yield of_system("Stair guard height", "stair_guard_height", way(finding))(job)


def _continuity(job: Job, _finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    def past_posts(job: Job, _value: int) -> Job:
        return replace(job, system=replace(job.system, method=Method.CONTINUOUS))

    others = list(bracketed(job, _finding, stairs))
    if job.system.handrail:
        yield from others
    yield of_system("Span on stairs", "max_stair_span", 1, "system.limits.stair_span")(job)
    yield Remedy("Rails that run past line posts", "system.method", 0, past_posts, 0, counted=True)
    if not job.system.handrail:
        yield from others


def bracketed(job: Job, _finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    """Set handrails on brackets beside the guard: the system's own, else ordinary ones."""

    def apply(job: Job, _value: int) -> Job:
        return with_stairs(job, stairs, {"handrails": frozenset(Side)})

    def added(job: Job, value: int) -> Job:
        job = apply(replace(job, system=replace(job.system, handrail=ORDINARY)), value)
        return replace(job, site=replace(job.site, grip=ROUND))

    if stairs and job.system.handrail:
        change = "Handrails on brackets on both sides"
        yield Remedy(change, "deck.stairs.handrails", 0, apply, 0, counted=True)
    elif stairs:
        member = "system.handrail and system.grip"
        yield Remedy(ORDINARY_TOLD, member, 0, added, 0, counted=True)


def _handrail_part(change: str, name: str, steps: int) -> Remedies:
    def remedies(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
        yield from of_handrail(change, name, steps, job)
        yield from bracketed(job, finding, stairs)

    return remedies


def _ends(job: Job, _finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    def apply(job: Job, _value: int) -> Job:
        if job.system.handrail is None:
            return job
        handrail = replace(job.system.handrail, returned=True, bottom_treads=1)
        return replace(job, system=replace(job.system, handrail=handrail))

    if job.system.handrail:
        member = "system.handrail.returned and bottom_treads"
        yield Remedy("Handrail ends returned and extended", member, 0, apply, 0, counted=True)
    else:
        yield from bracketed(job, _finding, stairs)


def _bottom_extensions(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    yield from _ends(job, finding, stairs)

    def both(job: Job, value: int) -> Job:
        for remedy in (*bracketed(job, finding, stairs), *_ends(job, finding, stairs)):
            job = remedy.apply(job, value)
        return job

    for remedy in bracketed(job, finding, stairs):
        yield replace(remedy, change=f"{remedy.change}, extended at the foot", apply=both)


OF_HANDRAILS: Mapping[str, Remedies] = {
    "handrail_needs": bracketed,
    "handrail_rises": bracketed,
    "handrail_sides": bracketed,
    "handrail_reaches": bracketed,
    "handrail_heights": _handrail_heights,
    "handrail_continuity": _continuity,
    "handrail_ends": _ends,
    "handrail_clearances": _handrail_part("Clearance of the handrail", "clearance", 1),
    "handrail_projections": _handrail_part("Clearance of the handrail", "clearance", -1),
    "handrail_top_extensions": _handrail_part("Extension at the top", "top_extension", 1),
    "handrail_bottom_extensions": _bottom_extensions,
    "handrail_bracket_spacings": _handrail_part("Spacing of brackets", "bracket_spacing", -1),
}
