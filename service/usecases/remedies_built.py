"""Changes that may cure what was taped of a stair as built: steps, landings, slopes.

These are facts beside the layout; a changed job is the same layout with another fact.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any

from service.domain.compliance.findings import Finding
from service.domain.compliance.measures_slope import ANGLE_STEPS, SLOPE_STEPS
from service.domain.compliance.site import RiserKind, StairFacts
from service.domain.layout.deck import Landing, Stair
from service.usecases.remedy import Job, Remedy
from service.usecases.remedy_parts import Remedies, way

Evened = Callable[[tuple[int, ...], int], tuple[int, ...]]


def _of_fact(change: str, field: str) -> Remedies:
    """Change one length of the stairs concerned, as far as it was taped."""

    def remedies(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
        taped = _taped(job, stairs, f"{field}_nm")
        if taped:
            steps = way(finding)
            value = min(taped.values()) if steps > 0 else max(taped.values())
            yield Remedy(
                change, _places(taped, field), value, _setting(taped, f"{field}_nm"), steps
            )

    return remedies


def _taped(job: Job, stairs: frozenset[int], field: str) -> dict[int, Any]:
    facts = {index: job.site.stairs[index] for index in sorted(stairs & job.site.stairs.keys())}
    given = {index: getattr(one, field) for index, one in facts.items()}
    return {index: value for index, value in given.items() if value not in (None, ())}


def _places(stairs: Mapping[int, object], member: str) -> str:
    return ", ".join(f"deck.stairs[{index}].{member}" for index in stairs)


def _setting(stairs: Mapping[int, object], field: str) -> Callable[[Job, Any], Job]:
    return lambda job, value: _with_facts(job, dict.fromkeys(stairs, value), field)


def _with_facts(job: Job, values: Mapping[int, Any], field: str) -> Job:
    changes: dict[int, StairFacts] = {
        index: replace(job.site.stairs[index], **{field: value}) for index, value in values.items()
    }
    return replace(job, site=replace(job.site, stairs={**job.site.stairs, **changes}))


def _evened(change: str, things: str, even: Evened) -> Remedies:
    """Bring steps taped one by one closer together."""
    field = f"{things}_nm"

    def remedies(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
        taped = _taped(job, stairs, field)

        def apply(job: Job, value: int) -> Job:
            return _with_facts(job, {i: even(steps, value) for i, steps in taped.items()}, field)

        if taped and finding.measured is not None:
            member = _places(taped, f"{things}_taped")
            yield Remedy(change, member, finding.measured, apply, -1)

    return remedies


def _within(taped: tuple[int, ...], value: int) -> tuple[int, ...]:
    return tuple(min(step, min(taped) + value) for step in taped)


def _stepping(taped: tuple[int, ...], value: int) -> tuple[int, ...]:
    """Let no step differ by more than the value from the one before it."""
    evened = [taped[0]]
    for step in taped[1:]:
        evened.append(min(max(step, evened[-1] - value), evened[-1] + value))
    return tuple(evened)


def _landings(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    end = "top" if "at the top" in finding.note else "bottom"
    yield from _of_fact(f"Landing at the {end}", f"{end}_landing")(job, finding, stairs)
    concerned = [s for s in job.deck.stairs if s.index in stairs and s.landings]
    lengths = [landing.length_nm for stair in concerned for landing in stair.landings]
    if lengths:

        def longer(stair: Stair, value: int) -> Stair:
            landings = tuple(_lengthened(one, value) for one in stair.landings)
            return replace(stair, landings=landings) if stair in concerned else stair

        def apply(job: Job, value: int) -> Job:
            changed = tuple(longer(stair, value) for stair in job.deck.stairs)
            return replace(job, deck=replace(job.deck, stairs=changed))

        places = {stair.index: stair for stair in concerned}
        yield Remedy("Landings", _places(places, "landings"), min(lengths), apply, 1)


def _lengthened(landing: Landing, value: int) -> Landing:
    return replace(landing, length_nm=max(landing.length_nm, value))


def _slopes(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    """Bring a slope to the limit: what is built by eye has no smaller step."""
    things = "tread" if "treads" in finding.note else "landing"
    taped, limit = _taped(job, stairs, f"{things}_slope"), finding.held_to[0]
    setting = _setting(taped, f"{things}_slope")

    def apply(job: Job, _value: int) -> Job:
        return setting(job, Fraction(limit.base, SLOPE_STEPS))

    if taped:
        change = f"{things.capitalize()}s sloped no more than {limit.value}"
        yield Remedy(change, _places(taped, f"{things}_slope"), 0, apply, 0, counted=True)


def _leans(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    taped, limit = _taped(job, stairs, "riser_lean_deg"), finding.held_to[0]
    setting = _setting(taped, "riser_lean_deg")

    def apply(job: Job, _value: int) -> Job:
        return setting(job, limit.base / ANGLE_STEPS)

    if taped:
        change = f"Risers that lean no more than {limit.value} {limit.unit}"
        yield Remedy(change, _places(taped, "riser_lean"), 0, apply, 0, counted=True)


def _gaps_of_risers(job: Job, finding: Finding, stairs: frozenset[int]) -> Iterator[Remedy]:
    """Thicken the treads, which leaves less of an open riser open; or close it."""
    taped = _taped(job, stairs, "tread_thickness_nm")
    if taped:
        setting, least = _setting(taped, "tread_thickness_nm"), min(taped.values())
        member = _places(taped, "tread_thickness")
        yield Remedy("Thickness of the treads", member, least, setting, 1)

    def close(job: Job, _value: int) -> Job:
        return _with_facts(job, dict.fromkeys(taped, RiserKind.SOLID), "riser_kind")

    member = _places(taped, "riser_kind")
    yield Remedy("Boards that close the risers", member, 0, close, 0, counted=True)


OF_BUILT: Mapping[str, Remedies] = {
    "riser_spreads": _evened("Difference of the risers", "risers", _within),
    "tread_spreads": _evened("Difference of the treads", "treads", _within),
    "nosing_spreads": _evened("Difference of the nosings", "nosings", _within),
    "riser_steps": _evened("Difference of risers that follow each other", "risers", _stepping),
    "tread_steps": _evened("Difference of treads that follow each other", "treads", _stepping),
    "riser_gaps": _gaps_of_risers,
    "nosing_radii": _of_fact("Rounding of the nosings", "nosing_radius"),
    "headrooms": _of_fact("Headroom", "headroom"),
    "landing_depths": _landings,
    "stair_slopes": _slopes,
    "riser_leans": _leans,
}
