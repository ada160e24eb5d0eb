"""Priced lines and totals, as records."""

from decimal import Decimal

from service.domain.money import Money, zero
from service.domain.record import record


@record(frozen=True, slots=True)
class LineTax:
    """One tax component on one line or on all, rounded as declared."""

    name: str
    rate: Decimal
    amount: Money


@record(frozen=True, slots=True)
class LineDiscount:
    """What is taken off one line under one name, a positive amount."""

    name: str
    amount: Money


@record(frozen=True, slots=True)
class Line:
    """One line of the quote.

    Attributes:
        number: 1-based.
        kind: "goods", "labour" or "charge".
        quantity: Ordered quantity in the unit of measure.
        unit_price: Exact, as in the price table or made from the cost.
        amount: quantity x unit price, rounded to the minor unit.
        discounts: Its own, then its share of the quote's.
        net: The amount less its discounts, without tax.
        taxes: Each component.
        elements: Names of the elements that need it.
        length_nm: Length as supplied, of a stock length; None for other lines. [nm]
        tax_class: Which taxes apply to it.
    """

    number: int
    kind: str
    sku: str
    description: str
    category: str
    quantity: Decimal
    unit_of_measure: str
    unit_price: Money
    amount: Money
    discounts: tuple[LineDiscount, ...]
    net: Money
    taxes: tuple[LineTax, ...]
    elements: tuple[str, ...]
    length_nm: int | None = None
    tax_class: str = ""

    @property
    def tax(self) -> Money:
        """Sum of the tax components."""
        if not self.taxes:
            return zero(self.net.currency)
        total = self.taxes[0].amount
        for component in self.taxes[1:]:
            total = total + component.amount
        return total

    @property
    def gross(self) -> Money:
        """What the customer pays for it."""
        return self.net + self.tax


@record(frozen=True, slots=True)
class Totals:
    """Sums of the rounded lines; net + tax = gross, and each is the sum of its lines.

    Attributes:
        goods: Net of the goods, after discounts; labour and charges alike.
        discount: Taken off all lines together, in the terms of their amounts.
    """

    goods: Money
    labour: Money
    charges: Money
    discount: Money
    net: Money
    taxes: tuple[LineTax, ...]
    tax: Money
    gross: Money


@record(frozen=True, slots=True)
class Payment:
    """A part of the gross and when it is due."""

    due: str
    amount: Money
