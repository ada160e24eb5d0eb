"""Timber and a base plate for the blocking tests; every number is invented for them."""

from dataclasses import replace

from service.domain.layout.deck import Deck
from service.domain.layout.framing import BasePlate, Framing
from service.domain.layout.records import Post, PostPosition
from service.domain.lengths import INCH, inches
from tests.unit.domain.layout.builders import SYSTEM

JOISTS = Framing(
    joist_deg=90.0,
    spacing_nm=inches(16),
    first_joist_nm=inches(16),
    joist_thickness_nm=inches(1, 1, 2),
    joist_depth_nm=inches(9, 1, 4),
    rim_thickness_nm=inches(1, 1, 2),
    block_thickness_nm=inches(1, 1, 2),
    block_depth_nm=inches(9, 1, 4),
    decking_nm=inches(1),
    block_fit_nm=inches(0, 1, 16),
)


def plate(width: int = 5, out: tuple[int, int] = (2, 1), **changes: object) -> BasePlate:
    """A square plate of so many inches, four holes out[0] + out[1] / 8 in off both axes."""
    whole, eighths = out
    off = inches(whole, eighths, 8)
    base = BasePlate(
        width_nm=inches(width),
        holes=((off, off), (-off, off), (-off, -off), (off, -off)),
        fastener_nm=inches(0, 3, 8),
        edge_distance_nm=inches(0, 9, 16),
        end_distance_nm=inches(0, 9, 16),
    )
    return replace(base, **changes)


FRAMED_SYSTEM = replace(SYSTEM, base=plate())


def framed(deck: Deck, framing: Framing = JOISTS) -> Deck:
    """The deck with the same timber under every level."""
    return replace(deck, levels=tuple(replace(one, framing=framing) for one in deck.levels))


def post(x: float, y: float, axis_deg: float = 0.0, surface: str = "deck") -> Post:
    """A line post of level main, edge 1, at so many inches."""
    return Post(
        name="P1",
        position=PostPosition.LINE,
        at=(round(x * INCH), round(y * INCH)),
        axis_deg=axis_deg,
        turn_deg=0.0,
        surface=surface,
        base_nm=0,
        height_nm=inches(37),
        stock="low",
        level="main",
        edge=1,
    )
