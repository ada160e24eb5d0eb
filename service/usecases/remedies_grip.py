"""Changes that may cure clauses on what a hand goes round, and on how a pool's gate shuts."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from service.domain.compliance.findings import Finding
from service.domain.compliance.site import GateFacts, Grip
from service.usecases.remedies_handrail import bracketed
from service.usecases.remedy import Job, Remedy
from service.usecases.remedy_parts import Remedies, of_part, way


def _of_grip(change: str, field: str) -> Remedies:
    """Change a dimension of the section as described; else the top rail, or add a handrail."""

    def remedies(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
        grip = job.site.grip
        value = getattr(grip, f"{field}_nm") if grip else None
        if grip and value is not None:

            def apply(job: Job, value: int) -> Job:
                return replace(job, site=replace(job.site, grip=_with(grip, field, value)))

            yield Remedy(change, f"system.grip.{field}", value, apply, way(finding))
        elif not grip:
            yield from _other_rail(job, finding, stairs)

    return remedies


def _with(grip: Grip, field: str, value: int) -> Grip:
    changes: dict[str, int] = {f"{field}_nm": value}
    return replace(grip, **changes)  # type: ignore[arg-type]


def _of_recess(change: str, field: str) -> Remedies:
    def remedies(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
        grip = job.site.grip
        if grip is None:
            yield from _other_rail(job, finding, stairs)
        elif grip.recess is not None:
            recess = grip.recess

            def apply(job: Job, value: int) -> Job:
                changes: dict[str, int] = {f"{field}_nm": value}
                cut = replace(grip, recess=replace(recess, **changes))
                return replace(job, site=replace(job.site, grip=cut))

            value = getattr(recess, f"{field}_nm")
            yield Remedy(change, f"system.grip.recess.{field}", value, apply, way(finding))

    return remedies


def _other_rail(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    """Take a slimmer or fuller top rail, else let a handrail on brackets take its place."""
    steps = way(finding)
    if not job.system.handrail:
        yield of_part("Width of the top rail", "top_rail", "width", steps, "system.top_rail.width")(
            job
        )
        yield of_part("Depth of the top rail", "top_rail", "depth", steps, "system.top_rail.depth")(
            job
        )
    yield from bracketed(job, finding, stairs)


def _gates_failing(job: Job, finding: Finding) -> Mapping[str, GateFacts]:
    gate = job.site.gates.get(finding.element)
    return {finding.element: gate} if gate else {}


def _of_gate(change: str, field: str, steps: int, member: str) -> Remedies:
    """Change one length of the gate's latch."""

    def remedies(job: Job, finding: Finding, _stairs: frozenset[int]) -> Iterator[Remedy]:
        for name, gate in _gates_failing(job, finding).items():

            def apply(job: Job, value: int, name: str = name) -> Job:
                changes: dict[str, int] = {field: value}
                changed = replace(job.site.gates[name], **changes)  # type: ignore[arg-type]
                return _with_gate(job, name, changed)

            value = getattr(gate, field)
            if value is not None:
                yield Remedy(f"{change} of {name}", f"shut.latch.{member}", value, apply, steps)

    return remedies


def _shutting(job: Job, finding: Finding, _stairs: frozenset[int]) -> Iterator[Remedy]:
    def apply(job: Job, _value: int) -> Job:
        gate = job.site.gates[finding.element]
        shuts = replace(gate, closes=True, latches=True, opens_from_pool=True)
        return _with_gate(job, finding.element, shuts)

    for name in _gates_failing(job, finding):
        change = f"{name} opened away from the pool, closing and latching by itself"
        yield Remedy(change, "shut", 0, apply, 0, counted=True)


def _with_gate(job: Job, name: str, gate: GateFacts) -> Job:
    return replace(job, site=replace(job.site, gates={**job.site.gates, name: gate}))


OF_HOLDS: Mapping[str, Remedies] = {
    "grip_diameters": _of_grip("Diameter of the handrail", "diameter"),
    "grip_perimeters": _of_grip("Perimeter of the handrail", "perimeter"),
    "grip_cross_dimensions": _of_grip("Handrail across", "cross"),
    "grip_edges": _of_grip("Rounding of the handrail's edges", "edge_radius"),
    "grip_widths": _of_recess("Width above the recess", "width"),
    "recess_starts": _of_recess("Start of the recess", "start"),
    "recess_depths": _of_recess("Depth of the recess", "depth"),
    "gates_shutting": _shutting,
    "release_heights": _of_gate("Release", "release_nm", 1, "release_height"),
    "releases_below_top": _of_gate("Release", "release_nm", -1, "release_height"),
    "release_openings": _of_gate("Opening by the release", "opening_nm", -1, "largest_opening"),
}
