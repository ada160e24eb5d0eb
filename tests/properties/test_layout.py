"""What must hold of every layout, on random decks.

shapely is the geometric oracle for where posts may stand.
"""

import math
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon

from service.domain.errors import InvalidGeometry, UnbuildableLayout
from service.domain.layout.deck import Deck, Edge, EdgeKind, Level, OpeningKind
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout, PostPosition, Run
from service.domain.layout.system import Assembly, Method, RailingSystem
from service.domain.lengths import INCH, inches
from tests.unit.domain.layout.builders import BETWEEN, FREE, SYSTEM, stair, with_opening

SYSTEMS = st.sampled_from(
    [
        SYSTEM,
        BETWEEN,
        FREE,
        replace(FREE, method=Method.CONTINUOUS),
        replace(SYSTEM, assembly=Assembly.POSTS_FIRST, max_section_nm=inches(120)),
    ]
)


@st.composite
def outlines(draw: st.DrawFn) -> tuple[tuple[int, int], ...]:
    """Star-shaped polygons round the origin, anticlockwise, corners on a 1/16 in grid."""
    count = draw(st.integers(3, 8))
    turns = draw(st.lists(st.integers(-8, 8), min_size=count, max_size=count))
    points = []
    for i, off in enumerate(turns):
        angle = (360 * i / count + off) * math.pi / 180
        radius = draw(st.integers(90, 240))
        grid = INCH // 16
        points.append(
            (
                round(radius * 16 * math.cos(angle)) * grid,
                round(radius * 16 * math.sin(angle)) * grid,
            )
        )
    return tuple(points)


@st.composite
def levels(draw: st.DrawFn) -> Level:
    outline = draw(outlines())
    kinds = draw(
        st.lists(
            st.sampled_from([EdgeKind.OPEN, EdgeKind.OPEN, EdgeKind.WALL, EdgeKind.EXISTING]),
            min_size=len(outline),
            max_size=len(outline),
        )
    )
    edges = tuple(Edge(kind, i, inches(40)) for i, kind in enumerate(kinds, 1))
    return Level("main", outline, edges)


@st.composite
def decks(draw: st.DrawFn) -> Deck:
    level = draw(levels())
    opened = [edge.number for edge in level.edges if edge.kind is EdgeKind.OPEN]
    if not opened or not draw(st.booleans()):
        return Deck((level,))
    number = draw(st.sampled_from(opened))
    offset = draw(st.sampled_from([None, 0, 30]))
    return Deck((with_opening(level, number, OpeningKind.STAIR, "stair", 40, offset),), (stair(),))


def laid_out(deck: Deck, system: RailingSystem) -> Layout:
    try:
        return lay_out(deck, system)
    except (UnbuildableLayout, InvalidGeometry) as refusal:
        assume(not refusal.advice)  # a refusal without advice would go on and fail the test
        raise


@given(decks(), SYSTEMS)
def test_bays_close_every_run_and_keep_to_the_span(deck: Deck, system: RailingSystem) -> None:
    job = laid_out(deck, system)
    for run in job.runs:
        assert sum(bay.span_nm for bay in run.bays) == run.length_nm
        limit = system.max_stair_span_nm if run.rake else system.max_span_nm
        assert max(bay.span_nm for bay in run.bays) <= limit
        assert run.bays[0].start == run.start
        assert run.bays[-1].end == run.end
        sections = [s for s in job.sections if s.run == run.name]
        assert sum(s.length_nm for s in sections) == run.length_nm
        assert all(a.end.post == b.start.post for a, b in pairwise(sections))


@given(decks(), SYSTEMS)
def test_level_rails_and_cuts_close_every_section(deck: Deck, system: RailingSystem) -> None:
    job = laid_out(deck, system)
    for section in job.sections:
        if section.rake:
            continue
        top, *bottoms = section.rails
        assert len(bottoms) == len(section.line_posts) + 1
        reach = sum(rail.length_nm for rail in bottoms)
        reach += 2 * system.line_post_cut_nm * len(section.line_posts)
        assert reach == top.length_nm
        for left, right in pairwise(bottoms):
            gap = right.start_nm - left.start_nm - left.length_nm
            assert gap == 2 * system.line_post_cut_nm


@given(decks(), SYSTEMS)
def test_pickets_balance_and_leave_no_wide_gap(deck: Deck, system: RailingSystem) -> None:
    job = laid_out(deck, system)
    half = system.pickets.width_nm // 2
    for section in job.sections:
        start, end = section.pickets.end_gaps_nm
        # At a free pitch each bay of a continuous section has its own equal gaps.
        if system.pickets.pitch_nm is not None or not section.line_posts:
            assert abs(start - end) <= 1
        grid = sorted((*section.pickets.centres_nm, *section.pickets.removed_nm))
        pitched = system.pickets.pitch_nm is not None
        if pitched:
            assert {b - a for a, b in pairwise(grid)} <= {section.pickets.pitch_nm}
            assert set(section.line_posts_nm) <= set(grid)
            limit = section.pickets.pitch_nm - system.pickets.width_nm
            assert limit - section.pickets.pitch_nm / 2 < start + 1 or len(grid) == 1
        else:
            limit = system.pickets.max_gap_nm - 1
        posts = (system.post_width_nm + 1) // 2
        solid = sorted(
            [(x - half, x + half) for x in section.pickets.centres_nm]
            + [(x - posts, x + posts) for x in section.line_posts_nm]
        )
        assert all(b[0] - a[1] <= limit for a, b in pairwise(solid))
        assert max(start, end) <= limit


