"""Stronger posts, rails and pickets: another alloy, a thicker wall, a larger post, closer posts."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from service.domain.lengths import mm_of, snap_mm
from service.domain.structure.members import bending_allowable
from service.domain.structure.sections import Outline, section_of
from service.domain.structure.specification import Member
from service.usecases.remedy import Job, Remedy
from service.usecases.weakness import (
    FINE_NM,
    LARGEST_NM,
    QUARTER_NM,
    SPAN_NM,
    Cure,
    Weakness,
    fine,
    spec_of,
    with_spec,
)


def alloys(name: str) -> Cure:
    """Take the next stronger alloy held."""

    def cure(job: Job, _weak: Weakness) -> Iterator[Remedy]:
        member: Member | None = getattr(spec_of(job), name)
        if member is None:
            return
        known = {
            alloy.name: allowed.stress_mpa
            for alloy in (member.alloy, *job.materials.alloys.values())
            if (allowed := bending_allowable(alloy, None, welded=member.welded)) is not None
        }
        now = known.get(member.alloy.name, 0.0)
        stronger = sorted((f for f in known if known[f] > now), key=lambda f: known[f])
        ladder = (member.alloy.name, *stronger)

        def apply(job: Job, value: int) -> Job:
            weak_one: Member = getattr(spec_of(job), name)
            return with_spec(
                job, **{name: replace(weak_one, alloy=job.materials.alloys[ladder[value]])}
            )

        if stronger:
            yield Remedy(
                f"Alloy of the {name.replace('_', ' ')}", f"structure.{name}.alloy", 0, apply, 1,
                counted=True, furthest=len(stronger), words=ladder.__getitem__,
            )  # fmt: skip

    return cure


def walls(name: str) -> Cure:
    """Thicken the wall of a tube; its outer size, and so the layout, stays."""

    def cure(job: Job, _weak: Weakness) -> Iterator[Remedy]:
        member: Member | None = getattr(spec_of(job), name)
        outline = member.section.outline if member else None
        if member is None or outline is None or not outline.wall_mm:
            return

        def apply(job: Job, value: int) -> Job:
            thin: Member = getattr(spec_of(job), name)
            assert thin.section.outline is not None  # noqa: S101 - walls do not take it away
            thick = section_of(replace(thin.section.outline, wall_mm=mm_of(value)))
            return with_spec(job, **{name: replace(thin, section=thick)})

        smaller_mm = min(outline.outward_mm, outline.other_mm)
        yield Remedy(
            f"Wall of the {name.replace('_', ' ')}", f"structure.{name}.section.wall",
            snap_mm(outline.wall_mm), apply, 1, grid_nm=FINE_NM, words=fine,
            furthest=snap_mm(smaller_mm / 2) - 1,
        )  # fmt: skip

    return cure


def post_sizes(job: Job, _weak: Weakness) -> Iterator[Remedy]:
    """Take a larger post, both ways by as much; the layout changes with its width."""
    post = spec_of(job).post
    outline = post.section.outline if post else None
    if outline is None:
        return

    def apply(job: Job, value: int) -> Job:
        thin = spec_of(job).post
        assert thin is not None and thin.section.outline is not None  # noqa: S101, PT018
        more_nm = value - snap_mm(thin.section.outline.other_mm)
        larger = replace(thin, section=section_of(_grown(thin.section.outline, mm_of(more_nm))))
        system = replace(job.system, post_width_nm=job.system.post_width_nm + more_nm)
        return replace(with_spec(job, post=larger), system=system)

    yield Remedy("Size of the post", "structure.post.section and system.post.width",
                 snap_mm(outline.other_mm), apply, 1, grid_nm=QUARTER_NM, words=fine,
                 furthest=_clear_between_holes_nm(job))  # fmt: skip


def _grown(outline: Outline, more_mm: float) -> Outline:
    return replace(
        outline, outward_mm=outline.outward_mm + more_mm, other_mm=outline.other_mm + more_mm
    )


def _clear_between_holes_nm(job: Job) -> int:
    """Give how wide a post may grow before it stands on the holes of its plate."""
    base, own = spec_of(job).base, job.system.base
    holes = (base.holes if base else None) or (own.holes if own else None) or ()
    reach = min((max(abs(x), abs(y)) for x, y in holes), default=LARGEST_NM)
    return min(LARGEST_NM, 2 * reach - 1)


def spans(job: Job, weak: Weakness) -> Iterator[Remedy]:
    """Set posts closer."""
    name, member = ("max_stair_span_nm", "stair_span") if weak.on_stair else ("max_span_nm", "span")

    def apply(job: Job, value: int) -> Job:
        changes: dict[str, Any] = {name: value}
        return replace(job, system=replace(job.system, **changes))

    where = "Span on stairs" if weak.on_stair else "Span"
    yield Remedy(f"{where}, by closer posts", f"system.limits.{member}", getattr(job.system, name),
                 apply, -1, grid_nm=SPAN_NM, furthest=LARGEST_NM)  # fmt: skip
