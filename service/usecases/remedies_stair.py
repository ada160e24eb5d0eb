"""Changes that may cure clauses on stairs: risers, runs, nosings, widths, landings."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from service.domain.compliance.findings import Finding
from service.domain.layout.deck import Landing, Stair, Turn
from service.domain.lengths import inches
from service.usecases.remedy import Job, Remedy
from service.usecases.remedy_parts import (
    Remedies,
    of_stairs,
    of_system,
    way,
)

FLIGHT_LANDING_NM = inches(36)  # least landing of the residential codes held


def _triangles(job: Job, _finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    yield of_system("Stair gap under the bottom rail", "stair_bottom_gap", -1)(job)
    yield from of_stairs("Risers", "risers", "risers", stairs, job, 1)


def _risers(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    # The riser falls as their count grows.
    yield from of_stairs("Risers", "risers", "risers", stairs, job, -way(finding))


def _riser_counts(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    yield from of_stairs("Risers", "risers", "risers", stairs, job, way(finding))
    yield from _landing(job, finding, stairs)


def _unit_runs(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    yield from of_stairs("Unit run", "unit_run", "unit_run_nm", stairs, job, way(finding))


def _pitches(job: Job, _finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    yield from of_stairs("Unit run", "unit_run", "unit_run_nm", stairs, job, 1)


def _nosings(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    yield from of_stairs("Nosing", "nosing", "nosing_nm", stairs, job, way(finding))


def _widths(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    yield from of_stairs("Stair width", "width", "width_nm", stairs, job, way(finding))


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


OF_STAIRS: Mapping[str, Remedies] = {
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
}
