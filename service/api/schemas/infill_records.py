"""A loaded infill to the domain's records, after what lies across its members is checked."""

from collections.abc import Callable, Mapping
from typing import Any

from service.api.schemas.base import Complaints
from service.api.schemas.infill import INFILLS
from service.domain.layout.system import (
    Cables,
    Clamps,
    Glass,
    InfillRails,
    PanelStock,
    Pickets,
    no_pickets,
)

Loaded = Mapping[str, Any]
Infill = Cables | Glass | InfillRails


def check_infill(system: Loaded, complaints: Complaints) -> None:
    """Note an infill that is named but not described, or described but not named, or at odds."""
    kind = system["infill"]
    for other in INFILLS:
        if other == kind and system[other] is None:
            complaints.add(("system", other), f"The infill is {kind}: describe it here.")
        elif other != kind and system[other] is not None:
            complaints.add(("system", other), f"The infill is {kind}; leave this out.")
    if system[kind] is not None and kind in _CHECKS:
        _CHECKS[kind](system[kind], complaints)


def _check_pickets(pickets: Loaded, complaints: Complaints) -> None:
    for pitch in ("pitch", "stair_pitch"):
        if pickets[pitch] is not None and pickets[pitch] <= pickets["width"]:
            complaints.add(
                ("system", "pickets", pitch),
                "The pitch is centre to centre and must be more than the picket's width.",
            )


def _check_cables(cables: Loaded, complaints: Complaints) -> None:
    if cables["deflection"] >= cables["max_gap"]:
        complaints.add(
            ("system", "cables", "deflection"),
            "Cables that give way by the greatest gap leave none at rest; send less.",
        )


def _check_glass(glass: Loaded, complaints: Complaints) -> None:
    path = ("system", "glass")
    if glass["min_width"] > glass["max_width"]:
        complaints.add((*path, "min_width"), "The narrowest panel is wider than the widest.")
    if glass["min_gap"] >= glass["max_gap"]:
        complaints.add((*path, "min_gap"), "The least gap must be less than the greatest.")
    for member in ("mass_per_m2", "max_mass"):
        if not glass[member]:
            complaints.add((*path, member), "Glass has a mass: send more than zero.")
    if glass["step"] > glass["max_width"]:
        complaints.add((*path, "step"), "No panel is a multiple of a step wider than the widest.")
    stock = glass["stock"]
    complaints.add_repeated((*path, "stock"), [panel["name"] for panel in stock])
    widths = [panel["width"] for panel in stock]
    for index, width in enumerate(widths):
        if width in widths[:index]:
            complaints.add((*path, "stock", index, "width"), "An earlier panel has this width.")
        if not glass["min_width"] <= width <= glass["max_width"]:
            complaints.add(
                (*path, "stock", index, "width"), "Send a width from min_width to max_width."
            )


_CHECKS: Mapping[str, Callable[[Loaded, Complaints], None]] = {
    "pickets": _check_pickets,
    "cables": _check_cables,
    "glass": _check_glass,
}


def infill_of(system: Loaded) -> tuple[Pickets, Infill | None]:
    """Give the pickets, or what stands for them and the infill there is instead."""
    kind = system["infill"]
    loaded = system[kind]
    if kind == "pickets":
        pickets = Pickets(
            width_nm=loaded["width"],
            pitch_nm=loaded["pitch"],
            stair_pitch_nm=loaded["stair_pitch"],
            max_gap_nm=loaded["max_gap"],
            enters_nm=loaded["enters"],
            centred_on=loaded["centred_on"] or "",
        )
        return pickets, None
    infill = _RECORDS[kind](loaded)
    return no_pickets(infill.max_gap_nm), infill


def _cables(cables: Loaded) -> Cables:
    return Cables(
        diameter_nm=cables["diameter"],
        max_gap_nm=cables["max_gap"],
        max_support_nm=cables["max_support"],
        max_length_nm=cables["max_length"],
        deflection_nm=cables["deflection"],
        end_allowance_nm=cables["end_allowance"],
        max_corners=cables["max_corners"],
        ends_at_line_posts=cables["ends_at_line_posts"],
    )


def _glass(glass: Loaded) -> Glass:
    clamps = sorted(glass["clamps"], key=lambda clamps: (clamps["up_to"], clamps["per_panel"]))
    return Glass(
        min_width_nm=glass["min_width"],
        max_width_nm=glass["max_width"],
        min_gap_nm=glass["min_gap"],
        max_gap_nm=glass["max_gap"],
        thickness_nm=glass["thickness"],
        mass_kg_m2=glass["mass_per_m2"],
        max_mass_kg=glass["max_mass"],
        stock=tuple(PanelStock(panel["name"], panel["width"]) for panel in glass["stock"]),
        step_nm=glass["step"],
        enters_nm=glass["enters"],
        bottom_rail=glass["bottom_rail"],
        clamps=tuple(Clamps(row["up_to"], row["per_panel"]) for row in clamps),
    )


def _rails(rails: Loaded) -> InfillRails:
    return InfillRails(rails["depth"], rails["max_gap"], rails["past_line_posts"])


_RECORDS: Mapping[str, Callable[[Loaded], Infill]] = {
    "cables": _cables,
    "glass": _glass,
    "rails": _rails,
}
