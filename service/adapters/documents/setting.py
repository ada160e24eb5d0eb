"""Sets the blocks of a document as strips of paper: line breaks, columns, space between."""

from collections.abc import Iterable, Iterator
from functools import singledispatchmethod

from service.adapters.documents.extents import Box
from service.adapters.documents.letters import POINT, Face, broken, face_of, printable, width
from service.adapters.documents.setting_table import set_table
from service.adapters.documents.sheet import (
    Blanks,
    Block,
    Facts,
    Figure,
    Heading,
    Listing,
    Mark,
    Paragraph,
    Sheet,
    Space,
    Table,
)
from service.adapters.documents.strips import Art, Ink, Letters, Rule, Strip, Tag

MARGIN = 18.0  # on all sides [mm]
RUNNING = 9.0  # for the running head and the foot, each, within the margins [mm]
LEADING = 1.32  # base line to base line, in letter sizes (common practice, no source)
_HEADINGS = {1: 1.45, 2: 1.15, 3: 1.0}  # letter sizes beside plain text
_TABLE = 0.96  # letters of a table beside plain text
_OPEN = 3  # so many lines of a paragraph stay together at its ends


class Setter:
    """Sets one document; its tags grow as its blocks are set."""

    def __init__(self, sheet: Sheet) -> None:
        """Measure the paper."""
        self.size = sheet.size
        self.room = sheet.paper.value[0] - 2 * MARGIN
        self.tall = sheet.paper.value[1] - 2 * MARGIN - 2 * RUNNING
        self.root = Tag("Document")

    def strips(self, blocks: Iterable[Block]) -> Iterator[Strip]:
        """Set blocks in order."""
        for block in blocks:
            yield from self.put(block)

    @singledispatchmethod
    def put(self, block: object) -> Iterator[Strip]:
        """Set one block."""
        raise TypeError(f"{type(block).__name__} is no block")

    def lines(
        self, text: str, size: float, face: Face, left: float, tag: Tag, right: float = 0.0
    ) -> Iterator[Strip]:
        """Set a text as one strip a line. [mm]"""
        high = size * POINT * LEADING
        texts = broken(text, size, self.room - left - right, face)
        last = len(texts) - 1
        for i, line in enumerate(texts):
            keep = i < last and (i < _OPEN - 1 or i >= last - _OPEN + 1)
            yield Strip(high, (Letters(left, high * 0.78, line, size, face, tag),), keep=keep)

    @put.register
    def _(self, block: Heading) -> Iterator[Strip]:
        size = self.size * _HEADINGS[block.level]
        tag = self.root.add(f"H{block.level}")
        high = size * POINT * LEADING
        texts = broken(block.text, size, self.room, Face.BOLD)
        for i, line in enumerate(texts):
            inks: list[Ink] = [Letters(0.0, high * 0.78, line, size, Face.BOLD, tag)]
            ruled = block.level == 1 and i == len(texts) - 1
            if ruled:
                inks.append(Rule((0.0, high + 0.4), (self.room, high + 0.4), 0.5))
            above = {1: 7.0, 2: 5.0, 3: 3.4}[block.level] if i == 0 else 0.0
            deep = high + (2.4 if ruled else 0.6 if i == len(texts) - 1 else 0.0)
            mark = (block.level, printable(block.text)) if i == 0 else None
            yield Strip(deep, tuple(inks), above, True, block.fresh and i == 0, bookmark=mark)

    @put.register
    def _(self, block: Paragraph) -> Iterator[Strip]:
        share, bold = block.tone.value
        tag = self.root.add("P")
        strips = list(self.lines(block.text, self.size * share, face_of(bold), 0.0, tag))
        yield from _spaced(strips, 1.6, keep=block.keep)

    @put.register
    def _(self, block: Listing) -> Iterator[Strip]:
        listing = self.root.add("L")
        figures = len(str(len(block.items)))
        numbered = block.mark is Mark.NUMBER
        left = width("0" * figures + ".", self.size) + 2.0 if numbered else 5.0
        for number, item in enumerate(block.items, start=1):
            entry = listing.add("LI")
            label, body = entry.add("Lbl"), entry.add("LBody")
            strips = list(self.lines(item, self.size, Face.PLAIN, left, body))
            text = f"{number}." if numbered else block.mark.value
            size = self.size * (1.25 if block.mark is Mark.TICK else 1.0)
            y = strips[0].inks[0].y if isinstance(strips[0].inks[0], Letters) else 0.0
            marked = Letters(0.0, y, text, size, Face.PLAIN, label)
            strips[0] = Strip(strips[0].height, (marked, *strips[0].inks), keep=strips[0].keep)
            yield from _spaced(strips, 2.2 if block.mark is Mark.TICK else 0.9)

    @put.register
    def _(self, block: Facts) -> Iterator[Strip]:
        table = self.root.add("Table")
        names = [printable(name) for name, _ in block.pairs]
        left = min(max(width(name, self.size, Face.BOLD) for name in names), self.room / 3) + 4.0
        for name, (_, text) in zip(names, block.pairs, strict=True):
            row = table.add("TR")
            head, cell = row.add("TH", scope="Row"), row.add("TD")
            heads = list(self.lines(name, self.size, Face.BOLD, 0.0, head, self.room - left + 4.0))
            told = list(self.lines(text, self.size, Face.PLAIN, left, cell))
            together = [
                Strip(strip.height, (*(heads[i].inks if i < len(heads) else ()), *strip.inks),
                      keep=strip.keep)
                for i, strip in enumerate(told)
            ]  # fmt: skip
            strips = [*together, *heads[len(told) :]]
            # a last fact of one line does not stand alone on a page
            yield from _spaced(strips, 0.5, keep=len(table.kids) == len(names) - 1)

    @put.register
    def _(self, block: Table) -> Iterator[Strip]:
        yield from set_table(block, self.root, self.size * _TABLE, self.room, LEADING)

    @put.register
    def _(self, block: Figure) -> Iterator[Strip]:
        seen = block.window or block.picture.box
        fitting = min(self.room / max(seen.width, 1.0), (self.tall - 16.0) / max(seen.height, 1.0))
        by = min(block.magnified, fitting)
        tag = self.root.add("Figure", alt=printable(block.alt))
        box = Box(0.0, 0.0, seen.width * by, seen.height * by)
        clip = box if block.window else None
        art = Art(block.picture.groups, -seen.left * by, -seen.top * by, by, tag, clip)
        yield Strip(box.height + 1.0, (art,), above=3.0, keep=block.keep)

    @put.register
    def _(self, block: Blanks) -> Iterator[Strip]:
        gap = 10.0
        wide = (self.room - gap * (len(block.columns) - 1)) / len(block.columns)
        high, size = self.size * POINT * LEADING, self.size
        deep = 9.0
        inks: list[Ink] = []
        for i, (heading, names) in enumerate(block.columns):
            left, tag = i * (wide + gap), self.root.add("P")
            heads = broken(heading, size, wide, Face.BOLD)[:2]
            for k, line in enumerate(heads):
                inks.append(Letters(left, high * (k + 0.78), line, size, Face.BOLD, tag))
            for j, name in enumerate(names):
                y = 2 * high + (j + 1) * deep
                inks.append(Rule((left, y), (left + wide, y), 0.2))
                inks.append(Letters(left, y + 3.4, name, size * 0.85, Face.PLAIN, tag))
        rows = max(len(names) for _, names in block.columns)
        yield Strip(2 * high + rows * deep + 5.0, tuple(inks), above=6.0)

    @put.register
    def _(self, block: Space) -> Iterator[Strip]:
        yield Strip(block.height, ())


def _spaced(strips: list[Strip], below: float, *, keep: bool = False) -> Iterator[Strip]:
    """Leave empty paper after the last of some strips. [mm]"""
    yield from strips[:-1]
    last = strips[-1]
    yield Strip(last.height + below, last.inks, last.above, keep or last.keep)
