"""Plain text in columns: cells padded by what a terminal shows, long ones broken over lines."""

import unicodedata
from collections.abc import Iterator, Sequence

WIDTH = 100
_ZERO_WIDTH = {"Mn", "Me", "Cf"}


def cleaned(text: str) -> str:
    r"""Make any text fit for a terminal: no escapes, no turning of the reading direction.

    Example:
        >>> cleaned("a\x1b[31mb")
        'a?[31mb'
    """
    kept = (" " if letter in "\t\n\r\u2028\u2029" else letter for letter in text)
    return "".join("?" if _unfit(letter) else letter for letter in kept)


def _unfit(letter: str) -> bool:
    return unicodedata.category(letter) in {"Cc", "Cf", "Cs", "Cn", "Co"}


def shown_width(text: str) -> int:
    """Count the terminal columns a text takes.

    Example:
        >>> shown_width("梁 2"), shown_width("e\u0301")
        (4, 1)
    """
    return sum(_columns(letter) for letter in text)


def _columns(letter: str) -> int:
    if unicodedata.category(letter) in _ZERO_WIDTH:
        return 0
    return 2 if unicodedata.east_asian_width(letter) in "WF" else 1


def broken(text: str, width: int) -> list[str]:
    """Break a text into lines of at most so many columns, at blanks where there are any."""
    lines = [""]
    for word in cleaned(text).split():
        for part in _parts(word, width):
            gap = 1 if lines[-1] else 0
            if shown_width(lines[-1]) + gap + shown_width(part) <= width:
                lines[-1] += " " * gap + part
            else:
                lines.append(part)
    return lines


def _parts(word: str, width: int) -> Iterator[str]:
    """Cut a word that is wider than a line."""
    part, taken = "", 0
    for letter in word:
        columns = _columns(letter)
        if taken + columns > width:
            yield part
            part, taken = "", 0
        part, taken = part + letter, taken + columns
    yield part


def paragraph(text: str, indent: int = 0, first: str = "") -> list[str]:
    """Break a text into indented lines; ``first`` replaces the end of the first indent."""
    lines = broken(text, WIDTH - indent)
    head = first.rjust(indent) if len(first) <= indent else first
    return [(head if i == 0 else " " * indent) + line for i, line in enumerate(lines)]


def heading(text: str) -> list[str]:
    """Set a heading off by a blank line and a rule."""
    return ["", text, "-" * WIDTH]


def row(cells: Sequence[str], columns: Sequence[tuple[int, bool]]) -> list[str]:
    """Set one table row.

    Args:
        cells: Text of each cell.
        columns: Width of each column, and whether it is set to the right.
    """
    boxes = [broken(cell, width) for cell, (width, _) in zip(cells, columns, strict=True)]
    lines = []
    for i in range(max(map(len, boxes))):
        texts = [
            _padded(box[i] if i < len(box) else "", width, right)
            for box, (width, right) in zip(boxes, columns, strict=True)
        ]
        lines.append(" ".join(texts).rstrip())
    return lines


def _padded(text: str, width: int, right: bool) -> str:
    blanks = " " * (width - shown_width(text))
    return blanks + text if right else text + blanks
