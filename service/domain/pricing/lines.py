"""Priced lines and totals, as records."""

from dataclasses import dataclass
from decimal import Decimal

from service.domain.money import Money


@dataclass(frozen=True, slots=True)
class LineTax:
    """One tax component on one line, rounded half up to the minor unit."""

    name: str
    rate: Decimal
    amount: Money


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the quote.

    Attributes:
        number: 1-based.
        kind: "goods" or "labour".
        quantity: Ordered quantity in the unit of measure.
        unit_price: Exact, as in the price table.
        net: quantity x unit price, rounded half up to the minor unit.
        taxes: Each component on that net.
        elements: Names of the elements that need it.
        length_nm: Length as supplied, of a stock length; None for other lines. [nm]
    """

    number: int
    kind: str
    sku: str
    description: str
    category: str
    quantity: Decimal
    unit_of_measure: str
    unit_price: Money
    net: Money
    taxes: tuple[LineTax, ...]
    elements: tuple[str, ...]
    length_nm: int | None = None

    @property
    def tax(self) -> Money:
        """Sum of the tax components."""
        total = Money(Decimal(0), self.net.currency)
        for component in self.taxes:
            total = total + component.amount
        return total


@dataclass(frozen=True, slots=True)
class Totals:
    """Sums of the rounded lines; net + tax = gross, and each is the sum of its lines."""

    goods: Money
    labour: Money
    net: Money
    taxes: tuple[LineTax, ...]
    tax: Money
    gross: Money
