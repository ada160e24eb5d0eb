"""Sets a table as strips: columns as wide as they need, heads that repeat, rows that hold."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from service.adapters.documents.extents import Box
from service.adapters.documents.letters import POINT, Face, broken, face_of, printable, width
from service.adapters.documents.sheet import Column, Row, Table, Weight
from service.adapters.documents.strips import Ink, Letters, Rule, Shade, Strip, Tag

_GAP = 3.0  # between columns [mm]
_PAD = 0.9  # above and below the lines of a row [mm]
_WHOLE = 16  # a row of more lines may be broken over pages
_WIDEST = 0.34  # of the room, for a column that is as wide as what stands in it


@dataclass(frozen=True, slots=True)
class _Grid:
    """Where the columns of a table stand. [mm]"""

    columns: tuple[Column, ...]
    lefts: tuple[float, ...]
    widths: tuple[float, ...]
    room: float
    size: float
    leading: float

    @property
    def line(self) -> float:
        return self.size * POINT * self.leading


def set_table(table: Table, root: Tag, size: float, room: float, leading: float) -> Iterator[Strip]:
    """Set a table at a letter size in points over a width. [mm]"""
    grid = _grid(table, size, room, leading)
    tag = root.add("Table", alt=table.summary)
    heads: tuple[Strip, ...] = ()
    if any(column.title for column in table.columns):
        heads = (_head(grid, tag.add("TR")),)
        yield from heads
    last = len(table.rows) - 1
    for i, row in enumerate(table.rows):
        strips = _row(grid, row, tag.add("TR"))
        # neither a head nor the last row stands alone at the turn of a page
        keep = row.keep or row.weight is Weight.GROUP or (i == last - 1 and last > 1)
        for j, strip in enumerate(strips):
            ends = j == len(strips) - 1
            yield replace(strip, heads=heads, keep=strip.keep or (ends and keep and i < last))
    yield Strip(2.0, ())


def _grid(table: Table, size: float, room: float, leading: float) -> _Grid:
    columns = table.columns
    natural = [
        0.0 if column.share else _natural(table, i, size, room) for i, column in enumerate(columns)
    ]
    free = room - sum(natural) - _GAP * (len(columns) - 1)
    shared = [i for i, column in enumerate(columns) if column.share]
    widths = list(natural)
    while shared:
        # A column of few words takes what they need and leaves its rest to the others.
        shares = sum(columns[i].share for i in shared)
        needs = {i: _natural(table, i, size, room, 1.0) for i in shared}
        short = [i for i in shared if needs[i] < free * columns[i].share / shares]
        if not short or len(short) == len(shared):
            break
        for i in short:
            widths[i] = needs[i]
            free -= needs[i]
        shared = [i for i in shared if i not in short]
    for i in shared:
        widths[i] = free * columns[i].share / sum(columns[j].share for j in shared)
    lefts = [sum(widths[:i]) + _GAP * i for i in range(len(widths))]
    return _Grid(columns, tuple(lefts), tuple(widths), room, size, leading)


def _natural(table: Table, i: int, size: float, room: float, widest: float = _WIDEST) -> float:
    """Give the width a column needs for its cells and for its title in two lines."""
    named = printable(table.columns[i].title)
    title = max(width(word, size, Face.BOLD) for word in named.split(" "))
    title = max(title, width(named, size, Face.BOLD) * 0.62 if " " in named else 0.0)
    cells = (
        width(printable(row.cells[i]), size, face_of(row.weight is Weight.STRONG))
        for row in table.rows
        if row.weight is not Weight.GROUP
    )
    return min(max(title, max(cells, default=0.0)) + 0.1, room * widest)


def _head(grid: _Grid, tag: Tag) -> Strip:
    titles = [column.title for column in grid.columns]
    texts = [
        broken(title, grid.size, wide, Face.BOLD)
        for title, wide in zip(titles, grid.widths, strict=True)
    ]
    most = max(map(len, texts))
    tags = [tag.add("TH", scope="Column") for _ in titles]
    inks: list[Ink] = []
    for i, lines in enumerate(texts):
        for j, line in enumerate(lines, start=most - len(lines)):  # heads stand on one line
            inks.append(_cell(grid, i, j, line, Face.BOLD, tags[i]))
    high = most * grid.line + 2 * _PAD
    inks.append(Rule((0.0, high), (grid.room, high), 0.35))
    return Strip(high + 0.5, tuple(inks), above=2.0, keep=True)


def _cell(grid: _Grid, i: int, line: int, text: str, face: Face, tag: Tag) -> Letters:
    x = grid.lefts[i]
    if grid.columns[i].right:
        x += grid.widths[i] - width(text, grid.size, face)
    return Letters(x, _PAD + (line + 0.76) * grid.line, text, grid.size, face, tag)


def _row(grid: _Grid, row: Row, tag: Tag) -> list[Strip]:
    if row.weight is Weight.GROUP:
        return [_group(grid, row.cells[0], tag)]
    face = face_of(row.weight is Weight.STRONG)
    texts = [
        broken(cell, grid.size, wide, face)
        for cell, wide in zip(row.cells, grid.widths, strict=True)
    ]
    tags = [tag.add("TD") for _ in texts]
    most = max(map(len, texts))
    pieces = [(0, most)] if most <= _WHOLE else _pieces(most)
    strips = []
    for first, end in pieces:
        inks: list[Ink] = [
            _cell(grid, i, j, line, face, tags[i])
            for i, lines in enumerate(texts)
            for j, line in enumerate(lines[first:end])
            if line
        ]
        high = (end - first) * grid.line + 2 * _PAD
        if end == most:
            weight = 0.35 if row.weight is Weight.STRONG else 0.1
            left = grid.lefts[next((i for i, cell in enumerate(row.cells) if cell), 0)]
            inks.append(Rule((left, high), (grid.room, high), weight))
        strips.append(Strip(high, tuple(inks)))
    return strips


def _pieces(count: int) -> list[tuple[int, int]]:
    half = _WHOLE // 2
    return [(first, min(first + half, count)) for first in range(0, count, half)]


def _group(grid: _Grid, text: str, tag: Tag) -> Strip:
    lines: Sequence[str] = broken(text, grid.size, grid.room - 2 * _PAD, Face.BOLD)
    high = len(lines) * grid.line + 2 * _PAD
    cell = tag.add("TH", scope="Row")
    inks: list[Ink] = [Shade(Box(0.0, 0.6, grid.room, high))]
    for j, line in enumerate(lines):
        y = _PAD + (j + 0.76) * grid.line + 0.3
        inks.append(Letters(_PAD, y, line, grid.size, Face.BOLD, cell))
    return Strip(high + 0.3, tuple(inks), above=1.0, keep=True)
