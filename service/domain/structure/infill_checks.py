"""Infill under the load on it: pickets and infill rails as beams; the rest is left to tests."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from service.domain.layout.infill_records import CableRow, PanelRow
from service.domain.layout.records import Layout, RailRow
from service.domain.lengths import mm_of
from service.domain.structure.checks import Check, Unit
from service.domain.structure.judging import (
    STATICS,
    bending,
    figure,
    open_check,
    worst_of,
)
from service.domain.structure.loads import PRESSURE_MPA, Load, LoadPlace
from service.domain.structure.members import Bending, simple_line, simple_patch
from service.domain.structure.rail_checks import rail_spans
from service.domain.structure.specification import Member, PicketLoad, StructureSpec

ENDS = "Pinned at both rails, span clear between them; the joints are not screened"
GROSS = "The load lies on the gross area, openings included; one picket takes what its pitch covers"
WHOLE = "One picket takes the whole load"
CABLE = "Cables: their strength comes from the test report"
CABLE_PULL = "The pull of the cables on the posts they end at comes from the test report"
GLASS = "Glass: its strength and its holding come from the test report and the glass standard"


@dataclass(frozen=True, slots=True)
class Pickets:
    """Pickets that are loaded alike, by the sections they stand in.

    Attributes:
        span_mm: Clear between the rails. [mm]
        pitch_mm: Centre to centre, horizontal. [mm]
    """

    names: tuple[str, ...]
    span_mm: float
    pitch_mm: float


def picket_groups(layout: Layout) -> dict[bool, tuple[Pickets, ...]]:
    """Give the pickets of level and stair, equal ones together."""
    alike: dict[tuple[bool, int, int], list[str]] = defaultdict(list)
    for section in layout.sections:
        row = section.pickets
        if section.infill is None and row.centres_nm:
            span = row.length_nm - 2 * layout.system.pickets.enters_nm
            alike[section.rake is not None, span, row.pitch_nm].append(section.name)
    groups: dict[bool, list[Pickets]] = defaultdict(list)
    for (raked, span_nm, pitch_nm), names in alike.items():
        groups[raked].append(Pickets(tuple(names), mm_of(span_nm), mm_of(pitch_nm)))
    return {raked: tuple(found) for raked, found in groups.items()}


def infill_checks(layout: Layout, spec: StructureSpec, loads: Sequence[Load]) -> Iterator[Check]:
    """Check what fills the guard for each load on it."""
    on_infill = [load for load in loads if load.place is LoadPlace.INFILL]
    groups = picket_groups(layout)
    for load in on_infill:
        yield from _picket_checks(groups, spec, load)
        yield from _rail_checks(layout, spec, load)
        yield from _left_open(layout, load)


def _picket_checks(
    groups: Mapping[bool, Sequence[Pickets]], spec: StructureSpec, load: Load
) -> Iterator[Check]:
    for pickets in groups.values():
        names = [name for one in pickets for name in one.names]
        if spec.picket is None:
            missing = "structure.picket: the section and alloy of the pickets"
            yield open_check("picket bending", names, missing, load=load)
        else:
            member = spec.picket
            if load.kind is Unit.FORCE:
                house = spec.picket_load is PicketLoad.SHARE
                yield worst_of(_whole(one, member, load, house=house) for one in pickets)
            house = load.kind is Unit.FORCE and spec.picket_load is PicketLoad.WHOLE
            yield worst_of(_share(one, member, load, house=house) for one in pickets)


def _whole(pickets: Pickets, member: Member, load: Load, *, house: bool) -> Check:
    axis, e_mpa = member.section.outward, member.alloy.e_mpa
    worked = simple_patch(load.value, load.patch_mm, pickets.span_mm, e_mpa, axis.i_mm4)
    return _picket("picket bending, whole load on one", pickets, member, load, load.value, worked,
                   house=house, assumptions=(WHOLE, ENDS))  # fmt: skip


def _share(pickets: Pickets, member: Member, load: Load, *, house: bool) -> Check:
    axis, e_mpa = member.section.outward, member.alloy.e_mpa
    if load.kind is Unit.FORCE:
        share = load.value * min(1.0, pickets.pitch_mm / load.patch_mm)
        worked = simple_patch(share, load.patch_mm, pickets.span_mm, e_mpa, axis.i_mm4)
    else:
        line = load.value * PRESSURE_MPA * pickets.pitch_mm
        share = line * pickets.span_mm
        worked = simple_line(line, pickets.span_mm, e_mpa, axis.i_mm4)
    return _picket("picket bending, share of the load", pickets, member, load, share, worked,
                   house=house, assumptions=(GROSS, ENDS))  # fmt: skip


def _picket(
    name: str,
    pickets: Pickets,
    member: Member,
    load: Load,
    force: float,
    worked: Bending,
    *,
    house: bool,
    assumptions: tuple[str, ...],
) -> Check:
    force_only = load.kind is Unit.FORCE
    patch = min(load.patch_mm, pickets.span_mm) if force_only else pickets.span_mm
    return bending(
        name,
        pickets.names,
        member,
        member.section.outward,
        figure("M", "moment at mid-height", worked.moment_n_mm, Unit.MOMENT),
        formula="M = W (L / 4 - c / 8); f = M / S",
        inputs=(
            figure("W", "load on one picket", force, Unit.FORCE),
            figure("L", "clear length of a picket", pickets.span_mm, Unit.LENGTH),
            figure("c", "length the load is spread over", patch, Unit.LENGTH),
            figure("pitch", "centre to centre of pickets", pickets.pitch_mm, Unit.LENGTH),
            figure("d", "deflection, for information", worked.deflection_mm, Unit.LENGTH),
        ),
        load=load,
        source=STATICS,
        house=house,
        assumptions=assumptions,
    )


def _rail_checks(layout: Layout, spec: StructureSpec, load: Load) -> Iterator[Check]:
    """Check rails between top and bottom rail, one taking the whole load."""
    rows = {one.name: one.infill for one in layout.sections if isinstance(one.infill, RailRow)}
    if not rows:
        return
    if spec.infill_rail is None:
        missing = "structure.infill_rail: the section and alloy of the infill rails"
        yield open_check("infill rail bending", rows, missing, load=load)
        return
    member, found = spec.infill_rail, []
    for spans in (one for group in rail_spans(layout).values() for one in group):
        names = [name for name in spans.names if name in rows]
        if names:
            pitch = max(_rail_pitch_mm(rows[name]) for name in names)
            found.append(_infill_rail(names, spans.span_mm, pitch, member, load))
    yield worst_of(found)


def _rail_pitch_mm(row: RailRow) -> float:
    return mm_of(row.depth_nm + max(row.gaps_nm))


def _infill_rail(
    names: Sequence[str], span: float, pitch: float, member: Member, load: Load
) -> Check:
    axis, e_mpa = member.section.outward, member.alloy.e_mpa
    if load.kind is Unit.FORCE:
        force, patch = load.value, min(load.patch_mm, span)
        worked = simple_patch(force, patch, span, e_mpa, axis.i_mm4)
    else:
        line, patch = load.value * PRESSURE_MPA * pitch, span
        force, worked = line * span, simple_line(line, span, e_mpa, axis.i_mm4)
    return bending(
        "infill rail bending",
        names,
        member,
        axis,
        figure("M", "moment at mid-span", worked.moment_n_mm, Unit.MOMENT),
        formula="M = W (L / 4 - c / 8); f = M / S",
        inputs=(
            figure("W", "load on one infill rail", force, Unit.FORCE),
            figure("L", "span, centre to centre of posts", span, Unit.LENGTH),
            figure("c", "length the load is spread over", patch, Unit.LENGTH),
        ),
        load=load,
        source=STATICS,
        assumptions=("One rail takes the whole load of a force, over a simple span",),
    )


def cable_pulls(layout: Layout, loads: Sequence[Load]) -> Iterator[Check]:
    """Leave open, for each load at the top, the posts that cables pull at as well."""
    pulled = dict.fromkeys(name for run in layout.cables for name in (run.start, run.end))
    for load in loads:
        if pulled and load.clauses:
            yield open_check("posts under the pull of cables", pulled, CABLE_PULL, load=load)


def _left_open(layout: Layout, load: Load) -> Iterator[Check]:
    cables = [one.name for one in layout.sections if isinstance(one.infill, CableRow)]
    panels = [one.name for one in layout.sections if isinstance(one.infill, PanelRow)]
    if cables:
        yield open_check("cables", cables, CABLE, load=load)
    if panels:
        yield open_check("glass", panels, GLASS, load=load)
