"""Random decks with what real decks have: gates, obstacles, old posts, stairs, landings, arcs."""

import math
from dataclasses import replace

from hypothesis import strategies as st

from service.domain.layout.deck import (
    Deck,
    Edge,
    EdgeKind,
    Footing,
    Landing,
    Level,
    Opening,
    OpeningKind,
    Side,
    Stair,
    Turn,
)
from service.domain.layout.system import (
    Assembly,
    CornerPosts,
    GateParts,
    Method,
    PostStock,
    RailingSystem,
)
from service.domain.lengths import INCH, inches
from tests.unit.domain.layout.builders import FASCIA, SYSTEM

Shape = list[tuple[int, int]]
SHAPES: tuple[Shape, ...] = (
    [(0, 0), (240, 0), (240, 180), (0, 180)],
    [(0, 0), (300, 0), (300, 120), (140, 120), (140, 260), (0, 260)],  # L
    [(0, 0), (120, 0), (120, 100), (240, 100), (240, 0), (360, 0), (360, 240), (0, 240)],  # U
    [(60, 0), (240, 0), (300, 60), (300, 200), (0, 200), (0, 60)],  # chamfered
    [(0, 0), (200, -60), (330, 40), (260, 220), (120, 150), (-40, 230)],  # odd angles
)
POSTS = (PostStock("low", inches(40)), PostStock("high", inches(52)), PostStock("tall", inches(90)))
GATES = GateParts(inches(0, 3, 4), inches(0, 1, 2), inches(2), inches(60))
WIDTHS = {
    OpeningKind.STAIR: (36, 48),
    OpeningKind.GATE: (36,),
    OpeningKind.OBSTACLE: (12, 20),
    OpeningKind.EXISTING_POST: (4,),
}
BOTH = frozenset(Side)
SIDES = (BOTH, BOTH, frozenset({Side.LEFT}), frozenset({Side.RIGHT}), frozenset[Side]())
KINDS = (*(EdgeKind.OPEN,) * 6, EdgeKind.WALL, EdgeKind.WALL, EdgeKind.EXISTING)


@st.composite
def systems(draw: st.DrawFn) -> RailingSystem:
    """Every way to build a run, either mount, any choice of corner posts."""
    system = draw(st.sampled_from([SYSTEM, SYSTEM, SYSTEM, FASCIA]))
    pickets = system.pickets
    if draw(st.booleans()):
        pickets = replace(pickets, pitch_nm=None, stair_pitch_nm=None)
    else:
        pickets = replace(pickets, centred_on=draw(st.sampled_from(["", "picket", "gap"])))
    corners = st.sampled_from([CornerPosts.ONE, CornerPosts.ONE, CornerPosts.TWO])
    return replace(
        system,
        posts=POSTS,
        pickets=pickets,
        method=draw(st.sampled_from(list(Method))),
        assembly=draw(st.sampled_from(list(Assembly))),
        square_corners=draw(corners),
        angled_corners=draw(corners),
        corner_gap_nm=inches(draw(st.sampled_from([0, 1, 3]))),
        max_section_nm=inches(draw(st.sampled_from([120, 192]))),
        gates=draw(st.sampled_from([None, GATES])),
    )


def _stair(draw: st.DrawFn, name: str, width: int, number: int) -> Stair:
    risers = draw(st.sampled_from([2, 4, 7, 12]))
    stair = Stair(
        name,
        risers * inches(7, 1, 2),
        risers,
        inches(10),
        inches(width),
        inches(1),
        draw(st.sampled_from(SIDES)),
        draw(st.sampled_from(list(Footing))),
        index=number,
    )
    if risers not in (4, 12) or not draw(st.booleans()):
        return stair
    length, gap = width + draw(st.sampled_from([0, 6])), draw(st.sampled_from([0, 4, 12]))
    landing = Landing(draw(st.sampled_from(list(Turn))), inches(length), inches(gap))
    return replace(stair, flights=(risers // 2, risers // 2), landings=(landing,))


def _edge(draw: st.DrawFn, number: int, length: float, stairs: list[Stair]) -> Edge:
    kind, guarded = draw(st.sampled_from(KINDS)), draw(st.integers(0, 9)) > 0
    if kind is not EdgeKind.OPEN:
        return Edge(kind, number)
    openings: list[Opening] = []
    reached = 0.0
    for place in range(draw(st.sampled_from([0, 0, 1, 1, 2, 3]))):
        what = draw(st.sampled_from([k for k in WIDTHS if guarded or k is OpeningKind.STAIR]))
        width = draw(st.sampled_from(WIDTHS[what]))
        last = math.floor((length - width) * 16) / 16
        low = min(reached + draw(st.sampled_from([0, 0.5, 3, 8, 20, 40, 999])), last)
        if low < reached:
            break
        name = f"{what.value} {number}.{place}"
        openings.append(Opening(what, name, inches(width), round(low * INCH)))
        reached = low + width
        if what is OpeningKind.STAIR:
            stairs.append(_stair(draw, name, width, len(stairs)))
    bulge = draw(st.sampled_from([0, 0, 0, 0, 0, 12, -12])) if not openings else 0
    return Edge(kind, number, inches(40), guarded, tuple(openings), inches(bulge))


@st.composite
def decks(draw: st.DrawFn) -> Deck:
    """One level of a common shape, its corners a little off, with anything along its edges."""
    shape = draw(st.sampled_from(SHAPES))
    if draw(st.booleans()):
        off = st.integers(-6, 6)
        shape = [(x + draw(off), y + draw(off)) for x, y in shape]
    stairs: list[Stair] = []
    edges = [
        _edge(draw, number, math.dist(a, b), stairs)
        for number, (a, b) in enumerate(zip(shape, shape[1:] + shape[:1], strict=True), 1)
    ]
    outline = tuple((inches(x), inches(y)) for x, y in shape)
    return Deck((Level("main", outline, tuple(edges)),), tuple(stairs))
