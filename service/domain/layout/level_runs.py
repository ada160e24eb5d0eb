"""Level guard: from a level's chains of stretches to posts, runs and spans."""

import math
from dataclasses import replace
from itertools import pairwise

from service.domain.errors import UnbuildableLayout
from service.domain.layout.choice_records import Preference, RunChoice
from service.domain.layout.choices import alternatives, cost_of_places, divide_run
from service.domain.layout.deck import Footing
from service.domain.layout.division import Division, mirrored
from service.domain.layout.edge_plan import LevelPlan
from service.domain.layout.frame import Frame, Span, SpanChain
from service.domain.layout.guard_line import Chain, GuardLine, Stretch
from service.domain.layout.outline import EdgeLine
from service.domain.layout.records import Bay, ClearOpening, PostPosition, Run
from service.domain.layout.stations import Key, Station
from service.domain.layout.system import Mount
from service.domain.lengths import FOOT, MILLIMETRE, mm_of, snap_mm

# A wished place speaks of the runs that pass this near to it.
BESIDE_NM = 3 * FOOT
# What lies beside a post that leaves a gap there, by the kind of its station.
BESIDE = {"end": "wall", "corner": "post"}


def add_level(frame: Frame, guard: GuardLine) -> None:
    """Add every post, run and span of a level's guard to the frame."""
    names: dict[Key, str] = {}
    frame.inward_nm[guard.plan.level.name] = guard.plan.inward_nm
    for chain in guard.chains:
        _add_chain(frame, guard.plan, chain, names)
    for station in guard.lone:
        _post_at(frame, guard.plan, station, names)
    for station, place, gap_nm in guard.gaps:
        frame.openings.append(ClearOpening(names[station.key], place, gap_nm, on_stair=False))


def _add_chain(frame: Frame, plan: LevelPlan, chain: Chain, names: dict[Key, str]) -> None:
    spans: list[Span] = []
    start = _post_at(frame, plan, chain.stretches[0].start, names)
    for stretch in chain.stretches:
        spans.extend(_add_stretch(frame, plan, stretch, start, names))
        start = spans[-1].end
    frame.chains.append(SpanChain(plan.level.name, tuple(spans), chain.closed))


def _post_at(frame: Frame, plan: LevelPlan, station: Station, names: dict[Key, str]) -> str:
    """Stand the post of a station, once; note the opening it leaves beside a wall."""
    if station.key in names:
        return names[station.key]
    edge = plan.level.edges[station.edge]
    name = frame.add_post(
        station.position,
        station.at,
        level=plan.level.name,
        edge=edge.number,
        axis_deg=station.axis_deg,
        turn_deg=station.turn_deg,
        surface=_surface(frame, plan),
        rail_top_nm=frame.system.guard_height_nm,
        stair=station.roles[0].stair if station.roles else "",
        width_nm=station.width_nm,
        where=plan.level.where(edge),
    )
    names[station.key] = frame.stood[plan.level.name, station.key] = name
    frame.stair_posts.update(dict.fromkeys(station.roles, name))
    if station.gap_nm is not None:
        beside = BESIDE.get(station.key[0], "obstacle")
        opening = ClearOpening(name, f"post to {beside}", station.gap_nm, on_stair=False)
        frame.openings.append(opening)
    return name


def _surface(frame: Frame, plan: LevelPlan) -> str:
    if frame.system.mount is Mount.FASCIA:
        return "fascia"
    return "deck" if plan.level.landing_of is None else Footing.LANDING.value


def _add_stretch(
    frame: Frame, plan: LevelPlan, stretch: Stretch, start: str, names: dict[Key, str]
) -> list[Span]:
    """Divide a stretch into sections and add its line posts and its end post."""
    system, line = frame.system, plan.edges[stretch.edge].line
    edge = plan.level.edges[stretch.edge]
    ends = [_faces(frame, line, station) for station in (stretch.start, stretch.end)]
    picket_faces = (ends[0][0], ends[1][0])
    run = f"R{len(frame.runs) + 1}"
    try:
        divisions = _divide(frame, plan, run, stretch, picket_faces)
    except UnbuildableLayout as refusal:
        refusal.element = refusal.element or f"level {plan.level.name}, edge {edge.number}"
        refusal.where = refusal.where or plan.level.where(edge)
        raise
    half = system.post_width_nm // 2
    spans: list[Span] = []
    bays: list[Bay] = []
    left = start
    for number, division in enumerate(divisions):
        inside = [
            _line_post(frame, plan, stretch, division.start_nm + along)
            for along in division.line_posts_nm
        ]
        outer = (number == 0, number == len(divisions) - 1)
        if outer[1]:
            right = _post_at(frame, plan, stretch.end, names)
        else:
            right = _line_post(frame, plan, stretch, division.end_nm)
        spans.append(
            Span(
                run=run,
                start=left,
                end=right,
                line_posts=tuple(inside),
                division=division,
                picket_faces_nm=_pick(outer, picket_faces, half),
                rail_faces_nm=_pick(outer, (ends[0][1], ends[1][1]), half),
                angles_deg=(ends[0][2] if outer[0] else 0.0, ends[1][2] if outer[1] else 0.0),
            )
        )
        points = [0, *division.line_posts_nm, division.end_nm - division.start_nm]
        posts = [left, *inside, right]
        bays.extend(
            Bay(a, b, y - x)
            for (a, b), (x, y) in zip(pairwise(posts), pairwise(points), strict=True)
        )
        left = right
    frame.runs.append(
        Run(
            name=run,
            level=plan.level.name,
            edge=edge.number,
            stair="",
            side=None,
            start=start,
            end=left,
            length_nm=stretch.length_nm,
            bays=tuple(bays),
            fall_height_nm=edge.fall_height_nm,
        )
    )
    _note_lopsided(frame, run, spans)
    return spans


