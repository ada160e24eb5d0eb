"""Where pages end: strips onto pages, kept together where they ask for it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from service.adapters.documents.strips import Ink, Letters, Strip

Page = list[tuple[Strip, float]]


@dataclass(slots=True)
class _Filling:
    """Pages while they are being filled.

    Attributes:
        rooms: Height of the first page and of all others. [mm]
        y: Where the next strip goes.
    """

    rooms: tuple[float, float]
    pages: list[Page]
    y: float = 0.0

    @property
    def room(self) -> float:
        return self.rooms[0] if len(self.pages) == 1 else self.rooms[1]

    def turn(self) -> None:
        self.pages.append([])
        self.y = 0.0

    def put(self, strip: Strip) -> None:
        page = self.pages[-1]
        if not page and len(self.pages) > 1:
            for head in strip.heads:
                page.append((_unheard(head), self.y))
                self.y += head.height
        elif page:
            self.y += strip.above
        page.append((strip, self.y))
        self.y += strip.height


def paged(strips: Sequence[Strip], first: float, others: float) -> list[Page]:
    """Put strips on pages, each with its distance from the head of the page. [mm]

    Args:
        strips: In order.
        first: Room on the first page. [mm]
        others: Room on every other page. [mm]
    """
    filling = _Filling((first, others), [[]])
    for i, strip in enumerate(strips):
        begun = bool(filling.pages[-1])
        if begun and (strip.fresh or _must_turn(strips, i, filling)):
            filling.turn()
        filling.put(strip)
    return filling.pages


def _must_turn(strips: Sequence[Strip], i: int, filling: _Filling) -> bool:
    """Tell whether a strip, with those it is kept to, belongs on the next page."""
    left = filling.room - filling.y + 1e-6
    strip = strips[i]
    if strip.above + strip.height > left:
        return True
    if i and strips[i - 1].keep and not strip.fresh:
        return False  # asked already where the strips kept together began
    needed = _kept(strips, i)
    return needed > left and needed <= filling.rooms[1]


def _kept(strips: Sequence[Strip], i: int) -> float:
    height = 0.0
    for j, strip in enumerate(strips[i:]):
        if j and strip.fresh:
            break
        height += strip.above + strip.height
        if not strip.keep:
            break
    return height


def _unheard(head: Strip) -> Strip:
    """Give a table's head once more, as decoration: it is read aloud once."""
    inks: tuple[Ink, ...] = tuple(
        replace(ink, tag=None) if isinstance(ink, Letters) else ink for ink in head.inks
    )
    return replace(head, inks=inks, above=0.0, bookmark=None)
