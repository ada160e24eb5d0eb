"""Part rules that contradict themselves, refused with their place in the rule."""

from collections.abc import Iterator

from service.domain.errors import UnknownReference
from service.domain.takeoff.beads import VOLUMES, BeadShape
from service.domain.takeoff.parts import PartRule

# Stock is bought by the bar, so its rule counts in one of these (UN/ECE Recommendation 20).
COUNTED = frozenset({"C62", "EA", "H87"})

# Member of the rule at fault, what is wrong, and what to do.
Fault = tuple[tuple[str, ...], str, str]


def check_part(rule: PartRule) -> None:
    """Refuse a part rule that cannot be meant.

    Raises:
        UnknownReference: An amount is negative, a bead has no length or volume to go by, a weight
            no metre; or a part cut from stock does not ask for whole pieces bought by the bar.
    """
    for where, fault, advice in _faults(rule):
        raise UnknownReference(
            f"The part {rule.sku} {fault}.", element=rule.sku, where=where, advice=advice
        )


def _faults(rule: PartRule) -> Iterator[Fault]:
    if rule.quantity < 0 or rule.pack_size < 1:
        yield (
            (),
            "has a quantity below 0 or a pack of less than 1",
            "State a quantity of 0 or more and a pack of 1 or more.",
        )
    if rule.waste < 0 or rule.minimum < 0:
        yield (), "has a waste or minimum below 0", "State 0 or more."
    if rule.bead:
        yield from _bead_faults(rule)
    if rule.stock:
        yield from _stock_faults(rule)
    elif rule.packing.weight and rule.packing.weight.per_metre:
        yield (
            ("weight",),
            "is weighed by the metre, but is not cut from stock",
            "State what one unit of measure of it weighs, such as 0.2 kg.",
        )


def _bead_faults(rule: PartRule) -> Iterator[Fault]:
    if not rule.per_length or rule.unit_of_measure not in VOLUMES:
        yield (
            ("bead",),
            "is a bead, so it is counted by length and in a unit of volume",
            f"Set per_length and a unit of measure of {' or '.join(VOLUMES)}.",
        )
    rectangle = rule.bead is not None and rule.bead.shape is BeadShape.RECTANGLE
    if rule.bead and rectangle != bool(rule.bead.depth_nm):
        yield (
            ("bead", "depth"),
            "has a bead whose depth does not go with its shape",
            "Give a rectangle its depth; a fillet or a round bead has a width alone.",
        )


def _stock_faults(rule: PartRule) -> Iterator[Fault]:
    advice = "Count stock in C62, whole pieces per element, one kind of stock per part."
    if rule.per_length or rule.per_area or rule.quantity != rule.quantity.to_integral_value():
        what = "is cut from stock, so its quantity is a whole number of pieces for each element"
        yield ("quantity",), what, advice
    if rule.unit_of_measure not in COUNTED:
        what = f"is bought by the bar, but is counted in {rule.unit_of_measure}"
        yield ("unit_of_measure",), what, advice
    if len({stock.first_picket_nm is None for stock in rule.stock}) > 1:
        yield ("stock",), "mixes pre-punched and plain stock", advice
    if rule.waste:
        yield (
            ("waste",),
            "is cut from stock, so its waste is what the cut plan leaves",
            "Leave the waste out.",
        )
    if rule.packing.weight and not rule.packing.weight.per_metre:
        yield (
            ("weight",),
            "is cut from stock, so it is weighed by the metre or foot",
            "State its weight in kg/m or lb/ft.",
        )
