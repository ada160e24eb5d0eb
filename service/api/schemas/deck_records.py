"""A loaded deck to the domain's record, after the checks that look across its members."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from service.api.schemas.base import Complaints, Path
from service.api.schemas.outlines import check_outline, outline_of
from service.api.schemas.site_records import framing_of
from service.domain.errors import InvalidGeometry
from service.domain.layout.deck import (
    Deck,
    Edge,
    EdgeKind,
    Fall,
    Footing,
    Landing,
    Level,
    Opening,
    OpeningKind,
    Side,
    Stair,
    Swing,
    Turn,
)

Loaded = Mapping[str, Any]


def check_deck(deck: Loaded, complaints: Complaints) -> None:
    """Note names given twice, stairs no edge has or that no stair is, and miscounted edges."""
    complaints.add_repeated(("deck", "levels"), [level["name"] for level in deck["levels"]])
    complaints.add_repeated(("deck", "stairs"), [stair["name"] for stair in deck["stairs"]])
    for index, level in enumerate(deck["levels"]):
        check_outline(level, ("deck", "levels", index), complaints)
    _check_openings(deck, complaints)


def _check_openings(deck: Loaded, complaints: Complaints) -> None:
    names = [stair["name"] for stair in deck["stairs"]]
    leaving: set[str] = set()
    arriving: set[str] = set()
    taken = set(names)
    for path, opening in _openings(deck):
        if "stair" in opening:
            name, arrives = opening["stair"], opening["kind"] == OpeningKind.ARRIVAL
            used = arriving if arrives else leaving
            if name not in names:
                complaints.add((*path, "stair"), f"No stair is called {name!r}; see deck.stairs.")
            elif name in used:
                verb = "arrives at" if arrives else "leaves"
                complaints.add((*path, "stair"), f"{name!r} already {verb} another edge.")
            used.add(name)
        else:
            gate = ("gate",) if "gate" in opening else ()
            name = opening["gate"]["name"] if gate else opening["name"]
            if name in taken:
                message = f"{name!r} is taken; give each its own name."
                complaints.add((*path, *gate, "name"), message)
            taken.add(name)
    for index, name in enumerate(names):
        if name not in leaving:
            complaints.add(
                ("deck", "stairs", index, "name"),
                f"No edge has {name!r}; name it in an opening or leave it out.",
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
        InvalidGeometry: Readings contradict each other, or a drawing holds no outline.
        UnknownReference: A tape names no corner.
    """
    stairs = tuple(_stair(stair, index) for index, stair in enumerate(deck["stairs"]))
    widths = {stair.name: stair.width_nm for stair in stairs}
    levels = tuple(_level(level, index, widths) for index, level in enumerate(deck["levels"]))
    return Deck(levels, stairs)


def _level(level: Loaded, index: int, widths: Mapping[str, int]) -> Level:
    outline, survey = outline_of(level, index)
    edges = tuple(_edge(edge, place + 1, widths) for place, edge in enumerate(level["edges"]))
    if any(outline.sagittas_nm):
        edges = _with_arcs(level, index, edges, outline.sagittas_nm)
    framing = framing_of(level["framing"])
    return Level(level["name"], outline.vertices, edges, index, framing=framing, survey=survey)


def _with_arcs(
    level: Loaded, index: int, edges: tuple[Edge, ...], sagittas_nm: tuple[int, ...]
) -> tuple[Edge, ...]:
    """Give each edge the arc it is drawn with; a count that differs is refused later."""
    curved = []
    for place, edge in enumerate(edges):
        drawn_nm = sagittas_nm[place] if place < len(sagittas_nm) else 0
        if edge.sagitta_nm and drawn_nm:
            raise InvalidGeometry(
                f"edge {edge.number} of level {level['name']} is drawn as an arc and given one",
                element=f"level {level['name']}, edge {edge.number}",
                where=("deck", "levels", index, "edges", place, "arc"),
                advice="Leave out the edge's arc; the drawing has it.",
            )
        curved.append(replace(edge, sagitta_nm=edge.sagitta_nm or drawn_nm))
    return tuple(curved)


def _edge(edge: Loaded, number: int, widths: Mapping[str, int]) -> Edge:
    single = edge["kind"] in tuple(OpeningKind)
    kind = EdgeKind.OPEN if single else EdgeKind(edge["kind"])
    openings = [edge] if single else edge.get("openings", [])
    arc = edge.get("arc")
    return Edge(
        kind=kind,
        number=number,
        fall_height_nm=edge.get("fall_height"),
        guarded=edge.get("guard", True),
        openings=tuple(_opening(opening, widths) for opening in openings),
        sagitta_nm=arc["sagitta"] if arc else 0,
        falls=tuple(Fall(one["distance"], one["fall"]) for one in edge.get("falls_taped", ())),
    )


def _opening(opening: Loaded, widths: Mapping[str, int]) -> Opening:
    kind, offset_nm = OpeningKind(opening["kind"]), opening["offset"]
    if "stair" in opening:
        return Opening(kind, opening["stair"], widths[opening["stair"]], offset_nm)
    if "gate" in opening:
        gate, swing, hinge = opening["gate"], Swing(opening["swing"]), Side(opening["hinge"])
        return Opening(kind, gate["name"], gate["width"], offset_nm, swing, hinge)
    return Opening(kind, opening["name"], opening["width"], offset_nm)


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
