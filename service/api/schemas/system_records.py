"""A loaded railing system, its parts and its prices to the domain's records."""

from collections.abc import Mapping, Sequence
from typing import Any

from service.api.schemas.base import Complaints, Path
from service.api.schemas.infill_records import check_infill, infill_of
from service.api.schemas.site_records import base_of
from service.domain.layout.stair_records import HandrailParts
from service.domain.layout.system import (
    Assembly,
    CornerPosts,
    GateParts,
    Joint,
    JointKind,
    Method,
    Mount,
    PostStock,
    RailingSystem,
    RailProfile,
)
from service.domain.pricing.price_table import PriceRow, PriceTable

Loaded = Mapping[str, Any]


def check_system(system: Loaded, complaints: Complaints) -> None:
    """Note names given twice, an infill at odds with itself, and a drop out of place."""
    names = [stock["name"] for stock in system["post"]["stock"]]
    complaints.add_repeated(("system", "post", "stock"), names)
    check_infill(system, complaints)
    _check_gates(system, names, complaints)
    fascia = system["mount"] == Mount.FASCIA
    if fascia and system["fascia_drop"] is None:
        complaints.add(("system", "fascia_drop"), "A fascia mount needs it: say how far down.")
    if not fascia and system["fascia_drop"] is not None:
        complaints.add(("system", "fascia_drop"), "Only a fascia mount has it; leave it out.")
    for kind, joint in system["joints"].items():
        if joint["enters"] > system["post"]["width"]:
            path = ("system", "joints", kind, "enters")
            complaints.add(path, "A rail cannot go further into a post than the post is wide.")
    for name in ("parts", "labour"):
        for index, rule in enumerate(system[name]):
            if rule["per_length"] and rule["per_area"]:
                path = ("system", name, index, "per_area")
                complaints.add(path, "A rule counts by length or by area, not by both.")
    for index, part in enumerate(system["parts"]):
        skus = [stock["sku"] for stock in part["stock"]]
        complaints.add_repeated(("system", "parts", index, "stock"), skus, "sku")


def _check_gates(system: Loaded, stocks: list[str], complaints: Complaints) -> None:
    gates = system["gates"]
    if gates is None:
        return
    kept = gates.get("post_stock")
    if kept is not None and kept not in stocks:
        complaints.add(
            ("system", "gates", "post_stock"), f"No stock is called {kept!r}; see post.stock."
        )
    elif stocks == [kept]:
        complaints.add(("system", "gates", "post_stock"), "List stock for the other posts as well.")
    if gates["bottom_gap"] >= system["guard_height"]:
        complaints.add(("system", "gates", "bottom_gap"), "The gap leaves no leaf; make it less.")


def check_prices(table: Loaded | PriceTable, complaints: Complaints) -> None:
    """Note what is wrong between the rows of a table; one that is kept was read before."""
    if not isinstance(table, PriceTable):
        check_rows(table["rows"], ("price_table", "rows"), complaints)


def check_rows(rows: Sequence[Loaded], at: Path, complaints: Complaints) -> None:
    """Note parts that are priced twice from one day and quantity on, or not at all."""
    seen: set[tuple[Any, ...]] = set()
    for index, row in enumerate(rows):
        path = (*at, index)
        key = (row["sku"], row["min_quantity"], row["effective_from"])
        if key in seen:
            complaints.add((*path, "sku"), _repeated(row))
        seen.add(key)
        if row["unit_price"] is None and row["cost"] is None:
            complaints.add((*path, "unit_price"), "Say what one unit is sold for, or its cost.")


def _repeated(row: Loaded) -> str:
    return (
        f"{row['sku']!r} is taken; give each row of a part its own min_quantity or effective_from."
    )


