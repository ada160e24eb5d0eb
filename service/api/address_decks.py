"""A deck out of the parameters of an address, and where each of its members was said.

Only the shape of the parameters is judged here; lengths and the like go on as a request's body
has them, and are refused where that would be, at the parameter they came from.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from service.api.schemas.base import Complaints
from service.domain.errors import Where

SEPARATOR = ";"
SQUARE = 90
MOST_SIDES = 40
_LEVEL: Where = ("deck", "levels", 0)
_STAIR: Where = ("deck", "stairs", 0)
_KINDS: Mapping[str, Mapping[str, Any]] = {
    "open": {"kind": "open"},
    "none": {"kind": "open", "guard": False},
    "wall": {"kind": "wall"},
    "existing": {"kind": "existing"},
}
EDGE_WORDS = tuple(_KINDS)
_SIDES = {"both": ["left", "right"], "left": ["left"], "right": ["right"], "none": []}
SIDE_WORDS = tuple(_SIDES)
_NUMBER = re.compile(r"[-\u2212]?[0-9]{1,3}(?:\.[0-9]{1,9})?")
# Parameter of a stair: the member it becomes.
_STAIR_MEMBERS = {
    "stair_rise": "total_rise",
    "stair_risers": "risers",
    "stair_run": "unit_run",
    "stair_width": "width",
    "stair_nosing": "nosing",
    "stair_guards": "open_sides",
    "stair_bottom": "bottom",
}
_NEEDED = ("stair_risers", "stair_run", "stair_width")
_READ: Mapping[str, Callable[[str], Any]] = {
    "stair_risers": int,
    "stair_guards": lambda word: _SIDES[word],
}

Query = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class AddressDeck:
    """A deck read from an address.

    Attributes:
        deck: As the body of a request gives it.
        places: The parameter, and the place in its list, of each member by its path.
    """

    deck: Mapping[str, Any]
    places: Mapping[Where, Where]

    def place_of(self, where: Where) -> Where:
        """Give the parameter that a member came from, or the nearest it is part of."""
        for length in range(len(where), 0, -1):
            if where[:length] in self.places:
                return self.places[where[:length]]
        return ("sides",)


def deck_of(query: Query) -> AddressDeck:
    """Read a deck from a query whose names and words hold.

    Raises:
        ValidationError: Its lists do not go together, or a stair is told in part.
    """
    lists = {name: _entries(query[name]) for name in _LISTS if name in query}
    complaints = Complaints()
    _check(lists, query, complaints)
    complaints.refuse()
    count = len(lists["sides"])
    turns = lists.get("turns", [str(SQUARE)] * (count - 1))
    taped = [
        {"length": length, "turn": _angle(turn)}
        for length, turn in zip(lists["sides"], [*turns, "0"], strict=True)
    ]
    kinds = lists.get("edges", ["open"] * count)
    kinds = [*kinds, "wall"] if len(kinds) == count else kinds
    falls = lists["falls"] * (count + 1) if len(lists["falls"]) == 1 else lists["falls"]
    edges = [_edge(kind, fall) for kind, fall in zip(kinds, falls, strict=True)]
    outline = {"sides": taped, "closing_side": True}
    level = {"name": "deck", "outline": outline, "edges": edges}
    stairs = [_stair(query, edges, falls)] if _has_stair(query) else []
    return AddressDeck({"levels": [level], "stairs": stairs}, _places(lists, query, count))


_LISTS = ("sides", "turns", "edges", "falls")


def _entries(text: str) -> list[str]:
    return [entry.strip() for entry in text.split(SEPARATOR)]


def _angle(text: str) -> Any:
    """Read degrees; what is no number stays a text, to be refused as in a body."""
    return float(text.replace("\u2212", "-")) if _NUMBER.fullmatch(text) else text


def _edge(kind: str, fall: str) -> dict[str, Any]:
    return {**_KINDS[kind], **({} if kind == "wall" else {"fall_height": fall})}


def _has_stair(query: Query) -> bool:
    return any(name.startswith("stair_") for name in query)


def _check(lists: Mapping[str, list[str]], query: Query, complaints: Complaints) -> None:
    count = len(lists["sides"])
    if not 2 <= count <= MOST_SIDES:
        complaints.add(("sides",), f"Send 2 to {MOST_SIDES} sides.")
        return
    wanted = {"turns": (count - 1,), "edges": (count, count + 1), "falls": (1, count + 1)}
    for name, counts in wanted.items():
        if name in lists and len(lists[name]) not in counts:
            right = " or ".join(map(str, counts))
            complaints.add((name,), f"{count} sides take {right} of these, not {len(lists[name])}.")
    for index, kind in enumerate(lists.get("edges", ())):
        if kind not in _KINDS:
            complaints.add(("edges", index), f"Use one of: {', '.join(_KINDS)}.")
    if _has_stair(query):
        _check_stair(lists, query, complaints)


def _check_stair(lists: Mapping[str, list[str]], query: Query, complaints: Complaints) -> None:
    for name in _NEEDED:
        if name not in query:
            complaints.add((name,), "A stair needs this as well.")
    count, side = len(lists["sides"]), _side(query)
    kinds = [*lists.get("edges", ["open"] * count), "wall"]
    if side >= count + 1:
        complaints.add(("stair_side",), f"Send a number from 1 to {count + 1}.")
    elif side < len(kinds) and kinds[side] not in ("open", "none"):
        complaints.add(("stair_side",), f"Side {side + 1} is no open one: a stair leaves from one.")


def _side(query: Query) -> int:
    return int(query.get("stair_side", "1")) - 1


def _stair(query: Query, edges: list[dict[str, Any]], falls: list[str]) -> dict[str, Any]:
    """Describe the stair, and let it leave its edge; it falls as the edge does unless told."""
    side = _side(query)
    opening = {"kind": "stair", "stair": "stair"}
    if "stair_offset" in query:
        opening["offset"] = query["stair_offset"]
    edges[side]["openings"] = [opening]
    told = {"stair_rise": falls[side], **query}
    members = {
        member: _READ.get(name, str)(told[name])
        for name, member in _STAIR_MEMBERS.items()
        if name in told
    }
    return {"name": "stair", **members}


def _places(lists: Mapping[str, list[str]], query: Query, count: int) -> dict[Where, Where]:
    outline: Where = (*_LEVEL, "outline", "sides")
    one_fall = len(lists["falls"]) == 1
    places: dict[Where, Where] = {_STAIR: ("stair_side",)}
    for index in range(count + 1):
        edge: Where = (*_LEVEL, "edges", index)
        fall: Where = ("falls",) if one_fall else ("falls", index)
        places[edge] = ("edges", index) if "edges" in lists else ("sides", min(index, count - 1))
        places[(*edge, "fall_height")] = fall
        if index < count:
            places[(*outline, index)] = ("sides", index)
            places[(*outline, index, "turn")] = ("turns", index)
        if _has_stair(query) and index == _side(query):
            places[(*_STAIR, "total_rise")] = fall
            places[(*edge, "openings")] = ("stair_side",)
            places[(*edge, "openings", 0, "offset")] = ("stair_offset",)
    stair = {(*_STAIR, member): (name,) for name, member in _STAIR_MEMBERS.items() if name in query}
    return {**places, **stair}
