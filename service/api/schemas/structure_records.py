"""A loaded structure to the domain's specification, alloys and timber looked up by name."""

from collections.abc import Mapping
from decimal import Decimal
from functools import partial
from typing import Any, TypeVar

from service.api.schemas.base import Complaints, Path
from service.domain.errors import UnknownReference
from service.domain.lengths import mm_of
from service.domain.structure.fasteners import DURATIONS
from service.domain.structure.materials import Cited, LagThread, Materials
from service.domain.structure.sections import (
    AxisProperties,
    Section,
    round_section,
    solid_section,
    tube_section,
)
from service.domain.structure.specification import (
    Direction,
    Fastener,
    FastenerKind,
    Member,
    PicketLoad,
    Plate,
    SideMount,
    StructureSpec,
    Timber,
    Wind,
)
from service.usecases.orders import StructureWish

Loaded = Mapping[str, Any]
Held = TypeVar("Held")
HERE: Path = ("structure",)
MEMBERS = ("post", "top_rail", "picket", "infill_rail")
RAILS = ("top_rail", "infill_rail")
GIVEN = Cited("As given in the request")


def check_structure(structure: Loaded | None, base: Loaded | None, complaints: Complaints) -> None:
    """Note walls that leave no hollow, holes outside their plate, half a thread, two diameters."""
    if structure is None:
        return
    for name in MEMBERS:
        if structure[name] is not None:
            _check_walls(structure[name]["section"], (*HERE, name, "section"), complaints)
    plate = structure["base"]
    if plate is not None:
        _check_holes(plate, complaints)
    for where, fastener in _fasteners(structure):
        if fastener["kind"] == "lag" and (fastener["root"] is None) != (fastener["tip"] is None):
            complaints.add((*where, "root"), "Give root and tip of the thread together.")
    fastener = structure["fastener"]
    if (
        base
        and fastener
        and fastener.get("diameter", base["fastener_diameter"]) != (base["fastener_diameter"])
    ):
        where = (*HERE, "fastener", "diameter")
        complaints.add(where, "It differs from the diameter that system.base gives.")


def _check_walls(section: Loaded, where: Path, complaints: Complaints) -> None:
    sizes = [section[name] for name in ("width", "depth", "diameter") if name in section]
    if "wall" in section and 2 * section["wall"] >= min(sizes):
        complaints.add((*where, "wall"), "Two walls must leave a hollow between them.")


def _check_holes(plate: Loaded, complaints: Complaints) -> None:
    for index, hole in enumerate(plate["holes"] or ()):
        for along, size in (("x", plate["width"]), ("y", plate["depth"])):
            if size is not None and 2 * abs(hole[along]) >= size:
                where = (*HERE, "base", "holes", index, along)
                complaints.add(where, "This hole lies outside the plate.")


def _fasteners(structure: Loaded) -> list[tuple[Path, Loaded]]:
    found = []
    if structure["fastener"] is not None:
        found.append(((*HERE, "fastener"), structure["fastener"]))
    if structure["side_mount"] is not None:
        found.append(((*HERE, "side_mount", "fastener"), structure["side_mount"]["fastener"]))
    return found


def structure_of(structure: Loaded | None) -> StructureWish | None:
    """Give what makes the specification once the materials held are known."""
    return None if structure is None else partial(_spec, structure)


def _spec(structure: Loaded, materials: Materials) -> StructureSpec:
    """Give the specification.

    Raises:
        UnknownReference: An alloy or a species is not held.
    """
    members = {
        name: _member(structure[name], materials, (*HERE, name), rail=name in RAILS)
        for name in MEMBERS
        if structure[name] is not None
    }
    plate, timber, side, wind = (
        structure[name] for name in ("base", "timber", "side_mount", "wind")
    )
    return StructureSpec(
        **members,
        base=None if plate is None else _plate(plate),
        fastener=_fastener(structure["fastener"], materials),
        slab_anchor=_fastener(structure["slab_anchor"], materials),
        timber=None if timber is None else _timber(timber, materials),
        side_mount=None if side is None else _side_mount(side, materials),
        wind=None if wind is None else _wind(wind),
        load_direction=Direction(structure["load_direction"]),
        picket_load=PicketLoad(structure["picket_load"]),
    )


