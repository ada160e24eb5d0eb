"""What is charged beside goods and labour: carriage, and what lifts an order to the minimum."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from service.domain.pricing.drafts import Draft
from service.domain.pricing.settings import CHARGE, Freight, FreightBand, MinimumCharge
from service.domain.takeoff.parts import Item
from service.domain.takeoff.shipping import ship

ONE = "C62"
FREIGHT = "freight"
MINIMUM = "minimum"


@dataclass(frozen=True, slots=True)
class Carriage:
    """A freight charge, or the reason why there is none; the other one is empty."""

    draft: Draft | None = None
    condition: str = ""


def carriage(freight: Freight, items: Iterable[Item]) -> Carriage:
    """Charge the carriage of an order by the table of its zone.

    The first band whose weight is not passed is charged. Weights that no part states cannot be
    taken for nothing: the charge then stands only if no weight would change it.

    Args:
        freight: Its zone and its bands.
        items: All items, bars included.
    """
    order = ship(items)
    known_kg = order.weight_kg or Fraction(0)
    bands = sorted((b for b in freight.bands if b.zone == freight.zone), key=_top)
    band = next((b for b in bands if b.up_to_kg is None or known_kg <= b.up_to_kg), None)
    if band is None:
        last = _kg(bands[-1].up_to_kg) if bands else ""
        return Carriage(
            condition=f"{freight.name} is not in this quote: the order weighs "
            f"{_kg(known_kg)}, and the table of zone {freight.zone} ends at {last}."
        )
    if order.weight_unknown and band.up_to_kg is not None:
        return Carriage(
            condition=f"{freight.name} is not in this quote: the weight is not known for "
            f"{', '.join(order.weight_unknown)}."
        )
    return Carriage(_charge(freight.name, FREIGHT, band.amount, freight.tax_class))


def lifted(minimum: MinimumCharge, amount: Decimal) -> Draft | None:
    """Charge what an amount lacks to the minimum, None where it lacks nothing.

    Example:
        >>> lifted(MinimumCharge("Small order", Decimal(100)), Decimal("80.5")).unit_price
        Decimal('19.5')
    """
    lacking = minimum.amount - amount
    return _charge(minimum.name, MINIMUM, lacking, minimum.tax_class) if lacking > 0 else None


def _charge(name: str, category: str, amount: Decimal, tax_class: str) -> Draft:
    return Draft(CHARGE, "", name, category, Decimal(1), ONE, amount, tax_class)


def _top(band: FreightBand) -> tuple[bool, Fraction]:
    return band.up_to_kg is None, band.up_to_kg or Fraction(0)


def _kg(weight_kg: Fraction | None) -> str:
    return f"{float(weight_kg or 0):.1f} kg"
