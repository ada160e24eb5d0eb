"""Loaded rules for parts and labour to the domain's records."""

from collections.abc import Mapping
from typing import Any

from service.domain.cutting.demand import StockLength
from service.domain.takeoff.beads import Bead, BeadShape
from service.domain.takeoff.parts import LabourRule, Packing, PartRule, PartsList, Shop

Loaded = Mapping[str, Any]

_UNPACKED = Packing()


def parts_of(system: Loaded) -> PartsList:
    """Give the rules by which the parts of a system are ordered, cut and put up."""
    shop = system["shop"]
    return PartsList(
        parts=tuple(_part(part) for part in system["parts"]),
        labour=tuple(
            LabourRule(
                task=rule["task"],
                minutes=rule["minutes"],
                category=rule["category"],
                **_counted(rule),
            )
            for rule in system["labour"]
        ),
        shop=Shop(shop["kerf"], shop["end_trim"], shop["least_remnant"] or 0),
    )


def _counted(rule: Loaded) -> dict[str, Any]:
    return {name: rule[name] for name in ("per", "where", "per_length", "along", "per_area")}


def _part(part: Loaded) -> PartRule:
    return PartRule(
        sku=part["sku"],
        description=part["description"],
        category=part["category"],
        quantity=part["quantity"],
        unit_of_measure=part["unit_of_measure"],
        pack_size=part["pack_size"],
        stock=tuple(_stock(stock) for stock in part["stock"]),
        bead=_bead(part["bead"]) if part["bead"] else None,
        waste=part["waste"],
        minimum=part["minimum"],
        packing=_packing(part),
        **_counted(part),
    )


def _stock(stock: Loaded) -> StockLength:
    return StockLength(
        sku=stock["sku"],
        length_nm=stock["length"],
        first_picket_nm=stock["first_picket"],
        limit=stock["limit"],
    )


def _bead(bead: Loaded) -> Bead:
    return Bead(BeadShape(bead["shape"]), bead["width"], bead["depth"])


def _packing(part: Loaded) -> Packing:
    weight, package = part["weight"], part["package"]
    if weight is None and package is None:
        return _UNPACKED
    return Packing(weight, package and package["length"], package and package["holds"])
