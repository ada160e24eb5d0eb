"""Top rails as beams: bending square to the guard and downward, and movement with the posts."""

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from service.domain.layout.records import Layout, Section
from service.domain.layout.system import Method
from service.domain.lengths import mm_of
from service.domain.structure.checks import Check, Figure, Unit
from service.domain.structure.judging import (
    BEAM_TABLES,
    STATICS,
    bending,
    check,
    figure,
    open_check,
    recalled,
    worst_of,
)
from service.domain.structure.loads import Load, LoadPlace
from service.domain.structure.members import (
    BS_6180_MM,
    Bending,
    e985_downward_mm,
    e985_mid_rail_mm,
    mid_rail_deflection_mm,
    mid_rail_under_line_mm,
    simple_line,
    simple_point,
    two_span_line,
    two_span_line_on_one,
    two_span_point,
)
from service.domain.structure.sections import AxisProperties
from service.domain.structure.specification import Member, StructureSpec

BS_6180_MOVEMENT = "top rail movement, BS 6180"
EQUAL_SPANS = (
    "Taken as two equal spans of the longest bay, which covers a shorter neighbour; posts do not "
    "give way"
)
JOINTS = "Joints between rail and post are not screened"
HOUSE = "as quoted by others, a house check: no code held limits it"
SLOPE = "On a stair the span is taken along the slope, a line load per horizontal length"


@dataclass(frozen=True, slots=True)
class Spans:
    """Sections whose top rail spans alike.

    Attributes:
        span_mm: Longest span, centre to centre of posts, along the slope. [mm]
        flat: Horizontal over sloped length, 1 on the level.
        continuous: Whether the rail runs past a post in its middle.
        height_mm: Of the rail's top above the surface or nosing line. [mm]
    """

    names: tuple[str, ...]
    span_mm: float
    flat: float
    continuous: bool
    height_mm: float


def rail_spans(layout: Layout) -> dict[bool, tuple[Spans, ...]]:
    """Give the spans of the top rails by whether they belong to a stair, equal ones together."""
    system = layout.system
    alike: dict[tuple[bool, float, float, bool], list[str]] = defaultdict(list)
    for section in layout.sections:
        flat = math.cos(math.radians(section.rake.angle_deg)) if section.rake else 1.0
        span = mm_of(_longest_bay_nm(section)) / flat
        past = bool(section.line_posts) and system.method is Method.CONTINUOUS
        alike[section.rake is not None, span, flat, past].append(section.name)
    groups: dict[bool, list[Spans]] = defaultdict(list)
    for (raked, span, flat, past), names in alike.items():
        height = mm_of(system.stair_guard_height_nm if raked else system.guard_height_nm)
        groups[raked].append(Spans(tuple(names), span, flat, past, height))
    return {raked: tuple(found) for raked, found in groups.items()}


def _longest_bay_nm(section: Section) -> int:
    places = (0, *section.line_posts_nm, section.length_nm)
    return max(end - start for start, end in pairwise(places))


def rail_checks(
    groups: Mapping[bool, Sequence[Spans]],
    spec: StructureSpec,
    loads: Mapping[bool, Sequence[Load]],
) -> Iterator[Check]:
    """Check the top rails of level and stair for each load on them; wind leaves them out."""
    for raked, spans in groups.items():
        names = [name for one in spans for name in one.names]
        for load in loads[raked]:
            if load.kind is Unit.PRESSURE:
                continue
            if spec.top_rail is None:
                missing = "structure.top_rail: the section and alloy of the top rail"
                yield open_check("top rail bending", names, missing, load=load)
                continue
            rail = spec.top_rail
            yield worst_of(_bending(one, rail, load, outward=False) for one in spans)
            yield worst_of(_sag(one, rail, load) for one in spans)
            if load.place is LoadPlace.DOWNWARD:
                continue
            yield worst_of(_bending(one, rail, load, outward=True) for one in spans)
            if spec.post is not None:
                yield worst_of(_movement(one, rail, spec.post, load) for one in spans)
                yield worst_of(_movement(one, rail, spec.post, load, bs=True) for one in spans)


def _worked(spans: Spans, load: Load, alloy_e: float, axis: AxisProperties) -> tuple[str, Bending]:
    """Give the formula and what the load does, for the way the rail spans."""
    value, span, i_mm4 = load.value, spans.span_mm, axis.i_mm4
    if load.kind is Unit.FORCE:
        if spans.continuous:
            return "M = 13 P L / 64", two_span_point(value, span, alloy_e, i_mm4)
        return "M = P L / 4", simple_point(value, span, alloy_e, i_mm4)
    line = value * spans.flat
    if not spans.continuous:
        return "M = w L^2 / 8", simple_line(line, span, alloy_e, i_mm4)
    both = two_span_line(line, span, alloy_e, i_mm4)
    one = two_span_line_on_one(line, span, alloy_e, i_mm4)
    worst = max(both.deflection_mm, one.deflection_mm)
    return "M = w L^2 / 8 over the middle post", Bending(
        both.sagging_n_mm, both.hogging_n_mm, both.reactions_n, worst
    )