def _divide(
    frame: Frame, plan: LevelPlan, run: str, stretch: Stretch, faces_nm: tuple[int, int]
) -> tuple[Division, ...]:
    """Divide a stretch by the rule, or as the caller wishes or picks.

    What cannot be mirrored about the middle leans towards the end that ranks first, whichever way
    the outline runs, so that a mirrored deck gets the mirrored division.
    """
    turned = _end_rank(plan, stretch, start=False) < _end_rank(plan, stretch, start=True)
    length_nm, system, preference = stretch.length_nm, frame.system, frame.preference
    faces_nm = faces_nm[::-1] if turned else faces_nm
    if preference.ranks:
        cost = cost_of_places(_places(plan, stretch, preference, turned), preference.wish)
        ways = alternatives(length_nm, faces_nm, system, preference.wish, cost)
        picked = min(preference.picks.get(run, 0), len(ways) - 1)
        options = tuple(
            replace(way.option, spans_nm=way.option.spans_nm[::-1]) if turned else way.option
            for way in ways
        )
        frame.choices.append(RunChoice(run, picked, options))
        divisions = ways[picked].divisions
    else:
        divisions = divide_run(length_nm, faces_nm, system)
    return mirrored(divisions, length_nm) if turned else divisions


def _end_rank(plan: LevelPlan, stretch: Stretch, *, start: bool) -> tuple[int, str, int, int]:
    """Rank an end of a stretch by what a mirror leaves as it is."""
    station = stretch.start if start else stretch.end
    beside = plan.neighbour(stretch.edge, start=start).line
    bend = round(abs(station.turn_deg) * 1000)
    first = 0 if station.roles else 1
    return first, station.position.value, bend, beside.length_nm // MILLIMETRE


def _places(plan: LevelPlan, stretch: Stretch, preference: Preference, turned: bool) -> list[int]:
    """Give the wished places beside a stretch, from the end that its division starts at. [nm]"""
    line = plan.edges[stretch.edge].line
    along_nm = [
        along - stretch.start_nm
        for along, aside in map(line.local, preference.places)
        if abs(aside - plan.inward_nm) <= BESIDE_NM and stretch.start_nm <= along <= stretch.end_nm
    ]
    return [stretch.length_nm - along for along in along_nm] if turned else along_nm


def _pick(outer: tuple[bool, bool], ends: tuple[int, int], half: int) -> tuple[int, int]:
    return ends[0] if outer[0] else half, ends[1] if outer[1] else half


def _line_post(frame: Frame, plan: LevelPlan, stretch: Stretch, along_nm: int) -> str:
    line = plan.edges[stretch.edge].line
    return frame.add_post(
        PostPosition.LINE,
        line.point(stretch.start_nm + along_nm, plan.inward_nm),
        level=plan.level.name,
        edge=plan.level.edges[stretch.edge].number,
        axis_deg=line.heading_deg,
        surface=_surface(frame, plan),
        rail_top_nm=frame.system.guard_height_nm,
    )


def _faces(frame: Frame, line: EdgeLine, station: Station) -> tuple[int, int, float]:
    """Give centre to face on the centre line, centre to a square rail end, and the angle.

    A rail of width b that meets a face at angle a touches it with one corner, b/2 sin(a) sooner
    than its centre line does.
    """
    angle = math.remainder(line.heading_deg - station.axis_deg, 90.0)
    tilt = math.radians(abs(angle))
    half = mm_of(station.width_nm or frame.system.post_width_nm) / 2
    rail = mm_of(max(frame.system.top_rail.width_nm, frame.system.bottom_rail.width_nm)) / 2
    centre_face = snap_mm(half / math.cos(tilt))
    rail_face = snap_mm((half + rail * math.sin(tilt)) / math.cos(tilt))
    return centre_face, rail_face, round(angle, 6) + 0.0


def _note_lopsided(frame: Frame, run: str, spans: list[Span]) -> None:
    for span in spans:
        if not span.division.symmetric:
            frame.notes.append(
                f"{run}: between {span.start} and {span.end} the line posts cannot mirror about "
                "the middle on the picket grid; they stand half a pitch off."
            )
