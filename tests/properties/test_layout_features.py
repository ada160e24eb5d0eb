"""What must hold in plan of every layout, on random decks with gates, stairs, landings and arcs.

shapely is the geometric oracle: posts are squares, rails are rectangles, and a ball of the widest
gap allowed is rolled round the guard.
"""

import math
from collections.abc import Iterator
from itertools import pairwise

from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import LineString, Polygon, STRtree, box
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from service.domain.errors import QuotingError
from service.domain.layout.deck import (
    Deck,
    Edge,
    EdgeKind,
    Level,
    Opening,
    OpeningKind,
    Point,
    Side,
)
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout, Post, PostPosition, Section
from service.domain.layout.system import Mount, RailingSystem
from service.domain.lengths import INCH, MILLIMETRE, inches
from tests.properties.feature_decks import decks, systems

# Plan points lie on whole nanometres at any angle, so lengths between them are this far off.
ROUNDING_NM = 50
# A bottom stair post this far out of line is plumbed in without a word; its rail is longer by less.
IN_LINE_NM = INCH // 16
LEANING_NM = MILLIMETRE // 50


@st.composite
def jobs(draw: st.DrawFn) -> Layout:
    deck, system = draw(decks()), draw(systems())
    try:
        return lay_out(deck, system)
    except QuotingError as refusal:
        _check_refusal(refusal, deck)
        assume(False)
        raise


def _check_refusal(refusal: QuotingError, deck: Deck) -> None:
    """A refusal names the element, a place that the request has, and what to do."""
    assert refusal.element
    assert refusal.advice
    root, *path = refusal.where
    assert root in ("deck", "system")
    if path and path[0] == "levels":
        level = deck.levels[int(path[1])]
        assert path[2] == "edges"
        assert level.edges[int(path[3])].number == int(path[3]) + 1
    elif path and path[0] == "stairs":
        assert deck.stairs[int(path[1])]


def square(post: Post) -> BaseGeometry:
    x, y, half = post.at[0] / MILLIMETRE, post.at[1] / MILLIMETRE, post.width_nm / MILLIMETRE / 2
    return rotate(box(x - half, y - half, x + half, y + half), post.axis_deg, origin=(x, y))


def along(a: Point, b: Point, far_nm: float, aside_nm: float = 0) -> tuple[float, float]:
    """Give the point so far from a towards b and so far to the left of that. [mm]"""
    length = math.dist(a, b)
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    x, y = a[0] + ux * far_nm - uy * aside_nm, a[1] + uy * far_nm + ux * aside_nm
    return x / MILLIMETRE, y / MILLIMETRE


def strip(a: Point, b: Point, low: float, high: float, right: float, left: float) -> Polygon:
    corners = [(low, right), (high, right), (high, left), (low, left)]
    return Polygon([along(a, b, far, aside) for far, aside in corners])


def by_name(job: Layout) -> dict[str, Post]:
    return {post.name: post for post in job.posts}


def edges_of(level: Level) -> Iterator[tuple[Edge, Point, Point]]:
    corners = (*level.outline, level.outline[0])
    return ((edge, a, b) for edge, (a, b) in zip(level.edges, pairwise(corners), strict=True))


def reach_of(opening: Opening, a: Point, b: Point) -> tuple[float, float]:
    middle = (math.dist(a, b) - opening.width_nm) / 2
    low = middle if opening.offset_nm is None else opening.offset_nm
    return low, low + opening.width_nm


@given(jobs())
def test_posts_stand_where_bays_and_line_posts_say(job: Layout) -> None:
    assume(not any("shift the start" in note for note in job.notes))
    posts = by_name(job)
    for run in job.runs:
        a, b = posts[run.start].at, posts[run.end].at
        longer = LEANING_NM if run.stair else ROUNDING_NM
        assert abs(math.dist(a, b) - run.length_nm) <= longer
        assert sum(bay.span_nm for bay in run.bays) == run.length_nm
        reached = 0
        for bay in run.bays:
            reached += bay.span_nm
            x, y = along(a, b, reached)
            off = math.dist((x * 1e6, y * 1e6), posts[bay.end].at)
            assert off <= (IN_LINE_NM if run.stair else ROUNDING_NM)
    for section in job.sections:
        a, b = posts[section.start.post].at, posts[section.end.post].at
        for name, far in zip(section.line_posts, section.line_posts_nm, strict=True):
            x, y = along(a, b, far)
            assert math.dist((x * 1e6, y * 1e6), posts[name].at) <= ROUNDING_NM