def _held(held: Mapping[str, Held], name: str, what: str, where: Path) -> Held:
    if name not in held:
        raise UnknownReference(
            f"No {what} {name} is held.", where=where, advice=f"Held are: {', '.join(held)}."
        )
    return held[name]


def _member(member: Loaded, materials: Materials, where: Path, *, rail: bool) -> Member:
    alloy = _held(materials.alloys, member["alloy"], "alloy", (*where, "alloy"))
    return Member(_section(member["section"], rail), alloy, member["welded"])


def _section(section: Loaded, rail: bool) -> Section:
    """Give a section; a rail's width lies across the guard, a post's along it."""
    if section["shape"] == "drawn":
        outward = _axis(section["outward"], section["area"])
        other = section["other"]
        return Section(
            "section as drawn", outward, _axis(other, section["area"]) if other else outward
        )
    if section["shape"] == "round_tube":
        diameter, wall = mm_of(section["diameter"]), mm_of(section["wall"])
        return round_section(f"round tube {diameter:g} x {wall:g} mm", diameter, wall)
    width, depth = mm_of(section["width"]), mm_of(section["depth"])
    outward_mm, other_mm = (width, depth) if rail else (depth, width)
    if section["shape"] == "bar":
        return solid_section(f"bar {width:g} x {depth:g} mm", outward_mm, other_mm)
    wall = mm_of(section["wall"])
    return tube_section(f"tube {width:g} x {depth:g} x {wall:g} mm", outward_mm, other_mm, wall)


def _axis(axis: Loaded, area_mm2: float) -> AxisProperties:
    s_mm3, ratio = axis["section_modulus"], axis["wall_ratio"]
    return AxisProperties(
        area_mm2,
        axis["second_moment"],
        s_mm3,
        axis["plastic_modulus"] or s_mm3,
        None if ratio is None else float(ratio),
    )


def _plate(plate: Loaded) -> Plate:
    holes = plate["holes"]
    return Plate(
        plate["thickness"],
        plate["width"],
        plate["depth"],
        None if holes is None else tuple((hole["x"], hole["y"]) for hole in holes),
    )


def _fastener(fastener: Loaded | None, materials: Materials) -> Fastener | None:
    if fastener is None:
        return None
    kind = FastenerKind(fastener["kind"])
    if kind is FastenerKind.RATED:
        return Fastener(kind, 0, tension_n=fastener["tension"], rating=fastener["rating"])
    common = {"edge_nm": fastener["edge_distance"], "end_nm": fastener["end_distance"]}
    if kind is FastenerKind.BOLT:
        return Fastener(kind, fastener["diameter"], washer_nm=fastener["washer"], **common)
    diameter_nm = fastener["diameter"]
    thread = materials.lag_threads.get(diameter_nm)
    if fastener["root"] is not None:
        root, tip = mm_of(fastener["root"]), mm_of(fastener["tip"])
        thread = LagThread(mm_of(diameter_nm), root, tip, GIVEN)
    return Fastener(
        kind,
        diameter_nm,
        fastener["length"],
        thread,
        fastener["thread"],
        lateral_n=fastener["lateral"],
        rating=fastener["rating"] or "",
        **common,
    )


def _timber(timber: Loaded, materials: Materials) -> Timber:
    where = (*HERE, "timber", "species")
    species = _held(materials.species, timber["species"], "species", where)
    return Timber(species, timber["wet"], DURATIONS[timber["duration"]], timber["decking"])


def _side_mount(side: Loaded, materials: Materials) -> SideMount:
    fastener = _fastener(side["fastener"], materials)
    assert fastener is not None  # noqa: S101 - the schema requires it
    return SideMount(
        side["drop"], side["spacing"], fastener, side["per_row"], side["bracket"], side["rim_held"]
    )


def _wind(wind: Loaded) -> Wind:
    def number(name: str) -> float:
        value: Decimal = wind[name]
        return float(value)

    coefficient = wind["coefficient"]
    return Wind(
        wind["speed"],
        number("exposure"),
        number("topography"),
        number("direction"),
        number("gust"),
        None if coefficient is None else float(coefficient),
    )
