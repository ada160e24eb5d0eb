"""Reads a deck from a CSV sheet of edges: one row an edge, in order round each level.

Only the shape of the sheet is judged here; what the cells hold goes on as a request's body has
it, and is refused where that would be, with the row and column named.
"""

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from service.adapters.sheets.csv_text import read, strange_separator
from service.domain.errors import Where
from service.usecases.sheets import DeckSheet, Place, UnreadableSheet

# Heading of a column: the member it becomes, and how its cells are read.
_LENGTHS = "length x y width offset fall_height sagitta total_rise unit_run nosing".split()
_WORDS = "level kind name swing hinge bottom".split()
COLUMNS = (*_WORDS, *_LENGTHS, "turn", "guard", "risers", "open_sides", "unit")
_STAIR = "total_rise risers unit_run width nosing open_sides bottom".split()
_NUMBER = re.compile(r"[-\u2212]?[0-9]+(?:\.[0-9]+)?")
_YES = {"yes": True, "true": True, "no": False, "false": False}
_SIDES = {"both": ["left", "right"], "none": []}

Row = Mapping[str, str]


def read_edges(text: str) -> DeckSheet:
    """Read a sheet of edges.

    Raises:
        UnreadableSheet: Headings are missing or unknown, or a row does not fit them.
    """
    rows = _rows(text)
    heading, cells = rows[0], rows[1:]
    names = _headings(*heading)
    records = _records(names, cells)
    return _Builder("x" in names).deck(records)


def _rows(text: str) -> list[tuple[int, list[str]]]:
    parted = strange_separator(text)
    if parted:
        words = f"The cells are parted by {parted}; save the sheet as CSV with commas."
        raise UnreadableSheet([(Place(1), words)])
    try:
        rows = list(read(text))
    except ValueError as error:
        raise UnreadableSheet([(Place(1), f"This is no CSV: {error}.")]) from None
    if len(rows) < 2:
        raise UnreadableSheet([(Place(1), "Send a row of headings and a row for each edge.")])
    return rows


def _headings(row: int, cells: Sequence[str]) -> list[str]:
    names = [re.sub(r"[\s-]+", "_", cell.strip().lower()) for cell in cells]
    said = [
        (Place(row, cell), f"No such column; there are {', '.join(COLUMNS)}.")
        for name, cell in zip(names, cells, strict=True)
        if name not in COLUMNS
    ]
    said += [(Place(row, name), "This column stands here twice.")
             for name, count in Counter(names).items() if count > 1]  # fmt: skip
    for needed in ({"kind"}, {"x", "y"} if "x" in names else {"length", "turn"}):
        said += [(Place(row, name), "This column is needed.") for name in needed - {*names}]
    if said:
        raise UnreadableSheet(sorted(said, key=str))
    return names


def _records(
    names: Sequence[str], rows: Sequence[tuple[int, list[str]]]
) -> list[tuple[int, dict[str, str]]]:
    said = [
        (Place(row), f"{len(cells)} cells under {len(names)} headings.")
        for row, cells in rows
        if any(cell.strip() for cell in cells[len(names) :])
    ]
    if said:
        raise UnreadableSheet(said)
    stripped = [(row, [cell.strip() for cell in cells]) for row, cells in rows]
    return [
        (row, {name: cell for name, cell in zip(names, cells, strict=False) if cell})
        for row, cells in stripped
    ]


class _Builder:
    """Puts rows together to levels and stairs, and remembers where everything stands."""

    def __init__(self, by_corners: bool) -> None:
        self.by_corners = by_corners
        self.levels: dict[str, dict[str, Any]] = {}
        self.stairs: list[dict[str, Any]] = []
        self.places: dict[Where, Place] = {}

    def deck(self, records: Sequence[tuple[int, Row]]) -> DeckSheet:
        for row, cells in records:
            self._edge(row, cells)
        deck = {"levels": list(self.levels.values()), "stairs": self.stairs}
        return DeckSheet(deck, self.places)

    def _edge(self, row: int, cells: Row) -> None:
        name = cells.get("level", "deck")
        form = "vertices" if self.by_corners else "sides"
        new = {"name": name, "outline": {form: []}, "edges": []}
        level = self.levels.setdefault(name, new)
        at: Where = ("deck", "levels", list(self.levels).index(name))
        self.places.setdefault(at, Place(row))
        number = len(level["edges"])
        shape = ("x", "y") if self.by_corners else ("length", "turn")
        outline = {name: _read(name, cells) for name in shape if name in cells}
        level["outline"][form].append(outline)
        self._note((*at, "outline", form, number), row, dict.fromkeys(shape))
        edge, members = _edge(cells)
        if edge.get("kind") == "stair":
            self._stair(row, cells, edge)
            members["stair"] = "name"
        level["edges"].append(edge)
        self._note((*at, "edges", number), row, members)

    def _stair(self, row: int, cells: Row, edge: dict[str, Any]) -> None:
        """Describe the stair of a row; it falls as the edge does unless it is said."""
        number = len(self.stairs)
        edge["stair"] = cells.get("name", f"stair {number + 1}")
        stair = {name: _read(name, cells) for name in _STAIR if name in cells}
        members = {name: name for name in (*_STAIR, "name")}
        if "total_rise" not in cells and "fall_height" in cells:
            stair["total_rise"] = _read("fall_height", cells)
            members["total_rise"] = "fall_height"
        self.stairs.append({"name": edge["stair"], **stair})
        self._note(("deck", "stairs", number), row, members)

    def _note(self, at: Where, row: int, members: Mapping[str, str | None]) -> None:
        self.places[at] = Place(row)
        for member, column in members.items():
            self.places[(*at, member)] = Place(row, column or member)


def _edge(cells: Row) -> tuple[dict[str, Any], dict[str, str]]:
    """Give an edge as a request has it, and the column that each of its members stands in."""
    kind = cells.get("kind", "").lower()
    edge: dict[str, Any] = {"kind": kind}
    members = dict(_members(kind, cells))
    for member, column in members.items():
        edge[member] = _read(column, cells)
    if kind == "gate":
        gate = {name: _read(name, cells) for name in ("name", "width") if name in cells}
        edge["gate"] = {"name": f"gate {cells.get('level', '')}".strip(), **gate}
        members["gate"] = "width"
    if "sagitta" in cells:
        edge["arc"] = {"sagitta": _read("sagitta", cells)}
        members["arc"] = "sagitta"
    return edge, {**members, "kind": "kind"}


def _members(kind: str, cells: Row) -> Iterator[tuple[str, str]]:
    """Give the members an edge takes from its row; the rest of a row is about stair or gate."""
    taken = {"fall_height", "guard", "offset"}
    if kind == "gate":
        taken |= {"swing", "hinge"}
    elif kind != "stair":
        taken |= {"name", "width", "swing", "hinge", *_STAIR}
    for column in cells:
        if column in taken:
            yield column, column


def _read(column: str, cells: Row) -> Any:
    """Read a cell as a request's body would have it; what does not fit stays a text."""
    text = cells[column]
    if column in _LENGTHS:
        bare = _NUMBER.fullmatch(text) and "unit" in cells
        return {"value": text.replace("\u2212", "-"), "unit": cells["unit"]} if bare else text
    if column == "turn":
        return float(text.replace("\u2212", "-")) if _NUMBER.fullmatch(text) else text
    if column == "risers":
        return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else text
    if column == "guard":
        return _YES.get(text.lower(), text)
    if column == "open_sides":
        known = _SIDES.get(text.lower())
        return re.split(r"[\s,;]+", text.lower()) if known is None else known
    return text.lower() if column in ("swing", "hinge", "bottom") else text
