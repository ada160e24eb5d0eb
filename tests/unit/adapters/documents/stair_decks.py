"""Decks with landings, handrails and odd edges, laid out with an invented railing system."""

from dataclasses import replace

from service.domain.layout.deck import (
    Deck,
    Footing,
    Landing,
    Level,
    OpeningKind,
    Side,
    Stair,
    Turn,
)
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout
from service.domain.layout.stair_records import HandrailParts
from service.domain.layout.system import CornerPosts, GateParts
from service.domain.lengths import inches
from tests.unit.domain.layout.builders import SYSTEM, level, stair, with_opening

HANDRAIL = HandrailParts(
    height_nm=inches(34),
    width_nm=inches(1, 1, 2),
    clearance_nm=inches(2, 1, 4),
    bracket_spacing_nm=inches(32),
    bracket_end_nm=inches(8),
    longest_nm=inches(144),
    top_extension_nm=inches(12),
    bottom_treads=1,
)
RAILED = replace(
    SYSTEM,
    handrail=HANDRAIL,
    gates=GateParts(inches(0, 1, 2), inches(0, 1, 2), inches(2), inches(48)),
)
BOTH = frozenset({Side.LEFT, Side.RIGHT})
NONE: frozenset[Side] = frozenset()


def front(name: str, width: int = 40, offset: int = 96) -> Level:
    """20 ft x 12 ft, house on the left, a stair out of its front."""
    main = level([(0, 0), (240, 0), (240, 144), (0, 144)], "ooow")
    return with_opening(main, 1, OpeningKind.STAIR, name, width, offset)


def with_landing(turn: Turn, **changes: object) -> Layout:
    """Two flights of seven risers with a landing between."""
    flight = replace(
        stair(name="yard stair", total_rise_nm=inches(98), risers=14, width_nm=inches(40)),
        flights=(7, 7), landings=(Landing(turn, inches(44), inches(4)),), bottom=Footing.GRADE,
        handrails=BOTH,
    )  # fmt: skip
    return lay_out(Deck((front("yard stair"),), (replace(flight, **changes),)), RAILED)


def turned() -> Layout:
    return with_landing(Turn.LEFT)


def switchback() -> Layout:
    return with_landing(Turn.BACK_LEFT)


def straight() -> Layout:
    """Open on the left only: wall handrails on the right, and a walled side of the landing."""
    return with_landing(Turn.STRAIGHT, open_sides=frozenset({Side.LEFT}), handrails=None)


def three_flights() -> Layout:
    landings = (Landing(Turn.RIGHT, inches(40)), Landing(Turn.RIGHT, inches(40)))
    return with_landing(Turn.LEFT, flights=(5, 4, 5), landings=landings)


def arriving(lower_x: int = 20) -> tuple[Deck, Stair]:
    """A short stair from an upper level down to a lower one in front of it."""
    upper = with_opening(
        level([(0, 0), (192, 0), (192, 120), (0, 120)], "ooow", "upper"),
        1, OpeningKind.STAIR, "step stair", 48, 60,
    )  # fmt: skip
    flight = stair(name="step stair", total_rise_nm=inches(28), risers=4, bottom=Footing.LANDING)
    y = -29  # three goings of 10 in less the nosing
    right = lower_x + 150
    lower = level([(lower_x, y - 120), (right, y - 120), (right, y), (lower_x, y)], "oooo", "lower")
    lower = with_opening(lower, 3, OpeningKind.ARRIVAL, "step stair", 48, right - 108)
    return Deck((upper, replace(lower, index=1)), (flight,)), flight


def arrival() -> Layout:
    return lay_out(arriving()[0], RAILED)


def walled() -> Layout:
    """A stair between walls: handrails and no section."""
    flight = stair(name="cellar stair", width_nm=inches(40), open_sides=NONE)
    return lay_out(Deck((front("cellar stair"),), (flight,)), RAILED)


def odd_edges() -> Layout:
    """A chimney, an existing post, a hung gate, an arc, and an edge left open."""
    main = level([(0, 0), (240, 0), (240, 120), (0, 120)], "oooo")
    main = with_opening(main, 1, OpeningKind.OBSTACLE, "chimney", 24, 60)
    main = with_opening(main, 1, OpeningKind.GATE, "dog gate", 36, 150)
    main = with_opening(main, 2, OpeningKind.EXISTING_POST, "porch post", 6, 50)
    edges = list(main.edges)
    edges[2] = replace(edges[2], sagitta_nm=inches(30))
    edges[3] = replace(edges[3], guarded=False)
    return lay_out(Deck((replace(main, edges=tuple(edges)),)), RAILED)


def two_posts() -> Layout:
    """Two posts at every corner, and a stair long enough for a post on a tread."""
    system = replace(
        RAILED, square_corners=CornerPosts.TWO, angled_corners=CornerPosts.TWO,
        corner_gap_nm=inches(2),
    )  # fmt: skip
    main = level([(0, 0), (200, 0), (240, 60), (240, 144), (0, 144)], "oooow")
    main = with_opening(main, 1, OpeningKind.STAIR, "yard stair", 40, 60)
    flight = stair(
        name="yard stair", width_nm=inches(40), risers=10, total_rise_nm=inches(75),
        handrails=frozenset({Side.LEFT}),
    )  # fmt: skip
    return lay_out(Deck((main,), (flight,)), system)


STAIR_LAYOUTS = {
    "turned": turned,
    "switchback": switchback,
    "straight": straight,
    "three flights": three_flights,
    "arrival": arrival,
    "walled": walled,
    "odd edges": odd_edges,
    "two posts": two_posts,
}