@given(decks(), SYSTEMS)
def test_every_post_is_set_once_and_every_joint_meets_a_post(
    deck: Deck, system: RailingSystem
) -> None:
    job = laid_out(deck, system)
    existing = {p.name for p in job.posts if p.position is PostPosition.EXISTING}
    names = {p.name for p in job.posts}
    standing = set(existing)
    for step in job.steps:
        assert set(step.joins) <= standing
        arriving = set(step.carries) | ({step.element} & names)
        assert not arriving & standing
        standing |= arriving
    assert standing == names
    assert {s.name for s in job.sections} == {s.element for s in job.steps} - names
    carried = Counter(post for section in job.sections for post in section.carries)
    assert set(carried.values()) <= {1}


def _long_line(a: tuple[float, float], b: tuple[float, float]) -> LineString:
    """An edge carried on far past both of its corners."""
    (ax, ay), (bx, by) = a, b
    return LineString(
        [(ax - 99 * (bx - ax), ay - 99 * (by - ay)), (bx + 99 * (bx - ax), by + 99 * (by - ay))]
    )


def _off(system: RailingSystem) -> Callable[[float], float]:
    return lambda distance: abs(distance - system.set_back_nm / 1e6)


@given(decks(), SYSTEMS)
def test_posts_stand_on_the_post_line(deck: Deck, system: RailingSystem) -> None:
    """Level posts lie the set-back away from the line of an open edge, line posts inside."""
    job = laid_out(deck, system)
    outline = Polygon([(x / 1e6, y / 1e6) for x, y in job.deck.levels[0].outline])
    opened = [
        _long_line(a, b)
        for edge, a, b in zip(
            job.deck.levels[0].edges,
            outline.exterior.coords,
            outline.exterior.coords[1:],
            strict=False,
        )
        if edge.kind is EdgeKind.OPEN
    ]
    for post in job.posts:
        if post.position in (PostPosition.STAIR_BOTTOM, PostPosition.STAIR_LINE):
            continue
        at = Point(post.at[0] / 1e6, post.at[1] / 1e6)
        distance = min((line.distance(at) for line in opened), key=_off(system))
        assert abs(distance - system.set_back_nm / 1e6) <= 1e-5
        if post.position is PostPosition.LINE:
            assert outline.contains(at)


def _twin_ends(job: Layout, run: Run) -> bool:
    """Tell whether nothing sets the ends of a run apart, so that no lean can be mirrored.

    A square deck is its own mirror image about the middle of each edge.
    """
    outline = job.deck.levels[0].outline
    lengths = [round(math.dist(a, b) / 1e6) for a, b in pairwise((*outline, outline[0]))]
    index = [edge.number for edge in job.deck.levels[0].edges].index(run.edge)
    beside = lengths[index - 1], lengths[(index + 1) % len(lengths)]
    posts = {post.name: post for post in job.posts}
    ends = [
        (post.position, round(abs(post.turn_deg), 2)) for post in (posts[run.start], posts[run.end])
    ]
    return abs(beside[0] - beside[1]) <= 1 and ends[0] == ends[1]


@given(decks(), SYSTEMS)
def test_a_mirrored_deck_gives_mirrored_guard(deck: Deck, system: RailingSystem) -> None:
    """Mirrored in x: the same run lengths, bays, rails and post heights."""
    job = laid_out(deck, system)
    level = deck.levels[0]
    flipped = replace(level, outline=tuple((-x, y) for x, y in level.outline))
    other = lay_out(replace(deck, levels=(flipped,)), system)

    def counts(layout: Layout) -> list[object]:
        return [
            Counter((post.position, post.stock) for post in layout.posts),
            Counter(len(section.pickets.centres_nm) for section in layout.sections),
            Counter(len(run.bays) for run in layout.runs),
        ]

    assert counts(job) == counts(other)
    lengths = [sorted(run.length_nm for run in layout.runs) for layout in (job, other)]
    assert all(abs(mine - theirs) <= 2 for mine, theirs in zip(*lengths, strict=True))
    for run in job.runs:
        ways = [
            [bay.span_nm for bay in (r.bays if r.rake else r.bays[::-1])]
            for r in other.runs
            if r.edge == run.edge and len(r.bays) == len(run.bays)
        ]
        spans = [bay.span_nm for bay in run.bays]
        if _twin_ends(job, run):
            ways += [way[::-1] for way in ways]
        assert any(
            all(abs(mine - theirs) <= 2 for mine, theirs in zip(spans, way, strict=True))
            for way in ways
        )


@given(levels(), SYSTEMS, st.data())
def test_a_wall_never_adds_guard(level: Level, system: RailingSystem, data: st.DataObject) -> None:
    job = laid_out(Deck((level,)), system)
    # A wall parts edges that are otherwise built as one, under the number of the first.
    assume(len(job.deck.levels[0].edges) == len(level.edges))
    index = data.draw(st.integers(0, len(level.edges) - 1))
    edges = list(level.edges)
    edges[index] = replace(edges[index], kind=EdgeKind.WALL)
    walled = laid_out(Deck((replace(level, edges=tuple(edges)),)), system)
    own = {run.edge for run in walled.runs}
    assert own <= {run.edge for run in job.runs}
    assert index + 1 not in own
