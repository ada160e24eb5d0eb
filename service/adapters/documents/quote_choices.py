"""What a quote for the customer says of the other ways its posts could stand.

Only divisions with another number of posts are told, the best of each number: they are what a
customer sees and pays. A quote holds no price of them, and the page says so.
"""

from collections.abc import Iterator, Mapping
from itertools import groupby
from typing import Any

from service.adapters.documents.quote_layout_text import some
from service.adapters.documents.sheet import Block, Column, Heading, Paragraph, Row, Table, Weight

Json = Mapping[str, Any]
_EACH = 2  # of a run
_MOST_RUNS = 12


def choice_blocks(layout: Json) -> Iterator[Block]:
    """Give the table of other divisions, where any were asked for and found."""
    told = [(choice, others) for choice in layout.get("choices", ()) if (others := _others(choice))]
    if not told:
        return
    yield Heading("Other ways to stand the posts", 2)
    yield Paragraph(
        "The railing system can be divided like this as well. None of these ways is priced or "
        "held against the code in this quote; ask for one by the name of its run.",
        keep=True,
    )
    columns = (Column("Run"), Column("Posts between"), Column("Bays", 1.0))
    rows = tuple(row for one in told[:_MOST_RUNS] for row in _rows(*one))
    yield Table(columns, rows, "Other divisions of the runs, by their number of posts")
    left = len(told) - _MOST_RUNS
    if left > 0:
        yield Paragraph(f"{some(left, 'further run')} can be divided otherwise as well.")


def _others(choice: Json) -> list[Json]:
    """Give the best option of each number of posts that was not taken, the best first."""
    best: dict[int, Json] = {}
    for option in choice["options"]:
        best.setdefault(option["posts"], option)
    best.pop(choice["options"][choice["picked"]]["posts"], None)
    return list(best.values())[:_EACH]


def _rows(choice: Json, others: list[Json]) -> Iterator[Row]:
    taken = choice["options"][choice["picked"]]
    yield Row(
        (choice["run"], f"{taken['posts']}, as quoted", _bays(taken)), Weight.STRONG, keep=True
    )
    for index, option in enumerate(others, start=1):
        more = option["posts"] - taken["posts"]
        words = f"{option['posts']}, {some(abs(more), 'post')} {'more' if more > 0 else 'fewer'}"
        yield Row(("", words, _bays(option)), keep=index < len(others))


def _bays(option: Json) -> str:
    """Tell bays in order, equal neighbours together.

    Example:
        >>> _bays({"spans": [{"text": "4 ft"}, {"text": "4 ft"}, {"text": "3 ft"}]})
        '2 × 4 ft, 3 ft'
    """
    texts = [span["text"] for span in option["spans"]]
    groups = [(text, len(list(group))) for text, group in groupby(texts)]
    return ", ".join(f"{count} × {text}" if count > 1 else text for text, count in groups)