def system_of(system: Loaded) -> RailingSystem:
    """Give the record of a railing system as the layout sees it."""
    post, limits = system["post"], system["limits"]
    pickets, infill = infill_of(system)
    joints = {
        JointKind(kind): Joint(
            enters_nm=joint["enters"],
            clearance_nm=joint["clearance"],
            fitting_nm=joint["fitting"],
            reach_nm=joint["reach"],
            least_hold_nm=joint["least_hold"],
        )
        for kind, joint in system["joints"].items()
    }
    return RailingSystem(
        name=system["name"],
        method=Method(system["method"]),
        assembly=Assembly(system["assembly"]),
        mount=Mount(system["mount"]),
        guard_height_nm=system["guard_height"],
        stair_guard_height_nm=system["stair_guard_height"],
        bottom_gap_nm=system["bottom_gap"],
        stair_bottom_gap_nm=system["stair_bottom_gap"],
        set_back_nm=system["set_back"],
        stair_set_back_nm=system["stair_set_back"],
        tread_set_back_nm=system["tread_set_back"],
        foot_offset_nm=system["foot_offset"],
        post_width_nm=post["width"],
        post_above_rail_nm=post["above_rail"],
        posts=tuple(PostStock(stock["name"], stock["height"]) for stock in post["stock"]),
        top_rail=_rail(system["top_rail"]),
        bottom_rail=_rail(system["bottom_rail"]),
        pickets=pickets,
        max_span_nm=_span_nm(system),
        max_stair_span_nm=limits["stair_span"],
        wall_clearance_nm=system["wall_clearance"],
        line_post_cut_nm=system["line_post_cut"],
        max_section_nm=limits["section"],
        max_unsupported_nm=limits["unsupported"],
        max_rake_deg=limits["rake"],
        joints=joints,
        fascia_drop_nm=system["fascia_drop"] or 0,
        infill=infill,
        base=base_of(system["base"]),
        expansion_per_k=system["expansion"] or 0.0,
        stair_saw_deg=system["stair_saw"],
        handrail=_handrail(system["handrail"]) if system["handrail"] else None,
        **_corners(system["corners"]),
        chord_sagitta_nm=system["chord_sagitta"],
        gates=_gates(system["gates"]) if system["gates"] else None,
    )


def _span_nm(system: Loaded) -> int:
    """Give the span of the lowest row that covers the guard's height and infill. [nm]

    A row without an infill holds for all; one that names the infill goes before it.
    """
    rows = [
        (row["height"], "infill" not in row, row["span"])
        for row in system["spans"]
        if row["height"] >= system["guard_height"]
        and row.get("infill", system["infill"]) == system["infill"]
    ]
    span_nm: int = min(rows)[2] if rows else system["limits"]["span"]
    return span_nm


def _corners(corners: Loaded | None) -> dict[str, Any]:
    if corners is None:
        return {}
    return {
        "square_corners": CornerPosts(corners["square"]),
        "angled_corners": CornerPosts(corners["angled"]),
        "corner_gap_nm": corners["gap"],
    }


def _gates(gates: Loaded) -> GateParts:
    return GateParts(
        hinge_gap_nm=gates["hinge_gap"],
        latch_gap_nm=gates["latch_gap"],
        bottom_gap_nm=gates["bottom_gap"],
        max_leaf_nm=gates["max_leaf"],
        post_stock=gates.get("post_stock", ""),
    )


def _handrail(handrail: Loaded) -> HandrailParts:
    return HandrailParts(
        height_nm=handrail["height"],
        width_nm=handrail["width"],
        clearance_nm=handrail["clearance"],
        bracket_spacing_nm=handrail["bracket_spacing"],
        bracket_end_nm=handrail["bracket_end"],
        longest_nm=handrail["longest"],
        top_extension_nm=handrail["top_extension"],
        bottom_treads=handrail["bottom_treads"],
        returned=handrail["returned"],
    )


def _rail(rail: Loaded) -> RailProfile:
    return RailProfile(rail["depth"], rail["width"], rail["symmetric"])


def prices_of(table: Loaded | PriceTable) -> PriceTable:
    """Give the record of a price table, by SKU."""
    if isinstance(table, PriceTable):
        return table
    rows: dict[str, tuple[PriceRow, ...]] = {}
    for row in table["rows"]:
        rows[row["sku"]] = (*rows.get(row["sku"], ()), PriceRow(**row))
    return PriceTable(table["name"], table["currency"], rows)