def _shares_ground(one: Post, other: Post) -> bool:
    return (one.level, one.base_nm) == (other.level, other.base_nm)


@given(jobs())
def test_posts_and_rails_keep_out_of_each_other(job: Layout) -> None:
    """A rail meets the faces of its own two posts, at any angle, and its line posts only."""
    squares = [square(post) for post in job.posts]
    tree = STRtree(squares)
    for post, shape in zip(job.posts, squares, strict=True):
        for index in tree.query(shape):
            other = job.posts[index]
            if other.name != post.name and _shares_ground(post, other):
                assert shape.intersection(squares[index]).area < 0.5
    posts = by_name(job)
    for section in job.sections:
        if section.rake:
            continue
        for rail in _rails_in_plan(job, section):
            for index in tree.query(rail):
                other = job.posts[index]
                own = other.name in section.line_posts
                if not own and _shares_ground(other, posts[section.start.post]):
                    assert rail.intersection(squares[index]).area < 0.5


def _rails_in_plan(job: Layout, section: Section) -> Iterator[Polygon]:
    posts = by_name(job)
    a, b = posts[section.start.post].at, posts[section.end.post].at
    for rail in section.rails:
        profile = job.system.top_rail if rail.place == "top" else job.system.bottom_rail
        half = profile.width_nm / 2
        yield strip(a, b, rail.start_nm, rail.start_nm + rail.length_nm, -half, half)


@given(jobs())
def test_infill_keeps_its_gaps_and_touches_nothing(job: Layout) -> None:
    system = job.system
    half, half_post = system.pickets.width_nm / 2, system.post_width_nm / 2
    for section in job.sections:
        solid = sorted(
            [(x - half, x + half) for x in section.pickets.centres_nm]
            + [(x - half_post, x + half_post) for x in section.line_posts_nm]
        )
        clear = [right[0] - left[1] for left, right in pairwise(solid)]
        ends = section.pickets.end_gaps_nm
        assert min((*clear, *ends)) >= 0
        assert max((*clear, *ends)) < system.pickets.max_gap_nm
        if system.pickets.pitch_nm is not None or not section.line_posts:
            assert abs(ends[0] - ends[1]) <= 1
        if system.pickets.pitch_nm is not None:
            assert set(section.line_posts_nm) == set(section.pickets.removed_nm)
        assert section.length_nm <= system.max_section_nm or section.rake
        if section.rake is None:
            _check_legs(section, system)


def _check_legs(section: Section, system: RailingSystem) -> None:
    """Every bottom rail is held by the posts at its ends and the legs between."""
    for rail in section.rails:
        if rail.place != "bottom":
            continue
        low, high = rail.start_nm, rail.start_nm + rail.length_nm
        legs = [place for place in section.support_legs_nm if low < place < high]
        held = (low, *legs, high)
        assert max(b - a for a, b in pairwise(held)) <= system.max_unsupported_nm


@given(jobs())
def test_no_run_crosses_a_way_through(job: Layout) -> None:
    """Along the post line the middle of every stair and gate stays free."""
    posts, system = by_name(job), job.system
    for level in job.deck.levels:
        runs = [
            LineString([[c / MILLIMETRE for c in posts[p].at] for p in (run.start, run.end)])
            for run in job.runs
            if run.level == level.name and not run.stair
        ]
        inward = system.set_back_nm * (1 if system.mount is Mount.SURFACE else -1)
        for edge, a, b in edges_of(level):
            for opening in edge.openings:
                if opening.kind in (OpeningKind.OBSTACLE, OpeningKind.EXISTING_POST):
                    continue
                low, high = reach_of(opening, a, b)
                margin = 0.25 * opening.width_nm
                way = LineString(
                    [along(a, b, far, inward) for far in (low + margin, high - margin)]
                )
                assert not any(way.intersects(run) for run in runs)


