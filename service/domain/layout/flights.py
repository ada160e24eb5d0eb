"""Stair rails: posts down each open side of a flight and the raked spans between them."""

from itertools import pairwise

from service.domain.errors import UnbuildableLayout
from service.domain.layout.alignment import standing_foot
from service.domain.layout.deck import Level, Side, Stair
from service.domain.layout.division import Division, open_division
from service.domain.layout.edge_plan import EdgePlan, LevelPlan
from service.domain.layout.frame import Flight, Frame, Span
from service.domain.layout.outline import EdgeLine
from service.domain.layout.pickets import fixed_pitch, free_pitch
from service.domain.layout.records import Bay, PostPosition, Rake, Run, StairPlan
from service.domain.layout.stairs import (
    FlightPost,
    bottom_post,
    flight_posts,
    level_nm,
    rail_top_nm,
    rake_of,
)
from service.domain.layout.stations import StairEnd, StairRole
from service.domain.layout.system import RailingSystem
from service.domain.lengths import mm_of, snap_mm


def add_stair(
    frame: Frame, plan: LevelPlan, edge: EdgePlan, offset_nm: int, stair: Stair
) -> StairPlan:
    """Add the stair rails of one flight and give the flight in plan."""
    inner = []
    for side in (Side.LEFT, Side.RIGHT):
        outer_nm = offset_nm + (stair.width_nm if side is Side.LEFT else 0)
        if side in stair.open_sides:
            top = frame.stair_posts[StairRole(StairEnd.TOP, stair.name, side)]
            face = _inner_face(frame, edge.line, top, side)
            inner.append(min(face, outer_nm) if side is Side.LEFT else max(face, outer_nm))
            _add_side(frame, plan, edge, stair, side, top)
        else:
            inner.append(outer_nm)
    _refuse_no_way(stair, inner[0] - inner[1])
    line = edge.line
    return StairPlan(
        name=stair.name,
        level=plan.level.name,
        edge=plan.level.edges[edge.index].number,
        top=(line.point(offset_nm + stair.width_nm, 0), line.point(offset_nm, 0)),
        down=(line.uy, -line.ux),
        rake=rake_of(stair),
        clear_width_nm=inner[0] - inner[1],
        bottom=stair.bottom,
    )


def _refuse_no_way(stair: Stair, clear_nm: int) -> None:
    if clear_nm <= 0:
        raise UnbuildableLayout(
            f"the posts on both sides of stair {stair.name} leave {mm_of(clear_nm):.1f} mm between "
            "them to walk through",
            element=f"stair {stair.name}",
            where=("system", "stair_set_back"),
            advice="Set the stair posts back less, or tape the stair's width again.",
        )


def _inner_face(frame: Frame, line: EdgeLine, post: str, side: Side) -> int:
    x, y = frame.posts[post].at
    along = snap_mm(mm_of(x - line.start[0]) * line.ux + mm_of(y - line.start[1]) * line.uy)
    half = frame.system.post_width_nm // 2
    return along - half if side is Side.LEFT else along + half


def _add_side(
    frame: Frame, plan: LevelPlan, edge: EdgePlan, stair: Stair, side: Side, top: str
) -> None:
    system = frame.system
    where = ("deck", "stairs", stair.index)
    half = system.post_width_nm // 2
    number = plan.level.edges[edge.index].number
    head = FlightPost(-plan.inward_nm, 0, "deck")
    frame.raise_post(top, rail_top_nm(stair, head, head.x_nm + half, system), where)
    standing = frame.stair_posts.get(StairRole(StairEnd.BOTTOM, stair.name, side))
    foot = standing_foot(frame, plan, edge.line, stair, (top, standing)) if standing else None
    names, xs = [top], [head.x_nm]
    feet = flight_posts(stair, head.x_nm, foot or bottom_post(stair, system), system)
    for post in feet:
        last = post is feet[-1]
        rail_top = rail_top_nm(stair, post, post.x_nm - half, system)
        if last and standing:
            frame.raise_post(standing, rail_top, where)
            names.append(standing)
        else:
            name = frame.add_post(
                PostPosition.STAIR_BOTTOM if last else PostPosition.STAIR_LINE,
                _down(frame.posts[top].at, edge.line, post.x_nm - head.x_nm),
                level=plan.level.name,
                edge=number,
                axis_deg=edge.line.heading_deg,
                surface=post.surface,
                base_nm=post.base_nm,
                rail_top_nm=rail_top,
                stair=stair.name,
                where=where,
            )
            names.append(name)
        xs.append(post.x_nm)
    try:
        _add_spans(frame, plan.level, number, stair, side, names, xs)
    except UnbuildableLayout as refusal:
        refusal.element, refusal.where = f"stair {stair.name}", refusal.where or where
        raise


def _down(top: tuple[int, int], line: EdgeLine, distance_nm: int) -> tuple[int, int]:
    distance = mm_of(distance_nm)
    return (
        snap_mm(mm_of(top[0]) + distance * line.uy),
        snap_mm(mm_of(top[1]) - distance * line.ux),
    )


def _add_spans(
    frame: Frame,
    level: Level,
    number: int,
    stair: Stair,
    side: Side,
    names: list[str],
    xs: list[int],
) -> None:
    rake = rake_of(stair)
    half = frame.system.post_width_nm // 2
    run = f"R{len(frame.runs) + 1}"
    for (start, end), (a, b) in zip(pairwise(names), pairwise(xs), strict=True):
        frame.stair_spans.append(
            Span(
                run=run,
                start=start,
                end=end,
                line_posts=(),
                division=_raked_division(a - xs[0], b - xs[0], rake, frame.system),
                picket_faces_nm=(half, half),
                rail_faces_nm=(half, half),
                angles_deg=(0.0, 0.0),
                rake=rake,
                flight=Flight(stair.unit_run_nm, stair.risers - 1, a),
            )
        )
    bays = zip(pairwise(names), pairwise(xs), strict=True)
    frame.runs.append(
        Run(
            name=run,
            level=level.name,
            edge=number,
            stair=stair.name,
            side=side,
            start=names[0],
            end=names[-1],
            length_nm=xs[-1] - xs[0],
            bays=tuple(Bay(p, q, b - a) for (p, q), (a, b) in bays),
            fall_height_nm=stair.total_rise_nm,
            rake=rake,
        )
    )


def _raked_division(start: int, end: int, rake: Rake, system: RailingSystem) -> Division:
    """Space plumb pickets horizontally; a punched pitch along the slope shortens by cos(rake)."""
    if system.infill is not None:
        return open_division(start, end, ())
    half = system.post_width_nm // 2
    clear = end - start - 2 * half
    pickets = system.pickets
    if pickets.stair_pitch_nm is None:
        row = free_pitch(clear, pickets.width_nm, pickets.max_gap_nm)
    else:
        row = fixed_pitch(clear, pickets.width_nm, level_nm(rake, pickets.stair_pitch_nm))
    return Division(
        start_nm=start,
        end_nm=end,
        line_posts_nm=(),
        pickets_nm=tuple(half + centre for centre in row.centres_nm),
        removed_nm=(),
        end_gaps_nm=row.end_gaps_nm,
        pitch_nm=row.pitch_nm,
        centred_on=row.centred_on,
    )
