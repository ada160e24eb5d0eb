"""What a refusal advises, done: the deck is then laid out."""

import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from service.domain.errors import QuotingError, UnbuildableLayout
from service.domain.layout.deck import Deck, Landing, OpeningKind, Turn
from service.domain.layout.lay_out import lay_out
from service.domain.layout.system import GateParts, PostStock, RailingSystem
from service.domain.lengths import MILLIMETRE, inches
from tests.unit.domain.layout.builders import RECTANGLE, SYSTEM, level, stair, with_opening

Job = tuple[Deck, RailingSystem]
GATES = GateParts(inches(0, 3, 4), inches(0, 1, 2), inches(2), inches(30))


def millimetres(refusal: QuotingError) -> int:
    """Read the first length of an advice. [nm]"""
    found = re.search(r"([\d.]+) mm", refusal.advice)
    assert found
    return round(float(found[1]) * MILLIMETRE)


def with_stair(width: int = 48, offset: int | None = 72, **changes: object) -> Deck:
    front = with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.STAIR, "stair", width, offset)
    return Deck((front,), (stair(width_nm=inches(width), **changes),))


def with_gate() -> Deck:
    return Deck((with_opening(level(RECTANGLE, "ooow"), 1, OpeningKind.GATE, "gate", 36, 60),))


def opening_changed(deck: Deck, **changes: object) -> Deck:
    front = deck.levels[0]
    edge = replace(front.edges[0], openings=(replace(front.edges[0].openings[0], **changes),))
    return replace(deck, levels=(replace(front, edges=(edge, *front.edges[1:])),))


def flatter(deck: Deck, system: RailingSystem, advised: int) -> Job:
    return replace(deck, stairs=(replace(deck.stairs[0], unit_run_nm=advised),)), system


def narrower(deck: Deck, system: RailingSystem, advised: int) -> Job:
    return opening_changed(deck, width_nm=deck.levels[0].edges[0].openings[0].width_nm // 2), system


def further_from_the_corner(deck: Deck, system: RailingSystem, advised: int) -> Job:
    offset = deck.levels[0].edges[0].openings[0].offset_nm or 0
    return opening_changed(deck, offset_nm=offset - advised), system


def taller_stock(deck: Deck, system: RailingSystem, advised: int) -> Job:
    return deck, replace(system, posts=(*system.posts, PostStock("advised", advised)))


def longer_landing(deck: Deck, system: RailingSystem, advised: int) -> Job:
    flight = deck.stairs[0]
    landing = replace(flight.landings[0], length_nm=advised)
    return replace(deck, stairs=(replace(flight, landings=(landing,)),)), system


def longer_span(deck: Deck, system: RailingSystem, advised: int) -> Job:
    return deck, replace(system, max_stair_span_nm=advised)


def narrower_gate(deck: Deck, system: RailingSystem, advised: int) -> Job:
    return opening_changed(deck, width_nm=advised), system


def wider_deck(deck: Deck, system: RailingSystem, advised: int) -> Job:
    front = deck.levels[0]
    right = front.outline[1][0] + advised
    outline = tuple((right if x else x, y) for x, y in front.outline)
    return replace(deck, levels=(replace(front, outline=outline),)), system


def narrow_deck(width: int) -> Deck:
    return Deck((level([(0, 0), (width, 0), (width, 144), (0, 144)], "owww"),))


LANDED = with_stair(
    risers=8,
    total_rise_nm=inches(60),
    flights=(4, 4),
    landings=(Landing(Turn.LEFT, inches(40)),),
)


@pytest.mark.parametrize(
    ("deck", "system", "where", "follow"),
    [
        pytest.param(
            with_stair(unit_run_nm=inches(8)),
            SYSTEM,
            ("deck", "stairs", 0),
            flatter,
            id="racking limit",
        ),
        pytest.param(
            with_stair(200, None),
            SYSTEM,
            ("deck", "levels", 0, "edges", 0),
            narrower,
            id="stair wider than its edge",
        ),
        pytest.param(
            with_stair(48, 141),
            SYSTEM,
            ("deck", "levels", 0, "edges", 0),
            further_from_the_corner,
            id="stair too near a corner",
        ),
        pytest.param(
            narrow_deck(9),
            SYSTEM,
            ("deck", "levels", 0, "edges", 0),
            wider_deck,
            id="bay too small",
        ),
        pytest.param(
            with_stair(),
            replace(SYSTEM, posts=SYSTEM.posts[:1]),
            ("deck", "stairs", 0),
            taller_stock,
            id="post stock too short",
        ),
        pytest.param(
            LANDED,
            SYSTEM,
            ("deck", "stairs", 0, "landings", 0, "length"),
            longer_landing,
            id="landing too short",
        ),
        pytest.param(
            with_stair(risers=14, total_rise_nm=inches(105)),
            replace(SYSTEM, max_stair_span_nm=inches(8)),
            ("deck", "stairs", 0),
            longer_span,
            id="stair span below a tread",
        ),
        pytest.param(
            with_gate(),
            replace(SYSTEM, gates=GATES),
            ("deck", "levels", 0, "edges", 0),
            narrower_gate,
            id="gate too wide to hang",
        ),
    ],
)
def test_following_the_advice_makes_it_buildable(
    deck: Deck,
    system: RailingSystem,
    where: tuple[str | int, ...],
    follow: Callable[[Deck, RailingSystem, int], Job],
) -> None:
    with pytest.raises(UnbuildableLayout) as refused:
        lay_out(deck, system)
    assert refused.value.element
    assert refused.value.where == where
    advised = 0 if follow is narrower else millimetres(refused.value)
    assert lay_out(*follow(deck, system, advised)).sections
