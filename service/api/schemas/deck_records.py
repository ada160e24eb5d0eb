"""A loaded deck to the domain's record, after the checks that look across its members."""

from collections.abc import Iterator, Mapping
from typing import Any

from service.api.schemas.base import Complaints, Path
from service.domain.layout.deck import (
    Deck,
    Edge,
    EdgeKind,
    Footing,
    Landing,
    Level,
    Opening,
    OpeningKind,
    Point,
    Side,
    Stair,
    Turn,
)
from service.domain.layout.survey_sides import outline_of_sides

Loaded = Mapping[str, Any]


def check_deck(deck: Loaded, complaints: Complaints) -> None:
    """Note names given twice, stairs no edge has or that no stair is, and miscounted edges."""
    complaints.add_repeated(("deck", "levels"), [level["name"] for level in deck["levels"]])
    complaints.add_repeated(("deck", "stairs"), [stair["name"] for stair in deck["stairs"]])
    for index, level in enumerate(deck["levels"]):
        ((form, corners),) = level["outline"].items()
        if len(level["edges"]) != len(corners):
            complaints.add(
                ("deck", "levels", index, "edges"),
                f"{len(level['edges'])} edges for {len(corners)} {form}; give one for each.",
            )
    _check_openings(deck, complaints)


def _check_openings(deck: Loaded, complaints: Complaints) -> None:
    known = {stair["name"] for stair in deck["stairs"]}
    used: set[str] = set()
    gates: set[str] = set()
    for path, opening in _openings(deck):
        if opening["kind"] == OpeningKind.STAIR:
            name = opening["stair"]
            if name not in known:
                complaints.add((*path, "stair"), f"No stair is called {name!r}; see deck.stairs.")
            elif name in used:
                complaints.add((*path, "stair"), f"{name!r} already leaves another edge.")
            used.add(name)
        else:
            name = opening["gate"]["name"]
            if name in gates:
                complaints.add(
                    (*path, "gate", "name"), f"{name!r} is taken; give each its own name."
                )
            gates.add(name)
    for index, stair in enumerate(deck["stairs"]):
        if stair["name"] not in used:
            complaints.add(
                ("deck", "stairs", index, "name"),
                f"No edge has {stair['name']!r}; name it in an opening or leave it out.",
            )


def _openings(deck: Loaded) -> Iterator[tuple[Path, Loaded]]:
    for number, level in enumerate(deck["levels"]):
        for place, edge in enumerate(level["edges"]):
            path: Path = ("deck", "levels", number, "edges", place)
            if edge["kind"] in tuple(OpeningKind):
                yield path, edge
            for index, opening in enumerate(edge.get("openings", ())):
                yield (*path, "openings", index), opening


def deck_of(deck: Loaded) -> Deck:
    """Give the record of a deck that ``check_deck`` had nothing to say about.

    Raises:
        InvalidGeometry: The sides of an outline do not close.
    """
    stairs = tuple(_stair(stair, index) for index, stair in enumerate(deck["stairs"]))
    widths = {stair.name: stair.width_nm for stair in stairs}
    levels = tuple(_level(level, index, widths) for index, level in enumerate(deck["levels"]))
    return Deck(levels, stairs)


def _level(level: Loaded, index: int, widths: Mapping[str, int]) -> Level:
    edges = tuple(_edge(edge, place + 1, widths) for place, edge in enumerate(level["edges"]))
    return Level(level["name"], _outline(level["outline"], index), edges, index)


def _outline(outline: Loaded, level: int) -> tuple[Point, ...]:
    if "vertices" in outline:
        return tuple((vertex["x"], vertex["y"]) for vertex in outline["vertices"])
    return outline_of_sides(
        [(side["length"], side["turn"]) for side in outline["sides"]],
        ("deck", "levels", level, "outline", "sides"),
    )


def _edge(edge: Loaded, number: int, widths: Mapping[str, int]) -> Edge:
    single = edge["kind"] in tuple(OpeningKind)
    kind = EdgeKind.OPEN if single else EdgeKind(edge["kind"])
    openings = [edge] if single else edge.get("openings", [])
    return Edge(
        kind=kind,
        number=number,
        fall_height_nm=edge.get("fall_height"),
        guarded=edge.get("guard", True),
        openings=tuple(_opening(opening, widths) for opening in openings),
    )


def _opening(opening: Loaded, widths: Mapping[str, int]) -> Opening:
    if opening["kind"] == OpeningKind.STAIR:
        name = opening["stair"]
        return Opening(OpeningKind.STAIR, name, widths[name], opening["offset"])
    gate = opening["gate"]
    return Opening(OpeningKind.GATE, gate["name"], gate["width"], opening["offset"])


def _stair(stair: Loaded, index: int) -> Stair:
    return Stair(
        name=stair["name"],
        total_rise_nm=stair["total_rise"],
        risers=stair["risers"],
        unit_run_nm=stair["unit_run"],
        width_nm=stair["width"],
        nosing_nm=stair["nosing"],
        open_sides=frozenset(Side(side) for side in stair["open_sides"]),
        bottom=Footing(stair["bottom"]),
        index=index,
        flights=tuple(stair["flights"]),
        landings=tuple(
            Landing(Turn(landing["turn"]), landing["length"], landing["gap"])
            for landing in stair["landings"]
        ),
        handrails=None
        if stair["handrails"] is None
        else frozenset(Side(side) for side in stair["handrails"]),
    )
