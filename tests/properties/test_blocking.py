"""Posts anywhere on decks of any shape: where fasteners land, with shapely as the oracle."""

import math
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, box, union_all
from shapely.affinity import rotate

from service.domain.layout.blocking import support_posts
from service.domain.layout.deck import Deck, Edge, EdgeKind, Level
from service.domain.layout.framing import BasePlate, Block, Framing, PostSupport
from service.domain.layout.records import Post
from service.domain.lengths import INCH, inches, mm_of
from tests.unit.domain.layout.builders import SYSTEM
from tests.unit.domain.layout.framing_builders import plate, post

HAIR = 1e-4  # mm
FAR = 20_000.0  # mm


class Timber:
    """A level's timber as shapely sees it, in plan millimetres."""

    def __init__(self, outline: tuple[tuple[int, int], ...], framing: Framing) -> None:
        deck = Polygon([(mm_of(x), mm_of(y)) for x, y in outline])
        over, rim = mm_of(framing.overhang_nm), mm_of(framing.rim_thickness_nm)
        self.outer = deck.buffer(-over, join_style="mitre", mitre_limit=100)
        self.inner = deck.buffer(-over - rim, join_style="mitre", mitre_limit=100)
        # Turned about the origin until the joists run along y, they count from the left.
        self.turn = 90.0 - framing.joist_deg if framing.joist_deg % 180 else -90.0
        turned = rotate(deck, self.turn, origin=(0, 0))
        first = turned.bounds[0] + mm_of(framing.first_joist_nm)
        half, spacing = mm_of(framing.joist_thickness_nm) / 2, mm_of(framing.spacing_nm)
        strips = {}
        for k in range(int((turned.bounds[2] - first) // spacing) + 2):
            x = first + k * spacing
            strip = rotate(box(x - half, -FAR, x + half, FAR), -self.turn, origin=(0, 0))
            strips[f"joist {k + 1}"] = strip
        self.joists = {name: strip.intersection(self.inner) for name, strip in strips.items()}
        self.ring = self.outer.difference(self.inner)
        self.open = self.inner.difference(union_all(list(strips.values())))

    def ply(self, block: Block, middle: tuple[int, int], framing: Framing) -> Polygon:
        """The bay's part of an endless ply through a place."""
        x, y = (mm_of(c) for c in middle)
        half = mm_of(framing.block_thickness_nm) / 2
        strip = rotate(
            box(x - FAR, y - half, x + FAR, y + half), -self.turn, origin=(x, y)
        ).intersection(self.open)
        parts = getattr(strip, "geoms", [strip])
        return min(parts, key=lambda part: part.distance(Point(x, y)))


Case = tuple[Timber, Framing, BasePlate, PostSupport, tuple[Block, ...], Post]


@st.composite
def outlines(draw: st.DrawFn) -> tuple[tuple[int, int], ...]:
    count = draw(st.integers(3, 7))
    grid = INCH // 16
    points = []
    for i in range(count):
        angle = math.radians(360 * i / count + draw(st.integers(-8, 8)))
        radius = draw(st.integers(60, 200)) * 16
        points.append(
            (round(radius * math.cos(angle)) * grid, round(radius * math.sin(angle)) * grid)
        )
    return tuple(points)


framings = st.builds(
    Framing,
    joist_deg=st.sampled_from([0.0, 90.0, 45.0, 30.0, 135.0, 90.5, 12.25]),
    spacing_nm=st.sampled_from([inches(12), inches(16), inches(24), inches(4)]),
    first_joist_nm=st.sampled_from([0, inches(0, 3, 4), inches(7), inches(16)]),
    joist_thickness_nm=st.just(inches(1, 1, 2)),
    joist_depth_nm=st.just(inches(9, 1, 4)),
    rim_thickness_nm=st.sampled_from([inches(1, 1, 2), inches(3)]),
    block_thickness_nm=st.sampled_from([inches(1, 1, 2), inches(2, 1, 2), inches(3, 1, 2)]),
    block_depth_nm=st.just(inches(9, 1, 4)),
    decking_nm=st.just(inches(1)),
    overhang_nm=st.sampled_from([0, inches(1)]),
    block_fit_nm=st.sampled_from([0, inches(0, 1, 8)]),
)
plates = st.sampled_from([plate(), plate(4, (1, 4)), plate(20, (8, 0)), plate(6, (2, 5))])


@st.composite
def cases(
    draw: st.DrawFn,
) -> tuple[Timber, Framing, BasePlate, PostSupport, tuple[Block, ...], object]:
    outline, framing, base = draw(outlines()), draw(framings), draw(plates)
    corner = draw(st.integers(0, len(outline) - 1))
    (ax, ay), (bx, by) = outline[corner], outline[corner - 1]
    share, pull = draw(st.floats(0, 1)), draw(st.floats(0.0, 0.3))
    x, y = (1 - pull) * (ax + share * (bx - ax)), (1 - pull) * (ay + share * (by - ay))
    stand = post(x / INCH, y / INCH, draw(st.floats(0, 180)))
    edges = tuple(Edge(EdgeKind.OPEN, i, inches(40)) for i in range(1, len(outline) + 1))
    deck = Deck((Level("main", outline, edges, framing=framing),))
    supports, blocks = support_posts(deck, replace(SYSTEM, base=base), [stand])
    return Timber(outline, framing), framing, base, supports[0], blocks, stand


@given(cases())
def test_fasteners_land_where_shapely_says(case: Case) -> None:
    timber, framing, base, support, blocks, _ = case
    named = {block.name: block for block in blocks}
    for landing in support.fasteners:
        at = Point(mm_of(landing.at[0]), mm_of(landing.at[1]))
        edge = mm_of(landing.edge_nm)
        if landing.edge_nm < 0:
            assert not landing.holds
            assert abs(timber.outer.distance(at) + edge) < HAIR
        elif landing.timber == "rim":
            assert timber.ring.distance(at) < HAIR
            assert abs(timber.ring.boundary.distance(at) - edge) < HAIR
        elif landing.timber.startswith("joist"):
            assert timber.joists[landing.timber].distance(at) < HAIR
            assert timber.joists[landing.timber].boundary.distance(at) <= edge + HAIR
        elif landing.timber:
            block = named[landing.timber]
            plies = [timber.ply(block, middle, framing) for middle in block.plies]
            inside = [ply for ply in plies if ply.distance(at) < HAIR]
            assert inside
            clear = max(ply.boundary.distance(at) for ply in inside)
            assert clear >= min(edge, mm_of(landing.end_nm)) - HAIR
        else:
            assert not landing.holds
            assert timber.open.distance(at) < HAIR
        if landing.holds:
            assert landing.edge_nm >= base.edge_distance_nm - 20


@given(cases())
def test_blocks_fill_their_bay_and_keep_off_each_other(case: Case) -> None:
    timber, framing, _, _, blocks, _ = case
    turned = []
    for block in blocks:
        for middle in block.plies:
            ply = timber.ply(block, middle, framing)
            across = rotate(ply, timber.turn, origin=(0, 0)).bounds
            assert abs(across[2] - across[0] - mm_of(block.length_nm + framing.block_fit_nm)) < 1e-3
            turned.append(ply.buffer(-HAIR))
    for i, one in enumerate(turned):
        assert all(one.intersection(other).area < 1.0 for other in turned[:i])


@given(cases())
def test_what_lies_under_the_plate(case: Case) -> None:
    timber, _, base, support, _, stand = case
    half = mm_of(base.width_nm) / 2
    x, y = mm_of(stand.at[0]), mm_of(stand.at[1])
    foot = rotate(box(x - half, y - half, x + half, y + half), stand.axis_deg, origin=(x, y))
    covered = {"rim": timber.ring, **timber.joists}
    for name, piece in covered.items():
        area = foot.intersection(piece).area
        if area > 0.01:
            assert name in support.over
        elif area < 1e-9:
            assert name not in support.over
    outside = foot.difference(timber.outer).area
    assert (support.overhang_nm > 0) == (outside > 0.01) or outside < 0.1
    if support.overhang_nm > 0 and outside > 0.1:
        assert support.supported is False
        assert support.notes


def test_the_oracle_turns_the_same_way() -> None:
    """Joists along y at 16 in from the left corner: the first strip's centre line is x = 16."""
    square = tuple((inches(x), inches(y)) for x, y in ((0, 0), (120, 0), (120, 120), (0, 120)))
    framing = Framing(90.0, inches(16), inches(16), inches(1, 1, 2), 1, inches(1, 1, 2), 1, 1, 1)
    joist = Timber(square, framing).joists["joist 1"]
    assert joist.intersects(LineString([(406.4, 100), (406.4, 200)]))
    assert [round(bound, 3) for bound in joist.bounds[::2]] == [387.35, 425.45]
