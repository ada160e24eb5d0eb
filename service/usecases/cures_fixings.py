"""Stronger fixings: longer, thicker, better rated, farther apart or more fasteners."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from service.domain.lengths import inches
from service.domain.structure.specification import Fastener, FastenerKind, SideMount
from service.usecases.remedy import Job, Remedy
from service.usecases.weakness import (
    HALF_NM,
    LARGEST_NM,
    QUARTER_NM,
    Cure,
    Weakness,
    fine,
    spec_of,
    with_spec,
)

_POUND_N = 4.4482216152605
TENSION_STEP_N = 50
LONGEST_FASTENER_NM = inches(12)
MOST_PER_ROW = 4
# Bolts as they are commonly sold; common practice, no source.
BOLTS_NM = tuple(inches(0, part, 16) for part in (4, 5, 6, 7, 8, 10, 12, 14, 16))


def _fastener_of(job: Job, weak: Weakness) -> tuple[Fastener | None, str]:
    spec = spec_of(job)
    if weak.on_rim:
        side = spec.side_mount
        return (side.fastener if side else None), "structure.side_mount.fastener"
    return spec.fastener, "structure.fastener"


def _side_of(job: Job) -> SideMount:
    side = spec_of(job).side_mount
    assert side is not None  # noqa: S101 - a check of it is over
    return side


def _changing(weak: Weakness, change: Callable[[Fastener, int], Fastener]) -> Callable[..., Job]:
    """Change the fastener in use; under a plate the system's diameter goes with it."""

    def apply(job: Job, value: int) -> Job:
        spec, system = spec_of(job), job.system
        if weak.on_rim:
            side = _side_of(job)
            return with_spec(job, side_mount=replace(side, fastener=change(side.fastener, value)))
        assert spec.fastener is not None  # noqa: S101 - as above
        fastener = change(spec.fastener, value)
        if system.base is not None:
            base = replace(system.base, fastener_nm=fastener.diameter_nm)
            system = replace(system, base=base)
        return replace(with_spec(job, fastener=fastener), system=system)

    return apply


def lengths(job: Job, weak: Weakness) -> Iterator[Remedy]:
    """Take a longer lag screw; the timber must be as deep."""
    fastener, where = _fastener_of(job, weak)
    if fastener is None or fastener.kind is not FastenerKind.LAG:
        return
    apply = _changing(weak, lambda one, value: replace(one, length_nm=value))
    yield Remedy("Length of the lag screw, with timber as deep", f"{where}.length",
                 fastener.length_nm, apply, 1, grid_nm=HALF_NM,
                 furthest=LONGEST_FASTENER_NM)  # fmt: skip


def diameters(job: Job, weak: Weakness) -> Iterator[Remedy]:
    """Take the next thicker screw whose thread is held, or the next thicker bolt."""
    fastener, where = _fastener_of(job, weak)
    if fastener is None or fastener.kind is FastenerKind.RATED:
        return
    lag = fastener.kind is FastenerKind.LAG
    sizes: Sequence[int] = sorted(job.materials.lag_threads) if lag else BOLTS_NM
    ladder = (fastener.diameter_nm, *(size for size in sizes if size > fastener.diameter_nm))

    def thicker(one: Fastener, value: int) -> Fastener:
        size = ladder[value]
        thread = job.materials.lag_threads[size] if lag else one.thread
        return replace(one, diameter_nm=size, thread=thread)

    if len(ladder) > 1:
        what = "lag screw" if lag else "bolt"
        yield Remedy(f"Diameter of the {what}", f"{where}.diameter", 0, _changing(weak, thicker), 1,
                     counted=True, furthest=len(ladder) - 1,
                     words=lambda value: fine(ladder[value]))  # fmt: skip


def washers(job: Job, weak: Weakness) -> Iterator[Remedy]:
    """Take a larger washer."""
    fastener, where = _fastener_of(job, weak)
    if fastener is None or fastener.washer_nm is None:
        return
    apply = _changing(weak, lambda one, value: replace(one, washer_nm=value))
    yield Remedy("Washer", f"{where}.washer", fastener.washer_nm, apply, 1, grid_nm=QUARTER_NM,
                 furthest=LARGEST_NM)  # fmt: skip


def edges(name: str) -> Cure:
    """Move fasteners in from an edge or end, where the request says how far they are."""

    def cure(job: Job, weak: Weakness) -> Iterator[Remedy]:
        fastener, where = _fastener_of(job, weak)
        given = getattr(fastener, f"{name}_nm") if fastener else None
        if given is not None:

            def moved(one: Fastener, value: int) -> Fastener:
                changes: dict[str, Any] = {f"{name}_nm": value}
                return replace(one, **changes)

            apply = _changing(weak, moved)
            yield Remedy(f"{name.capitalize()} distance of the fasteners",
                         f"{where}.{name}_distance", given, apply, 1)  # fmt: skip

    return cure