def _bending(spans: Spans, rail: Member, load: Load, *, outward: bool) -> Check:
    axis = rail.section.outward if outward else rail.section.other
    formula, worked = _worked(spans, load, rail.alloy.e_mpa, axis)
    return bending(
        f"top rail bending, {'outward' if outward else 'downward'}",
        spans.names,
        rail,
        axis,
        figure("M", "greatest moment in the rail", worked.moment_n_mm, Unit.MOMENT),
        formula=f"{formula}; f = M / S",
        inputs=_inputs(spans, load),
        load=load,
        source=BEAM_TABLES if not spans.continuous else f"{BEAM_TABLES} and {STATICS.lower()}",
        assumptions=_assumptions(spans),
    )


def _sag(spans: Spans, rail: Member, load: Load) -> Check:
    axis = rail.section.other
    _, worked = _worked(spans, load, rail.alloy.e_mpa, axis)
    point = "d = 0.01501 P L^3 / (E I)" if spans.continuous else "d = P L^3 / (48 E I)"
    line = "d = 0.00915 w L^4 / (E I)" if spans.continuous else "d = 5 w L^4 / (384 E I)"
    return check(
        "top rail sag",
        spans.names,
        f"{point if load.kind is Unit.FORCE else line}; limit L / 96",
        (*_inputs(spans, load), *_stiffness("", rail, axis)),
        figure("d", "sag at the worst place", worked.deflection_mm, Unit.LENGTH),
        figure("limit", "L / 96", e985_downward_mm(spans.span_mm), Unit.LENGTH),
        source=f"{BEAM_TABLES}. ASTM E985 limit {HOUSE}",
        load=load,
        house=True,
        assumptions=(*_assumptions(spans), *recalled(rail.alloy.name, rail.alloy.cited, {"e"})),
    )


def _movement(spans: Spans, rail: Member, post: Member, load: Load, *, bs: bool = False) -> Check:
    """Hold the outward movement of the rail's middle, posts included, against a house limit."""
    rail_axis, post_axis = rail.section.outward, post.section.weaker
    rail_ei, post_ei = rail.alloy.e_mpa * rail_axis.i_mm4, post.alloy.e_mpa * post_axis.i_mm4
    span, height = spans.span_mm, spans.height_mm
    if load.kind is Unit.LINE_LOAD:
        formula = "d = 5 w L^4 / (384 E_r I_r) + w L h^3 / (3 E_p I_p)"
        moved = mid_rail_under_line_mm(load.value * spans.flat, span, height, rail_ei, post_ei)
    else:
        formula = "d = P L^3 / (48 E_r I_r) + (P / 2) h^3 / (3 E_p I_p)"
        moved = mid_rail_deflection_mm(load.value, span, height, rail_ei, post_ei)
    limit = BS_6180_MM if bs else e985_mid_rail_mm(spans.height_mm, spans.span_mm)
    named = "25 mm" if bs else "h / 24 + L / 96"
    return check(
        BS_6180_MOVEMENT if bs else "top rail movement, ASTM E985",
        spans.names,
        f"{formula}; limit {named}",
        (
            *_inputs(spans, load),
            figure("h", "height of the rail above a rigid foot", spans.height_mm, Unit.LENGTH),
            *_stiffness("_r", rail, rail_axis),
            *_stiffness("_p", post, post_axis),
        ),
        figure("d", "outward movement of the rail's middle", moved, Unit.LENGTH),
        figure("limit", named, limit, Unit.LENGTH),
        source=f"{STATICS}. {'BS 6180:1999 6.4.1' if bs else 'ASTM E985'} limit {HOUSE}",
        load=load,
        house=True,
        assumptions=(
            "The rail is taken as a simple span; the feet of the posts are rigid",
            *recalled(rail.alloy.name, rail.alloy.cited, {"e"}),
        ),
    )


def _inputs(spans: Spans, load: Load) -> tuple[Figure, ...]:
    name, unit = ("P", Unit.FORCE) if load.kind is Unit.FORCE else ("w", Unit.LINE_LOAD)
    value = load.value if load.kind is Unit.FORCE else load.value * spans.flat
    return (
        figure(name, "load on the rail", value, unit),
        figure("L", "span, centre to centre of posts", spans.span_mm, Unit.LENGTH),
    )


def _stiffness(suffix: str, member: Member, axis: AxisProperties) -> tuple[Figure, ...]:
    alloy, section = member.alloy, member.section
    return (
        figure(f"E{suffix}", f"modulus of elasticity, {alloy.name}", alloy.e_mpa, Unit.STRESS),
        figure(f"I{suffix}", f"second moment, {section.name}", axis.i_mm4, Unit.SECOND_MOMENT),
    )


def _assumptions(spans: Spans) -> tuple[str, ...]:
    notes = [JOINTS]
    if spans.continuous:
        notes.insert(0, EQUAL_SPANS)
    if spans.flat < 1:
        notes.append(SLOPE)
    return tuple(notes)
