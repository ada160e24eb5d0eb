"""Layouts to draw: decks of many shapes laid out with an invented railing system."""

import math
from dataclasses import replace

from service.domain.layout.deck import Deck, Edge, EdgeKind, Footing, Level, OpeningKind
from service.domain.layout.lay_out import lay_out
from service.domain.layout.records import Layout
from service.domain.layout.system import Assembly, Mount, no_pickets
from service.domain.lengths import inches
from tests.unit.adapters.documents.stair_decks import STAIR_LAYOUTS
from tests.unit.domain.layout.builders import (
    BETWEEN,
    FREE,
    RECTANGLE,
    SYSTEM,
    level,
    stair,
    stair_deck,
    with_opening,
)

EL = [(0, 0), (192, 0), (192, 96), (96, 96), (96, 168), (0, 168)]


def plain() -> Layout:
    return lay_out(stair_deck(), SYSTEM)


def el_shape() -> Layout:
    """L-shape with the house on its left and a stair out of the notch's lower side."""
    main = with_opening(level(EL, "ooooow"), 3, OpeningKind.STAIR, "garden stair", 42, 40)
    flight = stair(name="garden stair", width_nm=inches(42), bottom=Footing.GRADE)
    return lay_out(Deck((main,), (flight,)), SYSTEM)


def octagon() -> Layout:
    around = [
        (round(90 * math.cos(math.radians(22.5 + 45 * i))), round(
            90 * math.sin(math.radians(22.5 + 45 * i))))
        for i in range(8)
    ]  # fmt: skip
    return lay_out(Deck((level(around, "oooooooo"),)), FREE)


def stairs_all_round() -> Layout:
    """A stair on every side, each with its own open sides."""
    main = level([(0, 0), (240, 0), (240, 220), (0, 220)], "oooo")
    flights = []
    for i in range(4):
        main = with_opening(main, i + 1, OpeningKind.STAIR, f"stair {i + 1}", 44, None)
        flights.append(stair(name=f"stair {i + 1}", width_nm=inches(44), index=i))
    return lay_out(Deck((main,), tuple(flights)), BETWEEN)


def long_run() -> Layout:
    """Guard along 200 ft."""
    main = level([(0, 0), (2400, 0), (2400, 120), (0, 120)], "ooow")
    return lay_out(Deck((main,)), replace(SYSTEM, max_section_nm=inches(240)))


def two_levels() -> Layout:
    """Two levels, a gate, an existing edge, fascia mount, posts first."""
    upper = with_opening(
        level(RECTANGLE, "ooow", "upper"), 1, OpeningKind.GATE, "side gate", 40, 60
    )
    lower = replace(level([(0, 0), (120, 0), (120, 100), (0, 100)], "oeow", "lower"), index=1)
    system = replace(
        BETWEEN, mount=Mount.FASCIA, fascia_drop_nm=inches(8), assembly=Assembly.POSTS_FIRST,
        posts=tuple(replace(p, height_nm=p.height_nm + inches(10)) for p in BETWEEN.posts),
    )  # fmt: skip
    return lay_out(Deck((upper, lower)), system)


def many_posts(sides: int = 60) -> Layout:
    """A saw-toothed promenade with some hundreds of posts."""
    top = [(x * 100, 300 + (60 if x % 2 else 0)) for x in range(sides, -1, -1)]
    outline = [(0, 0), (sides * 100, 0), *top]
    return lay_out(Deck((level(outline, "o" * len(outline)),)), FREE)


def hostile(name: str) -> Layout:
    """A deck whose every name is the given text."""
    main = with_opening(level(RECTANGLE, "ooow", name), 1, OpeningKind.STAIR, name, 48, 72)
    deck = Deck((main,), (stair(name=name),))
    return lay_out(deck, replace(SYSTEM, name=name))


def bare() -> Layout:
    """A deck with walls on every side: nothing to guard."""
    outline = tuple((inches(x), inches(y)) for x, y in RECTANGLE)
    edges = tuple(Edge(EdgeKind.WALL, i) for i in range(1, 5))
    return lay_out(Deck((Level("main", outline, edges),)), SYSTEM)


def filled(infill) -> Layout:
    """The plain deck with something else than pickets between posts."""
    system = replace(BETWEEN, infill=infill, pickets=no_pickets(inches(4)), max_rake_deg=42.0)
    return lay_out(stair_deck(), system)


LAYOUTS = {
    "plain": plain,
    "el": el_shape,
    "octagon": octagon,
    "stairs": stairs_all_round,
    "long": long_run,
    "levels": two_levels,
    "many": many_posts,
    "bare": bare,
    **STAIR_LAYOUTS,
}
