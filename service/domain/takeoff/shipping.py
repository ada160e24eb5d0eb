"""What an order weighs and how long its longest package is, as far as the parts say.

A part that states no weight is named rather than taken for nothing, and so is one that does not
say how it is packed.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from service.domain.takeoff.parts import Item


@dataclass(frozen=True, slots=True)
class Shipping:
    """What is to be carried to the site.

    Attributes:
        weight_kg: Of every item whose weight is known, None if that is none. [kg]
        weight_unknown: SKUs of the others.
        longest_nm: Longest package, None where no part tells a length. [nm]
        longest: SKU of its part, "" where there is none.
        packages: Of every item that says what a package holds, None if none does.
        packages_unknown: SKUs of the others.
    """

    weight_kg: Fraction | None
    weight_unknown: tuple[str, ...]
    longest_nm: int | None
    longest: str
    packages: int | None
    packages_unknown: tuple[str, ...]

    @property
    def notes(self) -> tuple[str, ...]:
        """Say what the figures leave out; where there is no number of packages, that says it."""
        unpacked = () if self.packages is None else self.packages_unknown
        left_out = (
            ("Weight not known for", self.weight_unknown),
            ("Number of packages not known for", unpacked),
        )
        return tuple(f"{what}: {', '.join(skus)}." for what, skus in left_out if skus)


def ship(items: Iterable[Item]) -> Shipping:
    """Add up the weights and packages of an order.

    Args:
        items: All items, bars included.
    """
    ordered = tuple(items)
    weights = {item.sku: item.weight_kg for item in ordered}
    known_kg = [kg for kg in weights.values() if kg is not None]
    packages = {item.sku: item.packages for item in ordered}
    counted = [count for count in packages.values() if count is not None]
    longest = max(ordered, key=lambda item: item.package_nm or 0, default=None)
    longest_nm = longest.package_nm if longest else None
    return Shipping(
        weight_kg=sum(known_kg, Fraction(0)) if known_kg else None,
        weight_unknown=tuple(sku for sku, kg in weights.items() if kg is None),
        longest_nm=longest_nm,
        longest=longest.sku if longest and longest_nm else "",
        packages=sum(counted) if counted else None,
        packages_unknown=tuple(sku for sku, count in packages.items() if count is None),
    )
