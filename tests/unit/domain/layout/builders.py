"""A railing system and decks for the layout tests; every number is invented for them."""

from dataclasses import replace

from service.domain.layout.deck import (
    Deck,
    Edge,
    EdgeKind,
    Footing,
    Level,
    Opening,
    OpeningKind,
    Side,
    Stair,
)
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout
from service.domain.layout.system import (
    Assembly,
    Joint,
    JointKind,
    Method,
    Mount,
    Pickets,
    PostStock,
    RailingSystem,
    RailProfile,
)
from service.domain.lengths import inches

SYSTEM = RailingSystem(
    name="test rail",
    method=Method.CONTINUOUS,
    assembly=Assembly.PREFABRICATED,
    mount=Mount.SURFACE,
    guard_height_nm=inches(36),
    stair_guard_height_nm=inches(36),
    bottom_gap_nm=inches(3),
    stair_bottom_gap_nm=inches(0, 1, 2),
    set_back_nm=inches(3),
    stair_set_back_nm=inches(3),
    tread_set_back_nm=inches(5),
    foot_offset_nm=inches(3),
    post_width_nm=inches(2),
    post_above_rail_nm=inches(1),
    posts=(PostStock("low", inches(40)), PostStock("high", inches(52))),
    top_rail=RailProfile(inches(1, 1, 2), inches(2)),
    bottom_rail=RailProfile(inches(1), inches(1, 1, 2)),
    pickets=Pickets(
        width_nm=inches(0, 3, 4),
        pitch_nm=inches(4, 1, 2),
        stair_pitch_nm=inches(5),
        max_gap_nm=inches(4),
        enters_nm=0,
    ),
    max_span_nm=inches(72),
    max_stair_span_nm=inches(72),
    wall_clearance_nm=inches(2),
    line_post_cut_nm=inches(1),
    max_section_nm=inches(192),
    max_unsupported_nm=inches(48),
    max_rake_deg=42.0,
    joints={
        JointKind.FIXED: Joint(),
        JointKind.SLEEVE: Joint(enters_nm=0, clearance_nm=inches(0, 1, 8)),
        JointKind.BRACKET: Joint(enters_nm=0, clearance_nm=inches(0, 1, 16)),
        JointKind.STAIR: Joint(enters_nm=inches(0, 1, 2)),
    },
)
BETWEEN = replace(SYSTEM, method=Method.BETWEEN_POSTS)
FASCIA = replace(
    SYSTEM,
    mount=Mount.FASCIA,
    set_back_nm=inches(2),
    stair_set_back_nm=inches(2),
    fascia_drop_nm=inches(9),
    posts=(PostStock("level", inches(48)), PostStock("stair", inches(66))),
)
FREE = replace(BETWEEN, pickets=replace(SYSTEM.pickets, pitch_nm=None, stair_pitch_nm=None))


def stair(**changes: object) -> Stair:
    """Seven risers of 7-1/2 in over a run of 10 in: a 3-4-5 rake."""
    flight = Stair(
        name="stair",
        total_rise_nm=inches(52, 1, 2),
        risers=7,
        unit_run_nm=inches(10),
        width_nm=inches(48),
        nosing_nm=inches(1),
        open_sides=frozenset({Side.LEFT, Side.RIGHT}),
        bottom=Footing.SLAB,
    )
    return replace(flight, **changes)


def level(points: list[tuple[int, int]], kinds: str, name: str = "main") -> Level:
    """Level from corners in inches; kinds has a letter an edge: o(pen), w(all), e(xisting)."""
    letters = {"o": EdgeKind.OPEN, "w": EdgeKind.WALL, "e": EdgeKind.EXISTING}
    outline = tuple((inches(x), inches(y)) for x, y in points)
    edges = tuple(Edge(letters[k], i, inches(52)) for i, k in enumerate(kinds, 1))
    return Level(name, outline, edges)


def with_opening(
    place: Level, number: int, kind: OpeningKind, name: str, width: int, offset: int | None
) -> Level:
    """Put an opening in edge `number`; width and offset in inches."""
    opening = Opening(kind, name, inches(width), None if offset is None else inches(offset))
    edges = tuple(
        replace(edge, openings=(*edge.openings, opening)) if edge.number == number else edge
        for edge in place.edges
    )
    return replace(place, edges=edges)


RECTANGLE = [(0, 0), (192, 0), (192, 144), (0, 144)]


def one_run_deck() -> Deck:
    """16 ft x 12 ft, house along the back, guard on the other three sides."""
    return Deck((level(RECTANGLE, "ooow"),))


def stair_deck() -> Deck:
    """The same with a stair 48 in wide, 72 in from the left along the front."""
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.STAIR, "stair", 48, 72)
    return Deck((front,), (stair(),))


def demo() -> Layout:
    return lay_out(stair_deck(), SYSTEM)
