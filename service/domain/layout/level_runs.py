"""Level guard: from a level's chains of stretches to posts, runs and spans."""

import math
from itertools import pairwise

from service.domain.layout.bays import divide_run
from service.domain.layout.deck import EdgeKind, Level
from service.domain.layout.frame import Frame, Span, SpanChain
from service.domain.layout.guard_line import Chain, GuardLine, Station, Stretch
from service.domain.layout.outline import EdgeLine
from service.domain.layout.records import Bay, ClearOpening, PostPosition, Run
from service.domain.layout.system import Mount
from service.domain.lengths import mm_of, snap_mm


def add_level(frame: Frame, level: Level, guard: GuardLine) -> None:
    """Add every post, run and span of a level's guard to the frame."""
    for chain in guard.chains:
        _add_chain(frame, level, guard.lines, chain)
    for station in guard.lone:
        _post_at(frame, level, station)
    tops = {(s.stair, s.side): s for s in guard.lone}
    for station, gap_nm in guard.gaps:
        if (station.stair, station.side) in tops or station.stair:
            name = frame.stair_tops.get((station.stair, str(station.side)), level.name)
            frame.openings.append(ClearOpening(name, "post to structure", gap_nm, on_stair=False))


def _add_chain(frame: Frame, level: Level, lines: tuple[EdgeLine, ...], chain: Chain) -> None:
    spans: list[Span] = []
    first = previous = _post_at(frame, level, chain.stretches[0].start)
    for index, stretch in enumerate(chain.stretches):
        last = chain.closed and index == len(chain.stretches) - 1
        spans.extend(_add_stretch(frame, level, lines, stretch, previous, first if last else ""))
        previous = spans[-1].end
        _note_walls(frame, level, stretch, spans)
    frame.chains.append(SpanChain(level.name, tuple(spans), chain.closed))


def _post_at(frame: Frame, level: Level, station: Station) -> str:
    edge = level.edges[station.edge]
    name = frame.add_post(
        station.position,
        station.at,
        level=level.name,
        edge=edge.number,
        axis_deg=station.axis_deg,
        turn_deg=station.turn_deg,
        surface="deck" if frame.system.mount is Mount.SURFACE else "fascia",
        rail_top_nm=frame.system.guard_height_nm,
        stair=station.stair,
        where=("deck", "levels", level.index, "edges", edge.number - 1),
    )
    if station.stair:
        frame.stair_tops[station.stair, str(station.side)] = name
    return name


def _add_stretch(
    frame: Frame,
    level: Level,
    lines: tuple[EdgeLine, ...],
    stretch: Stretch,
    start: str,
    closing: str,
) -> list[Span]:
    """Divide a stretch and add its line posts; the closing post of a closed chain stands."""
    system, line = frame.system, lines[stretch.edge]
    edge = level.edges[stretch.edge]
    inward_nm = system.set_back_nm if system.mount is Mount.SURFACE else -system.set_back_nm
    ends = [_faces(frame, line, station) for station in (stretch.start, stretch.end)]
    picket_faces = (ends[0][0], ends[1][0])
    divisions = divide_run(stretch.length_nm, picket_faces, system)
    run = f"R{len(frame.runs) + 1}"
    half = system.post_width_nm // 2
    spans: list[Span] = []
    bays: list[Bay] = []
    left = start
    for number, division in enumerate(divisions):
        names = []
        for along in division.line_posts_nm:
            at = line.point(stretch.start_nm + division.start_nm + along, inward_nm)
            names.append(_line_post(frame, level, edge.number, at, line.heading_deg))
        if number < len(divisions) - 1:
            at = line.point(stretch.start_nm + division.end_nm, inward_nm)
            right = _line_post(frame, level, edge.number, at, line.heading_deg)
        else:
            right = closing or _post_at(frame, level, stretch.end)
        outer = (number == 0, number == len(divisions) - 1)
        spans.append(
            Span(
                run=run,
                start=left,
                end=right,
                line_posts=tuple(names),
                division=division,
                picket_faces_nm=_pick(outer, picket_faces, half),
                rail_faces_nm=_pick(outer, (ends[0][1], ends[1][1]), half),
                angles_deg=(ends[0][2] if outer[0] else 0.0, ends[1][2] if outer[1] else 0.0),
            )
        )
        points = [0, *division.line_posts_nm, division.end_nm - division.start_nm]
        posts = [left, *names, right]
        bays.extend(
            Bay(a, b, y - x)
            for (a, b), (x, y) in zip(pairwise(posts), pairwise(points), strict=True)
        )
        left = right
    frame.runs.append(
        Run(
            name=run,
            level=level.name,
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


def _pick(outer: tuple[bool, bool], ends: tuple[int, int], half: int) -> tuple[int, int]:
    return ends[0] if outer[0] else half, ends[1] if outer[1] else half


def _line_post(
    frame: Frame, level: Level, edge: int, at: tuple[int, int], heading_deg: float
) -> str:
    return frame.add_post(
        PostPosition.LINE,
        at,
        level=level.name,
        edge=edge,
        axis_deg=heading_deg,
        surface="deck" if frame.system.mount is Mount.SURFACE else "fascia",
        rail_top_nm=frame.system.guard_height_nm,
    )


def _faces(frame: Frame, line: EdgeLine, station: Station) -> tuple[int, int, float]:
    """Give centre to face on the centre line, centre to a square rail end, and the angle.

    A rail of width b that meets a face at angle a touches it with one corner, b/2 sin(a) sooner
    than its centre line does.
    """
    angle = math.remainder(line.heading_deg - station.axis_deg, 90.0)
    tilt = math.radians(abs(angle))
    half = mm_of(frame.system.post_width_nm) / 2
    rail = mm_of(max(frame.system.top_rail.width_nm, frame.system.bottom_rail.width_nm)) / 2
    centre_face = snap_mm(half / math.cos(tilt))
    rail_face = snap_mm((half + rail * math.sin(tilt)) / math.cos(tilt))
    return centre_face, rail_face, round(angle, 6) + 0.0


def _note_walls(frame: Frame, level: Level, stretch: Stretch, spans: list[Span]) -> None:
    count = len(level.edges)
    for station, beside, post in (
        (stretch.start, stretch.edge - 1, spans[0].start),
        (stretch.end, (stretch.edge + 1) % count, spans[-1].end),
    ):
        by_wall = level.edges[beside].kind is EdgeKind.WALL
        if station.position is PostPosition.END and station.key[0] == "end" and by_wall:
            gap = frame.system.wall_clearance_nm
            frame.openings.append(ClearOpening(post, "post to wall", gap, on_stair=False))


def _note_lopsided(frame: Frame, run: str, spans: list[Span]) -> None:
    for span in spans:
        if not span.division.symmetric:
            frame.notes.append(
                f"{run}: between {span.start} and {span.end} the line posts cannot mirror about "
                "the middle on the picket grid; they stand half a pitch off."
            )