@given(jobs())
def test_stair_rails_stay_beside_their_stair(job: Layout) -> None:
    """Within its width on a surface, at most the set-back outside it on a fascia."""
    posts, system = by_name(job), job.system
    stairs = {stair.name: stair for stair in job.deck.stairs}
    out = MILLIMETRE if system.mount is Mount.SURFACE else system.stair_set_back_nm + INCH
    for plan in job.stairs:
        stair = stairs[plan.name]
        rails = [run for run in job.runs if run.stair == plan.name]
        assert {run.side for run in rails} == stair.open_sides
        (lx, ly), (rx, ry) = plan.top
        ux, uy = (lx - rx) / stair.width_nm, (ly - ry) / stair.width_nm
        for run in rails:
            for name in (run.start, run.end):
                x, y = posts[name].at
                across = (x - rx) * ux + (y - ry) * uy
                inside = across if run.side is Side.RIGHT else stair.width_nm - across
                assert -out <= inside <= stair.width_nm / 4


@given(jobs())
def test_no_ball_of_the_widest_gap_rolls_through_the_guard(job: Layout) -> None:
    """Between posts, walls, openings and runs, seen from above.

    A wall is taken to go on past the corner, as a house does. What an obstacle in a corner is
    like round it the request does not say, and a fascia guard passes outside such corners.
    """
    assume(job.system.mount is Mount.SURFACE)
    level = job.deck.levels[0]
    radius = job.system.pickets.max_gap_nm / MILLIMETRE / 2 - 0.01
    barrier = unary_union(list(_barriers(job, level))).buffer(radius, quad_segs=16)
    outline = Polygon([(x / MILLIMETRE, y / MILLIMETRE) for x, y in level.outline])
    world = box(*outline.buffer(600).bounds)
    free = world.difference(barrier)
    core = outline.buffer(-(job.system.set_back_nm / MILLIMETRE + 200))
    for part in getattr(free, "geoms", [free]):
        assert not (part.intersects(world.exterior) and part.intersects(core))


def _barriers(job: Layout, level: Level) -> Iterator[BaseGeometry]:
    posts = by_name(job)
    yield from (square(post) for post in job.posts if post.level == level.name)
    for run in job.runs:
        if run.level == level.name and not run.stair:
            a, b = posts[run.start].at, posts[run.end].at
            yield strip(a, b, 0, run.length_nm, -3 * MILLIMETRE, 3 * MILLIMETRE)
    inward, thin = job.system.set_back_nm, MILLIMETRE
    for edge, a, b in edges_of(level):
        past = inches(14) if edge.kind is not EdgeKind.OPEN else 0
        if past or not edge.guarded:
            yield strip(a, b, -past, math.dist(a, b) + past, -thin, 0)
        for opening in edge.openings:
            low, high = reach_of(opening, a, b)
            yield strip(a, b, low, high, -thin, 0)
            yield strip(a, b, low, high, inward - thin, inward)
            if opening.kind is OpeningKind.OBSTACLE:
                yield strip(a, b, low, high, -inches(6), inches(6))


@given(jobs())
def test_every_section_is_reached_in_order(job: Layout) -> None:
    """Every post is set once, by itself or with the one section that carries it."""
    names = set(by_name(job))
    standing = {p.name for p in job.posts if p.position is PostPosition.EXISTING}
    for number, step in enumerate(job.steps, 1):
        assert step.number == number
        assert set(step.joins) <= standing
        arriving = set(step.carries) | ({step.element} & names)
        assert not arriving & standing
        standing |= arriving
    assert standing == names
    done = [step.element for step in job.steps]
    assert sorted(done, key=str) == sorted(set(done), key=str)
    assert {section.name for section in job.sections} <= set(done)
    for section in job.sections:
        carried = set(section.carries)
        for end in (section.start, section.end):
            assert end.post in names
            assert (end.joint.value == "fixed") is (
                end.post in carried and job.system.assembly.value == "prefabricated"
            )
