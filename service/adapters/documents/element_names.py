"""Names of elements in a few words: rows that count on by their ends, many by how many more."""

import re
from collections.abc import Sequence

_NUMBERED = re.compile(r"(.*?)([0-9]{1,9})([^0-9]*)")
_SHORTEST = 3  # two that count on are named each

Numbered = tuple[str, str, str]  # what stands before, the number, what stands after


def named(elements: Sequence[str], most: int) -> str:
    """Name elements each, many by the first of them and how many more there are.

    Example:
        >>> named(["P1", "P2", "P3"], 2)
        'P1, P2 and 1 more'
    """
    return _told([(name, 1) for name in elements], most)


def named_in_rows(elements: Sequence[str], most: int) -> str:
    """Name elements, those whose numbers follow each other by the first and last.

    Example:
        >>> named_in_rows(["P1", "P2", "P3", "P5"], 8)
        'P1–P3, P5'
        >>> named_in_rows(["S1 top", "S2 top", "S3 top"], 8)
        'S1–S3 top'
    """
    return _told(_rows(elements), most)


def _told(rows: Sequence[tuple[str, int]], most: int) -> str:
    told = ", ".join(text for text, _ in rows[:most])
    more = sum(count for _, count in rows[most:])
    return f"{told} and {more} more" if more else told


def _rows(elements: Sequence[str]) -> list[tuple[str, int]]:
    """Give the words of each row, and how many elements it holds."""
    rows: list[tuple[str, int]] = []
    at = 0
    while at < len(elements):
        count = _count(elements, at)
        if count < _SHORTEST:
            rows.append((elements[at], 1))
            at += 1
        else:
            rows.append((_ends(elements[at], elements[at + count - 1]), count))
            at += count
    return rows


def _parted(name: str) -> Numbered | None:
    found = _NUMBERED.fullmatch(name)
    return (found[1], found[2], found[3]) if found else None


def _count(elements: Sequence[str], at: int) -> int:
    """Count the elements from a place on whose numbers follow each other."""
    first, end = _parted(elements[at]), at + 1
    if first is None:
        return 1
    before, number, after = first
    while end < len(elements) and elements[end] == f"{before}{int(number) + end - at}{after}":
        end += 1
    return end - at


def _ends(first: str, last: str) -> str:
    """Join the ends of a row: a letter or two before the number is said again."""
    one, other = _parted(first), _parted(last)
    if one is None or other is None:
        return f"{first}–{last}"
    again = one[0] if len(one[0]) <= 2 else ""
    return f"{one[0]}{one[1]}–{again}{other[1]}{one[2]}"
