"""Strips of paper: what a document comes to before it is known where its pages end.

A strip is never broken. Places in it are millimetres from its own left top corner; ``tag`` says
what each thing is for those who hear a document read. What has no tag is decoration.
"""

from dataclasses import dataclass, field

from service.adapters.documents.extents import Box
from service.adapters.documents.letters import Face
from service.adapters.documents.primitives import Group


@dataclass(eq=False, slots=True)
class Tag:
    """An element of a document's structure, as ISO 32000-1, 14.8.4 names them (from memory).

    Attributes:
        role: Such as "P", "H1", "Table", "TD".
        alt: What stands for a figure in words; of a table, what it holds.
        scope: Of a "TH": "Row" or "Column".
        pieces: Where its own content stands: page from 0, and number of the piece on it; in
            the order of reading together with ``kids``.
    """

    role: str
    alt: str = ""
    scope: str = ""
    kids: "list[Tag]" = field(default_factory=list)
    pieces: list[tuple[int, int]] = field(default_factory=list)

    def add(self, role: str, alt: str = "", scope: str = "") -> "Tag":
        """Make an element inside this one."""
        kid = Tag(role, alt, scope)
        self.kids.append(kid)
        return kid


@dataclass(frozen=True, slots=True)
class Letters:
    """One line of letters, set from ``x`` on; ``y`` is its base line."""

    x: float
    y: float
    text: str
    size: float
    face: Face = Face.PLAIN
    tag: Tag | None = None


@dataclass(frozen=True, slots=True)
class Rule:
    """A straight line of some weight. [mm]"""

    start: tuple[float, float]
    end: tuple[float, float]
    weight: float


@dataclass(frozen=True, slots=True)
class Shade:
    """A light grey ground; black letters on it stay readable in print."""

    box: Box


@dataclass(frozen=True, slots=True)
class Art:
    """Groups of a drawing, moved and magnified; cut off outside ``clip``."""

    groups: tuple[Group, ...]
    x: float
    y: float
    magnified: float
    tag: Tag | None
    clip: Box | None = None


@dataclass(frozen=True, slots=True)
class Logo:
    """A PNG. [mm]"""

    content: bytes
    box: Box
    tag: Tag | None = None


Ink = Letters | Rule | Shade | Art | Logo


@dataclass(frozen=True, slots=True)
class Strip:
    """A piece of a page over its whole width.

    Attributes:
        above: Empty paper before it, except at the head of a page. [mm]
        keep: Whether it stays with the strip after it.
        fresh: Whether it begins a page.
        heads: Repeated where a page begins with this strip.
        bookmark: Level and text, None for none.
    """

    height: float
    inks: tuple[Ink, ...]
    above: float = 0.0
    keep: bool = False
    fresh: bool = False
    heads: "tuple[Strip, ...]" = ()
    bookmark: tuple[int, str] | None = None
