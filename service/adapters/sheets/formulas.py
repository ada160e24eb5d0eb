"""Formulas that round a product where and as the service rounds it, and whether they would.

Trap: a product of two decimals that lies halfway, such as 1.1 x 1.15, comes out of binary numbers
a hair below or above, by less than 4.5 parts in 10^16. Raised by one part in 10^15 it lies on the
right side for half up, and to even a half is known as one within so much; no product of up to 14
digits that is not halfway gets there. A product of more digits has no formula.
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Context, Decimal

from service.adapters.sheets.workbook import fits

_EXACT = Context(prec=100)
_PRODUCT_DIGITS = 14


@dataclass(frozen=True, slots=True)
class Rounding:
    """How a quote rounds.

    Attributes:
        places: Decimals of its currency.
        to_even: Where a half goes: to even, else up.
    """

    places: int
    to_even: bool

    def product(self, one: str, other: str) -> str:
        """Give the formula of the rounded product of two cells."""
        if not self.to_even:
            return f"ROUND({one}*{other}*(1+1E-15),{self.places})"
        units = f"{one}*{other}*{10**self.places}"
        half = f"ABS({units}-INT({units})-0.5)<=1E-15*{units}"
        # Half of a number that lies halfway is a quarter off a whole one, which rounds safely.
        return f"IF({half},2*ROUND({units}/2,0),ROUND({units},0))/{10**self.places}"

    def sum(self, formula: str) -> str:
        """Give the formula of a sum of rounded amounts, rid of what binary numbers add to it."""
        return f"ROUND({formula},{self.places})"

    def gives(self, one: Decimal, other: Decimal, amount: Decimal) -> bool:
        """Tell whether the formula of a product comes to the service's own amount."""
        product = _EXACT.multiply(one, other)
        way = ROUND_HALF_EVEN if self.to_even else ROUND_HALF_UP
        step = Decimal(1).scaleb(-self.places)
        return fits(product, _PRODUCT_DIGITS) and product.quantize(step, way, _EXACT) == amount
