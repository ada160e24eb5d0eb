"""What a request says for the code check alone: grip, single steps, use; and its record."""

from collections.abc import Iterator, Mapping
from typing import Any

from marshmallow import fields

from service.api.schemas.base import Complaints, Path, StrictSchema, absent
from service.api.schemas.fields import Choice, LengthField
from service.domain.compliance.site import (
    GateFacts,
    Grip,
    GripShape,
    Recess,
    ReleaseSide,
    RiserKind,
    Site,
    StairFacts,
    Use,
)

Loaded = Mapping[str, Any]


class RecessSchema(StrictSchema):
    """A finger recess on both sides: where it starts, how deep it is, the width above it."""

    start = LengthField(kind="Length", required=True)
    depth = LengthField(required=True)
    width = LengthField(required=True)


class GripSchema(StrictSchema):
    """Cross-section of the rail a hand goes round: diameter if round, else perimeter and cross."""

    shape = Choice(GripShape, required=True)
    diameter = LengthField(load_default=absent)
    perimeter = LengthField(load_default=absent)
    cross = LengthField(load_default=absent)
    edge_radius = LengthField(kind="Length", load_default=absent)
    recess = fields.Nested(RecessSchema, load_default=absent)


# Members of a stair that only the code check reads, in the order of the record.
TAPED = ("risers_taped", "treads_taped", "nosings_taped")
SINGLE = ("tread_thickness", "nosing_radius", "headroom", "top_landing", "bottom_landing")


def check_facts(deck: Loaded, complaints: Complaints) -> None:
    """Note single steps taped that are more or fewer than the stair has, and falls taped twice."""
    _check_falls(deck, complaints)
    for index, stair in enumerate(deck["stairs"]):
        flights = max(1, len(stair["flights"]))
        counts = (stair["risers"], stair["risers"] - flights, stair["risers"])
        for member, count in zip(TAPED, counts, strict=True):
            taped = stair.get(member, ())
            if taped and len(taped) != count:
                complaints.add(
                    ("deck", "stairs", index, member),
                    f"{len(taped)} taped, the stair has {count}; tape each once, from the top.",
                )


def _check_falls(deck: Loaded, complaints: Complaints) -> None:
    """Note two falls at one distance; the fall height of an edge is its fall at no distance."""
    for place, edge in _edges(deck):
        seen: set[int] = set()
        for index, taped in enumerate(edge.get("falls_taped", ())):
            path = (*place, "falls_taped", index)
            at_edge = edge.get("fall_height") if taped["distance"] == 0 else None
            if at_edge is not None and at_edge != taped["fall"]:
                complaints.add((*path, "fall"), "At the edge itself this is the fall height.")
            if taped["distance"] in seen:
                complaints.add((*path, "distance"), "Tape one fall at each distance.")
            seen.add(taped["distance"])


def _edges(deck: Loaded) -> Iterator[tuple[Path, Loaded]]:
    for number, level in enumerate(deck["levels"]):
        for place, edge in enumerate(level["edges"]):
            yield ("deck", "levels", number, "edges", place), edge


def _gates(deck: Loaded) -> Iterator[Loaded]:
    for _place, edge in _edges(deck):
        for opening in (edge, *edge.get("openings", ())):
            if "gate" in opening:
                yield opening


def site_of(deck: Loaded, system: Loaded) -> Site:
    """Give the record of what only the code check reads."""
    use = deck.get("use")
    return Site(
        use=Use(use) if use else None,
        pool=deck.get("pool_barrier"),
        surface_heights_nm={
            level["name"]: level["height_above_ground"]
            for level in deck["levels"]
            if "height_above_ground" in level
        },
        stairs={
            index: facts
            for index, stair in enumerate(deck["stairs"])
            if (facts := _facts(stair)) != StairFacts()
        },
        grip=_grip(system["grip"]) if "grip" in system else None,
        gates={
            gate["gate"]["name"]: _shut(gate["shut"])
            for gate in _gates(deck)
            if gate["shut"] is not None
        },
    )


def _shut(shut: Loaded) -> GateFacts:
    latch = shut["latch"] or {}
    return GateFacts(
        closes=shut["closes_itself"],
        latches=shut["latches_itself"],
        opens_from_pool=shut["opens_from_pool"],
        release_nm=latch.get("release_height"),
        release_side=ReleaseSide(latch["release_side"]) if latch else None,
        opening_nm=latch.get("largest_opening"),
    )


def _facts(stair: Loaded) -> StairFacts:
    kind = stair.get("riser_kind")
    risers, treads, nosings = (tuple(stair.get(member, ())) for member in TAPED)
    thickness, radius, headroom, top, bottom = (stair.get(member) for member in SINGLE)
    return StairFacts(
        risers_nm=risers,
        treads_nm=treads,
        nosings_nm=nosings,
        riser_kind=RiserKind(kind) if kind else None,
        tread_thickness_nm=thickness,
        nosing_radius_nm=radius,
        headroom_nm=headroom,
        top_landing_nm=top,
        bottom_landing_nm=bottom,
        tread_slope=stair.get("tread_slope"),
        landing_slope=stair.get("landing_slope"),
        riser_lean_deg=stair.get("riser_lean"),
    )


def _grip(grip: Loaded) -> Grip:
    recess = grip["recess"]
    return Grip(
        shape=GripShape(grip["shape"]),
        diameter_nm=grip["diameter"],
        perimeter_nm=grip["perimeter"],
        cross_nm=grip["cross"],
        edge_radius_nm=grip["edge_radius"],
        recess=Recess(recess["start"], recess["depth"], recess["width"]) if recess else None,
    )
