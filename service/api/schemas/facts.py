"""What a request says for the code check alone: grip, single steps, use; and its record."""

from collections.abc import Mapping
from typing import Any

from marshmallow import fields

from service.api.schemas.base import Complaints, StrictSchema, absent
from service.api.schemas.fields import Choice, LengthField
from service.domain.compliance.site import (
    Grip,
    GripShape,
    Recess,
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
    """Note single steps taped that are more or fewer than the stair has."""
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
