"""What changes of a job are put together from: a dimension of the system, of a part, of stairs."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from service.domain.compliance.findings import Finding
from service.domain.compliance.site import Site
from service.domain.layout.deck import Deck, OpeningKind
from service.usecases.remedy import Job, Remedy

Remedies = Callable[[Job, Finding, frozenset[int]], Iterator[Remedy]]


def way(finding: Finding) -> int:
    """Say which way the measured value must go to reach its limits."""
    limits, measured = finding.held_to, finding.measured
    if not limits or measured is None:
        return 1
    return 1 if measured < limits[0].base or finding.clause.compare == "more_than" else -1


def of_system(change: str, name: str, steps: int, member: str = "") -> Callable[[Job], Remedy]:
    """Change a length of the system."""

    def remedy(job: Job) -> Remedy:
        def apply(job: Job, value: int) -> Job:
            changes: dict[str, Any] = {f"{name}_nm": value}
            return replace(job, system=replace(job.system, **changes))

        value = getattr(job.system, f"{name}_nm")
        return Remedy(change, member or f"system.{name}", value, apply, steps)

    return remedy


def of_part(change: str, part: str, name: str, steps: int, member: str) -> Callable[[Job], Remedy]:
    """Change a length of one of the system's parts."""

    def remedy(job: Job) -> Remedy:
        def apply(job: Job, value: int) -> Job:
            changes: dict[str, Any] = {
                part: replace(getattr(job.system, part), **{f"{name}_nm": value})
            }
            return replace(job, system=replace(job.system, **changes))

        value = getattr(getattr(job.system, part), f"{name}_nm")
        return Remedy(change, member, value, apply, steps)

    return remedy


def of_stairs(
    change: str, name: str, field: str, stairs: frozenset[int], job: Job, steps: int
) -> Iterator[Remedy]:
    """Change one dimension of the stairs concerned, all to the same value."""
    chosen = [stair for stair in job.deck.stairs if stair.index in stairs]
    if not chosen:
        return

    def apply(job: Job, value: int) -> Job:
        return with_stairs(job, stairs, {field: value})

    values = [getattr(stair, field) for stair in chosen]
    value = min(values) if steps > 0 else max(values)
    where = ", ".join(f"deck.stairs[{stair.index}].{name}" for stair in chosen)
    yield Remedy(change, where, value, apply, steps, counted=field == "risers")


def with_stairs(job: Job, stairs: frozenset[int], changes: Mapping[str, Any]) -> Job:
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


def of_handrail(change: str, name: str, steps: int, job: Job) -> Iterator[Remedy]:
    """Change a length of the handrails on brackets, where the system has any."""
    if job.system.handrail:
        yield of_part(change, "handrail", name, steps, f"system.handrail.{name}")(job)
