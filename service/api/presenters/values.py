"""How single values are shown: lengths twice, money and decimals as exact text."""

from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from service.domain.lengths import MILLIMETRE
from service.domain.money import Money, minor_unit
from service.domain.pricing.amounts import rounded_units
from service.domain.pricing.settings import Half
from service.quantities import length_text, weight_text
from service.usecases.orders import Units

Json = dict[str, object]


@lru_cache(maxsize=65_536)
def length(length_nm: int, units: Units) -> Json:
    """Give a length as exact millimetres and as people read it.

    Kept for reuse, since few different lengths fill most of a layout; callers never change it.
    """
    return {"mm": length_nm / MILLIMETRE, "text": length_text(length_nm, units)}


def length_or_none(length_nm: int | None, units: Units) -> Json | None:
    """Give a length, or nothing where there is none."""
    return None if length_nm is None else length(length_nm, units)


def lengths(lengths_nm: tuple[int, ...], units: Units) -> list[Json]:
    """Give several lengths in order."""
    return [length(length_nm, units) for length_nm in lengths_nm]


# Decimals of a kilogram: enough to be exact for what is weighed in kilograms or pounds.
_KILOGRAM_DECIMALS = 12
_KILOGRAM_STEPS = 10**_KILOGRAM_DECIMALS


def weight_or_none(weight_kg: Fraction | None, units: Units) -> Json | None:
    """Give a weight in kilograms and as people read it, or nothing where none is known.

    Example:
        >>> weight_or_none(Fraction("45.359237"), Units.IMPERIAL)
        {'kg': '45.359237', 'text': '100.0 lb'}
    """
    if weight_kg is None:
        return None
    parts = weight_kg.numerator * _KILOGRAM_STEPS
    whole, rest = divmod(rounded_units(parts, weight_kg.denominator, Half.EVEN), _KILOGRAM_STEPS)
    kg = f"{whole}.{rest:0{_KILOGRAM_DECIMALS}}".rstrip("0").rstrip(".")
    return {"kg": kg, "text": weight_text(weight_kg, units)}


def moment(at: datetime | None) -> str | None:
    """Give a moment to the second, in ISO 8601, or nothing where there is none."""
    return at.isoformat(timespec="seconds") if at else None


def point(at: tuple[int, int], units: Units) -> Json:
    """Give a place in plan."""
    return {"x": length(at[0], units), "y": length(at[1], units)}


def angle(angle_deg: float) -> float:
    """Give an angle to a thousandth of a degree, and no negative zero, in degrees.

    Example:
        >>> angle(-0.00001), angle(35.53767779)
        (0.0, 35.538)
    """
    return round(angle_deg, 3) + 0.0


def decimal(value: Decimal) -> str:
    """Give an exact decimal without exponent or idle zeros.

    Example:
        >>> decimal(Decimal("1.20E+3")), decimal(Decimal("0.500"))
        ('1200', '0.5')
    """
    text = format(value, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def money(value: Money) -> Json:
    """Give an amount with at least the decimals of its currency, and more where it has more.

    Example:
        >>> money(Money(Decimal("12.4"), "USD"))
        {'amount': '12.40', 'currency': 'USD'}
    """
    amount, currency = value.amount, value.currency
    step = minor_unit(currency)
    if not amount.same_quantum(step):
        whole_steps = amount.quantize(step)
        amount = whole_steps if whole_steps == amount else amount.normalize()
    return {"amount": format(amount, "f"), "currency": currency}