def ratings(job: Job, weak: Weakness) -> Iterator[Remedy]:
    """Ask for a fastener or anchor that its maker rates higher."""
    spec = spec_of(job)
    on_slab = weak.name == "anchors in the slab"
    fastener, where = (
        (spec.slab_anchor, "structure.slab_anchor") if on_slab else _fastener_of(job, weak)
    )
    if fastener is None or fastener.tension_n is None:
        return

    def higher(one: Fastener, value: int) -> Fastener:
        return replace(one, tension_n=float(value * TENSION_STEP_N))

    def anchored(job: Job, value: int) -> Job:
        anchor = spec_of(job).slab_anchor
        assert anchor is not None  # noqa: S101 - its check is over
        return with_spec(job, slab_anchor=replace(anchor, tension_n=float(value * TENSION_STEP_N)))

    def words(value: int) -> str:
        return given if value == now else _tension(value * TENSION_STEP_N)

    now = math.floor(fastener.tension_n / TENSION_STEP_N)
    given = _tension(fastener.tension_n)
    yield Remedy(f"Allowable tension of {'the anchor' if on_slab else 'the fastener'}",
                 f"{where}.tension", now,
                 anchored if on_slab else _changing(weak, higher), 1, counted=True,
                 furthest=2_000, words=words)  # fmt: skip


def _tension(newtons: float) -> str:
    """Print a force in pounds rounded up and in newtons."""
    return f"{math.ceil(round(newtons / _POUND_N, 3))} lb ({newtons:.0f} N)"


def plates(job: Job, weak: Weakness) -> Iterator[Remedy]:
    """Take a larger plate, its holes as far from its edges as before."""
    base, own = spec_of(job).base, job.system.base
    width = (base.width_nm if base else None) or (own.width_nm if own else None)
    if weak.on_rim or base is None or width is None:
        return

    def apply(job: Job, value: int) -> Job:
        plate, own = spec_of(job).base, job.system.base
        now = (plate.width_nm if plate else None) or (own.width_nm if own else None)
        assert plate is not None and now is not None  # noqa: S101, PT018 - as looked up above
        more = value - now
        larger = replace(
            plate,
            width_nm=None if plate.width_nm is None else plate.width_nm + more,
            depth_nm=None if plate.depth_nm is None else plate.depth_nm + more,
            holes=None if plate.holes is None else _moved_out(plate.holes, more // 2),
        )
        system = job.system
        if own is not None:
            base = replace(
                own, width_nm=own.width_nm + more, holes=_moved_out(own.holes, more // 2)
            )
            system = replace(system, base=base)
        return replace(with_spec(job, base=larger), system=system)

    yield Remedy("Width and depth of the base plate, its holes moved out",
                 "structure.base or system.base: width, depth and holes", width, apply, 1,
                 grid_nm=HALF_NM, furthest=LARGEST_NM)  # fmt: skip


def _moved_out(holes: Sequence[tuple[int, int]], by_nm: int) -> tuple[tuple[int, int], ...]:
    def out(place: int) -> int:
        return place + by_nm * ((place > 0) - (place < 0))

    return tuple((out(x), out(y)) for x, y in holes)


def rows(job: Job, weak: Weakness) -> Iterator[Remedy]:
    """Put more fasteners in each row through a rim, or the rows farther apart."""
    side = spec_of(job).side_mount
    if not weak.on_rim or side is None:
        return

    def more(job: Job, value: int) -> Job:
        return with_spec(job, side_mount=replace(_side_of(job), per_row=value))

    def apart(job: Job, value: int) -> Job:
        return with_spec(job, side_mount=replace(_side_of(job), spacing_nm=value))

    yield Remedy("Fasteners in each row", "structure.side_mount.per_row", side.per_row, more, 1,
                 counted=True, furthest=MOST_PER_ROW)  # fmt: skip
    yield Remedy("Spacing of the rows", "structure.side_mount.spacing", side.spacing_nm, apart, 1,
                 grid_nm=QUARTER_NM, furthest=LARGEST_NM)  # fmt: skip


def rims(job: Job, _weak: Weakness) -> Iterator[Remedy]:
    """Tie the rim to the joists."""

    def held(job: Job, _value: int) -> Job:
        return with_spec(job, side_mount=replace(_side_of(job), rim_held=True))

    yield Remedy("Rim tied to the joists so that it cannot roll", "structure.side_mount.rim_held",
                 0, held, 0, counted=True)  # fmt: skip
