"""Money as an exact decimal with its currency; rounding happens where a function says so.

Source: minor units by currency are those of ISO 4217; rounding half up to the minor unit is the
invoicing practice the European Commission describes for VAT ("arithmetic rounding").
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from service.domain.errors import CurrencyMismatch

# ISO 4217 active currencies whose minor unit is not 2 (list of 2024-06; from memory, checked in
# tests against the iso4217 package).
_MINOR_UNITS = {
    **dict.fromkeys(
        "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF".split(), 0
    ),
    **dict.fromkeys("BHD IQD JOD KWD LYD OMR TND".split(), 3),
    **dict.fromkeys("CLF UYW".split(), 4),
}


def minor_unit(currency: str) -> Decimal:
    """Give the smallest amount of a currency, such as ``Decimal("0.01")`` for USD."""
    return Decimal(1).scaleb(-_MINOR_UNITS.get(currency, 2))


@dataclass(frozen=True, slots=True)
class Money:
    """An exact amount in one currency; sums of different currencies are refused."""

    amount: Decimal
    currency: str

    def __post_init__(self) -> None:
        """Refuse floats, which would carry binary rounding into a price."""
        if not isinstance(self.amount, Decimal):
            raise TypeError(f"an amount of money is a Decimal, not {type(self.amount).__name__}")

    def __add__(self, other: "Money") -> "Money":
        """Add two amounts of one currency.

        Raises:
            CurrencyMismatch: The currencies differ.
        """
        if other.currency != self.currency:
            raise CurrencyMismatch(
                f"{other.currency} cannot be added to {self.currency}",
                advice="Send prices, labour and tax in one currency.",
            )
        return Money(self.amount + other.amount, self.currency)

    def __mul__(self, factor: Decimal | int) -> "Money":
        """Multiply by an exact factor, without rounding."""
        return Money(self.amount * factor, self.currency)

    def rounded(self) -> "Money":
        """Round half up to the currency's minor unit."""
        step = minor_unit(self.currency)
        return Money(self.amount.quantize(step, rounding=ROUND_HALF_UP), self.currency)


def zero(currency: str) -> Money:
    """Give no money of a currency."""
    return Money(Decimal(0), currency)
