"""A document for paper before it is set: headings, rows, facts, lists and pictures in order.

What a document says is decided when its sheet is made; a renderer sets it on pages and decides
nothing more than where a page ends.
"""

from dataclasses import dataclass, field
from enum import Enum, StrEnum

from service.adapters.documents.extents import Box
from service.adapters.documents.picture import Picture
from service.usecases.letterhead import Letterhead


class Paper(Enum):
    """Sizes a sheet is printed on, upright. [mm]"""

    A4 = (210.0, 297.0)  # ISO 216
    LETTER = (215.9, 279.4)  # ANSI/ASME Y14.1 size A, from memory


class Tone(Enum):
    """How a paragraph is lettered: its size beside the document's own, and its weight."""

    PLAIN = (1.0, False)
    STRONG = (1.0, True)
    SMALL = (0.88, False)
    LARGE = (1.35, True)


class Mark(StrEnum):
    """What stands before each item of a list."""

    BULLET = "•"
    NUMBER = "number"
    TICK = "☐"


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading, which is a bookmark too.

    Attributes:
        fresh: True begins a new page.
    """

    text: str
    level: int = 1
    fresh: bool = False


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A paragraph; ``keep`` holds it to what follows."""

    text: str
    tone: Tone = Tone.PLAIN
    keep: bool = False


@dataclass(frozen=True, slots=True)
class Listing:
    """A list of sentences."""

    items: tuple[str, ...]
    mark: Mark = Mark.BULLET


@dataclass(frozen=True, slots=True)
class Facts:
    """Names and what they stand for, in two columns."""

    pairs: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table.

    Attributes:
        share: Part of the room that the columns without a width of their own divide; 0 for a
            column as wide as what stands in it.
        right: True sets it to the right, as figures are.
    """

    title: str
    share: float = 0.0
    right: bool = False


class Weight(Enum):
    """What a row of a table is."""

    PLAIN = "plain"
    STRONG = "strong"
    GROUP = "group"  # one text over all columns, above the rows it names


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a table; ``keep`` holds it to the next."""

    cells: tuple[str, ...]
    weight: Weight = Weight.PLAIN
    keep: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """A table whose heads are repeated on each page; without titles it has no heads."""

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    summary: str = ""


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture on the page.

    Attributes:
        alt: What it shows, for those who cannot see it.
        magnified: How much larger it is printed than it was drawn.
        window: The part of it to be shown, in its own paper millimetres; None for all.
        keep: Holds it to what follows.
    """

    picture: Picture
    alt: str
    magnified: float = 1.0
    window: Box | None = None
    keep: bool = False


@dataclass(frozen=True, slots=True)
class Blanks:
    """Lines to be filled in by hand, side by side under a heading each."""

    columns: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class Space:
    """Empty paper. [mm]"""

    height: float


Block = Heading | Paragraph | Listing | Facts | Table | Figure | Blanks | Space


@dataclass(frozen=True, slots=True)
class Sheet:
    """A whole document.

    Attributes:
        title: Its kind and what it is about; the title of the file.
        running: Said at the head of every page after the first.
        footing: Said at the foot of every page, beside the page's number.
        size: Letter size of plain text. [pt]
        made_on: Day of what it is about, year, month and day with hyphens, kept in the file.
    """

    title: str
    author: str
    subject: str
    running: str
    footing: str
    paper: Paper
    size: float
    blocks: tuple[Block, ...]
    letterhead: Letterhead | None = None
    language: str = field(default="en")
    made_on: str = ""
