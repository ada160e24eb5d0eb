"""Loaded framing, base plate and conditions to the domain's records."""

from collections.abc import Mapping
from typing import Any

from service.api.schemas.base import Complaints
from service.domain.layout.deck import Conditions
from service.domain.layout.framing import BasePlate, Framing
from service.domain.lengths import inches

Loaded = Mapping[str, Any]

CLOSEST_JOISTS_NM = inches(4)
WIDEST_PLATE_NM = inches(24)


def check_site(data: Loaded, complaints: Complaints) -> None:
    """Note timber and plates that cannot be, and temperatures out of order or without a use."""
    for index, level in enumerate(data["deck"]["levels"]):
        framing = level["framing"]
        if framing is None:
            continue
        clear_nm = framing["spacing"] - framing["joist"]["thickness"]
        if framing["spacing"] < CLOSEST_JOISTS_NM or clear_nm <= framing["block_fit"]:
            complaints.add(
                ("deck", "levels", index, "framing", "spacing"),
                "Joists are at least 4 in apart, centre to centre, with room for a block between.",
            )
    base = data["system"]["base"]
    if base is not None:
        _check_base(base, complaints)
    conditions = data["conditions"]
    if conditions is None:
        return
    low, high = conditions["lowest"], conditions["highest"]
    if not low <= conditions["install_temperature"] <= high:
        complaints.add(
            ("conditions", "install_temperature"), "It lies between the lowest and the highest."
        )
    if data["system"]["expansion"] is None:
        complaints.add(("system", "expansion"), "Conditions need it: say how much rails expand.")


def _check_base(base: Loaded, complaints: Complaints) -> None:
    if base["plate"] > WIDEST_PLATE_NM:
        complaints.add(("system", "base", "plate"), "A base plate is at most 24 in wide.")
    seen: set[tuple[int, int]] = set()
    for index, hole in enumerate(base["holes"]):
        place = (hole["x"], hole["y"])
        if 2 * max(map(abs, place)) >= base["plate"]:
            complaints.add(("system", "base", "holes", index), "This hole lies off the plate.")
        if place in seen:
            complaints.add(("system", "base", "holes", index), "This hole is listed before.")
        seen.add(place)


def framing_of(framing: Loaded | None) -> Framing | None:
    """Give the record of a level's timber."""
    if framing is None:
        return None
    joist, block = framing["joist"], framing["block"]
    return Framing(
        joist_deg=framing["joist_direction"],
        spacing_nm=framing["spacing"],
        first_joist_nm=framing["first_joist"],
        joist_thickness_nm=joist["thickness"],
        joist_depth_nm=joist["depth"],
        rim_thickness_nm=framing["rim_thickness"],
        block_thickness_nm=block["thickness"],
        block_depth_nm=block["depth"],
        decking_nm=framing["decking"],
        overhang_nm=framing["overhang"],
        block_fit_nm=framing["block_fit"],
    )


def base_of(base: Loaded | None) -> BasePlate | None:
    """Give the record of a base plate."""
    if base is None:
        return None
    return BasePlate(
        width_nm=base["plate"],
        holes=tuple((hole["x"], hole["y"]) for hole in base["holes"]),
        fastener_nm=base["fastener_diameter"],
        edge_distance_nm=base["edge_distance"],
        end_distance_nm=base["end_distance"] or base["edge_distance"],
    )


def conditions_of(conditions: Loaded | None) -> Conditions | None:
    """Give the record of the temperatures."""
    if conditions is None:
        return None
    return Conditions(
        installed_k=conditions["install_temperature"],
        lowest_k=conditions["lowest"],
        highest_k=conditions["highest"],
    )
